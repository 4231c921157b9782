"""The picture of two sides: overlaid or stacked, with their difference."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QWidget

from gaugebench.desk.compare.model import Anchor, Drawn, cut, difference
from gaugebench.desk.plot.drawn import DrawnPanes
from gaugebench.desk.plot.plan import LineSpec, PaneSpec
from gaugebench.desk.plot.pyramid import Lines, Pyramid
from gaugebench.desk.theme import Theme
from gaugebench.desk.units import Units
from gaugebench.desk.words import tr
from gaugebench.model.role import Port, Role
from gaugebench.model.trace import Series
from gaugebench.quantity import Dimension

BEFORE_S = 1.0
_LOOKS = (Role.main(1), Role.main(2))  # one colour and shape for each side, whatever its pump


class ComparePicture(DrawnPanes):
    """Lines of A and B on one clock that is zero at the instant chosen."""

    dragged = Signal(float)
    """While side B is dragged: by how much since it was taken hold of, s, later is positive."""
    taken = Signal()
    """Side B was taken hold of."""

    def __init__(self, units: Units, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(units, theme, parent)
        self.is_dragging = False
        """Whether dragging moves side B in time, and not the view."""
        self._from_s: float | None = None

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        """Take hold of side B."""
        if not self.is_dragging or event.button() is not Qt.MouseButton.LeftButton:
            super().mousePressEvent(event)
            return
        self._from_s = self._instant(event)
        self.taken.emit()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        """Side B follows."""
        if self._from_s is None:
            super().mouseMoveEvent(event)
        elif self.panes:
            self.dragged.emit(self._instant(event) - self._from_s)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        """Let go of it."""
        if self._from_s is None:
            super().mouseReleaseEvent(event)
        self._from_s = None

    def _instant(self, event: QMouseEvent) -> float:
        if not self.panes:
            return 0.0
        where = self.mapToScene(event.position().toPoint())
        return float(self.panes[0].box.mapSceneToView(where).x())

    def show_sides(
        self, one: Drawn | None, two: Drawn | None, anchor: Anchor, *, is_stacked: bool
    ) -> str:
        """Show them; a sentence where they cannot be lined up so."""
        sides = [s for s in (one, two) if s is not None]
        zeros = [s.anchor_s(anchor) for s in sides]
        names = [n for n, s in (("A", one), ("B", two)) if s is not None]
        missing = [n for n, z in zip(names, zeros, strict=True) if z is None]
        if missing:
            self.build(())
            return tr("{side} has no such instant; line up on another.", side=" + ".join(missing))
        after = max((s.span_s[1] - s.span_s[0] for s in sides), default=1.0) + BEFORE_S
        parts: dict[Port, list[Series | None]] = {
            port: [
                cut(side, port, (zero or 0.0) - side.nudge_s, BEFORE_S + 0.3, after)
                for side, zero in zip(sides, zeros, strict=True)
            ]
            for port in (Port.MAIN, Port.CONTROL)
        }
        if not sides:
            self.build(())
            return ""
        self._fill(sides[0], parts, names, is_stacked=is_stacked)
        self.set_view(-BEFORE_S - 0.3, after)
        self.renew()
        return ""

    def _fill(
        self,
        first: Drawn,
        parts: dict[Port, list[Series | None]],
        names: list[str],
        *,
        is_stacked: bool,
    ) -> None:
        above = first.dimension
        is_pressure = above is Dimension.PRESSURE
        specs: list[PaneSpec] = []
        drawn: list[Series] = []
        for port, title, dimension, weight, least in (
            (Port.MAIN, first.main_title, above, 5, 5e6 if is_pressure else 1.0),
            (Port.CONTROL, tr("Control"), Dimension.PRESSURE, 3, 1e6),
        ):
            lines = []
            for which, part in enumerate(parts[port]):
                if part is not None:
                    lines.append(LineSpec(len(drawn), names[which], _LOOKS[which], 0))
                    drawn.append(part)
            groups = [[line] for line in lines] if is_stacked else [lines]
            is_from_zero = dimension is Dimension.PRESSURE
            specs += [
                PaneSpec(title, dimension, tuple(g), weight, least, from_zero=is_from_zero)
                for g in groups
                if g
            ]
        main_pair = _pair(parts[Port.MAIN])
        if main_pair is not None:
            line = LineSpec(len(drawn), tr("B less A"), None, 0)
            least = 1e6 if is_pressure else 1.0
            specs.append(PaneSpec(tr("B − A"), above, (line,), 3, least, from_zero=False))
        self.build(tuple(specs))
        sources: list[Lines] = [Pyramid(p.times, p.values, p.quality) for p in drawn]
        if main_pair is not None:
            apart = difference(*main_pair)
            sources.append(Pyramid(apart.x, apart.y))
        self.sources = sources


def _pair(parts: list[Series | None]) -> tuple[Series, Series] | None:
    if len(parts) == 2 and parts[0] is not None and parts[1] is not None:
        return parts[0], parts[1]
    return None
