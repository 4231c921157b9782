"""Two cursors over all panes, and what every channel says at them."""

from __future__ import annotations

import pyqtgraph as pg
from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import (
    QHeaderView,
    QLabel,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from gaugebench.desk.names import channel_title
from gaugebench.desk.plot.layer import pen
from gaugebench.desk.plot.pane import Pane
from gaugebench.desk.review.values import Reading
from gaugebench.desk.shown import Shown
from gaugebench.desk.theme import Theme
from gaugebench.desk.words import tr
from gaugebench.quantity import Dimension

NAMES = ("A", "B")


class Cursors(QObject):
    """The lines. A drag moves one; a click moves the nearer one."""

    moved = Signal()

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self.theme = theme
        self.times = [0.0, 0.0]
        self.is_on = False
        self._lines: list[list[pg.InfiniteLine]] = [[], []]
        self._panes: list[Pane] = []

    def lay_over(self, panes: list[Pane]) -> None:
        """Lines for these panes; those of panes that are gone go with them."""
        self._panes = panes
        self._lines = [[], []]
        self.is_on = False

    def switch(self, view: tuple[float, float], *, is_on: bool) -> None:
        """Show both a third into the view from either side, or hide them."""
        self.is_on = is_on
        if is_on and not self._lines[0]:
            self._make()
        if is_on:
            third = (view[1] - view[0]) / 3
            self.put(0, view[0] + third)
            self.put(1, view[1] - third)
        for line in (*self._lines[0], *self._lines[1]):
            line.setVisible(is_on)

    def put(self, which: int, time_s: float) -> None:
        """Move a cursor: 0 is A, 1 is B."""
        self.times[which] = time_s
        for line in self._lines[which]:
            line.setValue(time_s)
        self.moved.emit()

    def put_nearer(self, time_s: float) -> None:
        """Move the cursor that is nearer."""
        nearer = min((0, 1), key=lambda i: abs(self.times[i] - time_s))
        self.put(nearer, time_s)

    def _make(self) -> None:
        for which, name in enumerate(NAMES):
            for pane in self._panes:
                line = pg.InfiniteLine(
                    angle=90,
                    movable=True,
                    pen=pen(self.theme.accent, 2.0, dashed=which == 1),
                    hoverPen=pen(self.theme.text, 3.0),
                    label=name,
                    labelOpts={
                        "position": 0.06,
                        "color": self.theme.on_accent,
                        "fill": self.theme.accent,
                        "movable": False,
                    },
                )
                line.setZValue(50)
                pane.plot.addItem(line, ignoreBounds=True)
                line.sigDragged.connect(lambda moved, w=which: self.put(w, float(moved.value())))
                self._lines[which].append(line)


class CursorPane(QWidget):
    """Time and value at A and B, and what lies between."""

    def __init__(self) -> None:
        super().__init__()
        self.hint = QLabel(
            tr("Switch Cursors on (C), then drag A and B or click beside them in the picture.")
        )
        self.hint.setWordWrap(True)
        self.table = QTableWidget(0, 4)
        self.table.setTabKeyNavigation(False)  # Tab leads on; arrows lead within
        self.table.setAccessibleName(tr("Values at the cursors"))
        self.table.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
        self.table.setHorizontalHeaderLabels([tr("Channel"), *NAMES, "B − A"])
        self.table.verticalHeader().hide()
        self.table.setWordWrap(True)
        self.table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.hint)
        column.addWidget(self.table, 1)

    def show_readings(self, times: list[float], found: list[Reading], shown: Shown) -> None:
        """Show these."""
        between = times[1] - times[0]
        rows = [
            [tr("Time"), *(shown.text(t, Dimension.TIME) for t in (*times, between))],
            *([channel_title(r.channel), *_texts(r, shown)] for r in found),
        ]
        self.table.setRowCount(len(rows))
        for row, texts in enumerate(rows):
            for column, text in enumerate(texts):
                item = self.table.item(row, column)
                if item is None:
                    item = QTableWidgetItem()
                    self.table.setItem(row, column, item)
                item.setText(text)
        self.table.resizeRowsToContents()


def _texts(reading: Reading, shown: Shown) -> list[str]:
    dimension = reading.channel.dimension
    return [shown.text(v, dimension) for v in (reading.first, reading.second, reading.difference)]
