"""Which trace, loading and pump stand on one side."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QWidget

from gaugebench.desk.buttons import button
from gaugebench.desk.compare.model import Side
from gaugebench.desk.elided import Elided
from gaugebench.desk.review.rows import loading_title
from gaugebench.desk.shown import Shown, plain
from gaugebench.desk.words import tr

NUDGE_S = 0.01


class SideChooser(QWidget):
    """One row: trace, loading, pump, and a nudge by hand."""

    changed = Signal()
    open_asked = Signal()

    def __init__(self, name: str) -> None:
        super().__init__()
        self.name = name
        self.side: Side | None = None
        self.trace = Elided()
        self.open_button = button(tr("Open…"), tr("Open a trace for side {side}", side=name))
        self.loading = QComboBox()
        self.loading.setAccessibleName(tr("Loading of side {side}", side=name))
        self.pump = QComboBox()
        self.pump.setAccessibleName(tr("Pump of side {side}", side=name))
        for each in (self.loading, self.pump):
            each.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        self.earlier = button("◀", tr("Side {side} 0.01 s earlier", side=name))
        self.later = button("▶", tr("Side {side} 0.01 s later", side=name))
        self.nudge = QLabel()
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        title = QLabel(name)
        title.setProperty("heading", True)  # noqa: FBT003 - Qt takes it so
        row.addWidget(title)
        row.addWidget(self.open_button)
        row.addWidget(self.trace, 1)
        parts: tuple[QWidget, ...] = (
            self.loading, self.pump, self.earlier, self.nudge, self.later,
        )  # fmt: skip
        for part in parts:
            row.addWidget(part)
        self.open_button.clicked.connect(self.open_asked)
        self.loading.activated.connect(self._loading_chosen)
        self.pump.activated.connect(self._pump_chosen)
        self.earlier.clicked.connect(lambda: self._nudge(-NUDGE_S))
        self.later.clicked.connect(lambda: self._nudge(NUDGE_S))
        self.show_side(None, Shown())

    def show_side(self, side: Side | None, shown: Shown) -> None:
        """Show a side, or that there is none."""
        self.side = side
        for widget in (self.loading, self.pump, self.earlier, self.later):
            widget.setEnabled(side is not None)
        self.loading.clear()
        self.pump.clear()
        if side is None:
            self.trace.setText(tr("no trace with a loading"))
            self.nudge.setText("")
            return
        self.trace.setText(side.opened.title)
        for index, loading in enumerate(side.opened.figures.loadings):
            self.loading.addItem(loading_title(index + 1, loading, shown))
        self.loading.setCurrentIndex(side.loading)
        for pump in sorted(side.where.pumps):
            self.pump.addItem(tr("Pump {number}", number=pump), pump)
        self.pump.setCurrentIndex(self.pump.findData(side.pump))
        sign = "+" if side.nudge_s >= 0 else ""
        self.nudge.setText(f"{sign}{plain(side.nudge_s, 2)} s")

    def _loading_chosen(self, index: int) -> None:
        if self.side is not None:
            pumps = self.side.opened.figures.loadings[index].pumps
            pump = self.side.pump if self.side.pump in pumps else min(pumps)
            self.side = replace(self.side, loading=index, pump=pump, nudge_s=0.0)
            self.changed.emit()

    def _pump_chosen(self, _index: int) -> None:
        if self.side is not None:
            self.side = replace(self.side, pump=int(self.pump.currentData()))
            self.changed.emit()

    def put_at(self, nudge_s: float) -> None:
        """Move the side in time; later is positive."""
        if self.side is not None:
            self.side = replace(self.side, nudge_s=round(nudge_s, 3))
            self.changed.emit()

    def _nudge(self, by_s: float) -> None:
        if self.side is not None:
            self.put_at(self.side.nudge_s + by_s)
