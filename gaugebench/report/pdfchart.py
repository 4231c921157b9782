"""A chart on a PDF page, drawn as lines, not as a picture."""

from __future__ import annotations

from reportlab.lib import colors
from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from gaugebench.report.blocks import Chart, clusters
from gaugebench.report.scale import label, ticks

STYLES: tuple[tuple[str, tuple[float, ...]], ...] = (
    ("#0072b2", ()),
    ("#d55e00", (4, 2)),
    ("#333333", (1, 2)),
    ("#009e73", (6, 2, 1, 2)),
    ("#cc79a7", (2, 2)),
)
"""Colour and dashes of each line: told apart in grey as well (colours after Okabe and Ito)."""
_HEIGHT = 62 * mm
_LEFT, _RIGHT, _BOTTOM, _TOP = 13 * mm, 3 * mm, 10 * mm, 13 * mm


class ChartFlowable(Flowable):
    """A chart as wide as it is given."""

    def __init__(self, chart: Chart, width: float, font: str) -> None:
        super().__init__()
        self.chart = chart
        self.font = font
        self.width, self.height = width, _HEIGHT

    def draw(self) -> None:
        """Draw frame, grid, lines, marks and legend."""
        self._draw_grid()
        self._draw_lines()
        self._draw_flags()
        self._draw_legend()

    def _x(self, value: float) -> float:
        low, high = self.chart.x
        inner = self.width - _LEFT - _RIGHT
        return _LEFT + inner * (value - low) / ((high - low) or 1.0)

    def _y(self, value: float) -> float:
        low, high = self.chart.y
        return _BOTTOM + (_HEIGHT - _BOTTOM - _TOP) * (value - low) / ((high - low) or 1.0)

    def _draw_grid(self) -> None:
        c, chart = self.canv, self.chart
        c.setFont(self.font, 6.5)
        c.setLineWidth(0.25)
        c.setStrokeColor(colors.HexColor("#c4cbd1"))
        c.setFillColor(colors.HexColor("#1a1a1a"))
        for value in ticks(*chart.y, 5):
            y = self._y(value)
            c.line(_LEFT, y, self.width - _RIGHT, y)
            c.drawRightString(_LEFT - 1.5 * mm, y - 2, label(value))
        for value in ticks(*chart.x, 10):
            x = self._x(value)
            c.line(x, _BOTTOM, x, _HEIGHT - _TOP)
            c.drawCentredString(x, _BOTTOM - 3 * mm, label(value))
        c.drawCentredString((_LEFT + self.width) / 2, 1 * mm, chart.x_label)
        c.saveState()
        c.translate(2.5 * mm, (_BOTTOM + _HEIGHT - _TOP) / 2)
        c.rotate(90)
        c.drawCentredString(0, 0, chart.y_label)
        c.restoreState()
        c.setFont(self.font, 8)
        c.drawString(_LEFT, _HEIGHT - 4 * mm, chart.title)

    def _draw_lines(self) -> None:
        c = self.canv
        c.saveState()
        box = c.beginPath()
        box.rect(_LEFT, _BOTTOM, self.width - _LEFT - _RIGHT, _HEIGHT - _BOTTOM - _TOP)
        c.clipPath(box, stroke=0, fill=0)
        c.setLineWidth(0.7)
        c.setLineJoin(1)
        for line in self.chart.lines:
            colour, dashes = STYLES[line.style % len(STYLES)]
            c.setStrokeColor(colors.HexColor(colour))
            c.setDash(list(dashes))
            for xs, ys in line.pieces:
                path = c.beginPath()
                path.moveTo(self._x(float(xs[0])), self._y(float(ys[0])))
                for x, y in zip(xs[1:], ys[1:], strict=True):
                    path.lineTo(self._x(float(x)), self._y(float(y)))
                c.drawPath(path)
        c.restoreState()

    def _draw_flags(self) -> None:
        c = self.canv
        c.setLineWidth(0.25)
        c.setFont(self.font, 6)
        c.setStrokeColor(colors.HexColor("#888888"))
        for flag in self.chart.flags:
            x = self._x(flag.x)
            c.line(x, _BOTTOM, x, _HEIGHT - _TOP)
        low, high = self.chart.x
        apart = 7 * mm * (high - low) / (self.width - _LEFT - _RIGHT)
        for at, words in clusters(self.chart.flags, apart):
            c.drawCentredString(self._x(at), _HEIGHT - _TOP + 2, words)

    def _draw_legend(self) -> None:
        c = self.canv
        x = self.width - _RIGHT
        c.setFont(self.font, 7)
        for line in reversed(self.chart.lines):
            colour, dashes = STYLES[line.style % len(STYLES)]
            x -= c.stringWidth(line.label, self.font, 7)
            c.drawString(x, _HEIGHT - 4 * mm, line.label)
            c.setStrokeColor(colors.HexColor(colour))
            c.setDash(list(dashes))
            c.setLineWidth(1.2)
            c.line(x - 9 * mm, _HEIGHT - 3.2 * mm, x - 1.5 * mm, _HEIGHT - 3.2 * mm)
            c.setDash([])
            x -= 13 * mm
