"""A chart on a PDF page, drawn as lines, not as a picture."""

from __future__ import annotations

from reportlab.lib import colors
from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from gaugebench.report.blocks import Chart
from gaugebench.report.frame import Frame
from gaugebench.report.looks import GRID, INK, MARK, line_look
from gaugebench.report.speech import Speech

_HEIGHT = 64 * mm
_LEFT, _RIGHT, _BOTTOM, _TOP = 13 * mm, 3 * mm, 10 * mm, 15 * mm
_SAMPLE = 13 * mm
"""Room of a line's sample in the legend."""


class ChartFlowable(Flowable):
    """A chart as wide as it is given."""

    def __init__(self, chart: Chart, speech: Speech, width: float, font: str) -> None:
        super().__init__()
        self.chart = chart
        self.font = font
        self.width, self.height = width, _HEIGHT
        self.frame = Frame(chart, speech, _LEFT, width - _RIGHT, _BOTTOM, _HEIGHT - _TOP)

    def draw(self) -> None:
        """Draw frame, grid, lines, marks and legend."""
        self._draw_grid()
        self._draw_lines()
        self._draw_limits()
        self._draw_flags()
        self._draw_spans()
        self._draw_legend()

    def _draw_grid(self) -> None:
        c, chart = self.canv, self.chart
        c.setFont(self.font, 6.5)
        c.setLineWidth(0.25)
        c.setStrokeColor(colors.HexColor(GRID))
        c.setFillColor(colors.HexColor(INK))
        for y, words in self.frame.up():
            c.line(_LEFT, y, self.width - _RIGHT, y)
            c.drawRightString(_LEFT - 1.5 * mm, y - 2, words)
        for x, words in self.frame.across():
            c.line(x, _BOTTOM, x, _HEIGHT - _TOP)
            c.drawCentredString(x, _BOTTOM - 3 * mm, words)
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
            colour, dashes = line_look(line.style)
            c.setStrokeColor(colors.HexColor(colour))
            c.setDash(list(dashes))
            for xs, ys in line.pieces:
                path = c.beginPath()
                path.moveTo(self.frame.x(float(xs[0])), self.frame.y(float(ys[0])))
                for x, y in zip(xs[1:], ys[1:], strict=True):
                    path.lineTo(self.frame.x(float(x)), self.frame.y(float(y)))
                c.drawPath(path)
        c.restoreState()

    def _draw_limits(self) -> None:
        c = self.canv
        c.setLineWidth(0.6)
        c.setStrokeColor(colors.HexColor(INK))
        c.setDash([1, 2])
        for limit in self.chart.limits:
            y = self.frame.y(limit)
            c.line(_LEFT, y, self.width - _RIGHT, y)
        c.setDash([])

    def _draw_flags(self) -> None:
        c = self.canv
        c.setLineWidth(0.25)
        c.setFont(self.font, 6)
        c.setStrokeColor(colors.HexColor(MARK))
        for flag in self.chart.flags:
            x = self.frame.x(flag.x)
            c.line(x, _BOTTOM, x, _HEIGHT - _TOP)
        for x, words in self.frame.flags(7 * mm):
            c.drawCentredString(x, _HEIGHT - _TOP + 2, words)

    def _draw_spans(self) -> None:
        c = self.canv
        c.setLineWidth(0.8)
        c.setFont(self.font, 6.5)
        c.setStrokeColor(colors.HexColor(INK))
        above = _HEIGHT - _TOP + 3.2 * mm
        for start, end, letter in self.frame.spans():
            c.line(start, above, end, above)
            c.drawCentredString((start + end) / 2, above + 2, letter)

    def _draw_legend(self) -> None:
        c = self.canv
        x = self.width - _RIGHT
        c.setFont(self.font, 7)
        words = sum(c.stringWidth(line.label, self.font, 7) for line in self.chart.lines)
        title = c.stringWidth(self.chart.title, self.font, 8)
        # Beside the title where there is room, else in a row below it.
        is_beside = _LEFT + title + words + _SAMPLE * len(self.chart.lines) < x
        base = _HEIGHT - (4 * mm if is_beside else 7.8 * mm)
        for line in reversed(self.chart.lines):
            colour, dashes = line_look(line.style)
            x -= c.stringWidth(line.label, self.font, 7)
            c.drawString(x, base, line.label)
            c.setStrokeColor(colors.HexColor(colour))
            c.setDash(list(dashes))
            c.setLineWidth(1.2)
            c.line(x - 9 * mm, base + 0.8 * mm, x - 1.5 * mm, base + 0.8 * mm)
            c.setDash([])
            x -= _SAMPLE
