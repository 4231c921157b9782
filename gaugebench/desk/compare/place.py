"""The Side by side place."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import (
    QComboBox,
    QFileDialog,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QSplitter,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from gaugebench.desk.buttons import button
from gaugebench.desk.compare.chooser import SideChooser
from gaugebench.desk.compare.model import Anchor, figure_rows, first_side, other_pump
from gaugebench.desk.compare.picture import ComparePicture
from gaugebench.desk.notice import Notice
from gaugebench.desk.picture import save, take
from gaugebench.desk.review.opened import Opened, load
from gaugebench.desk.theme import Theme
from gaugebench.desk.units import Units
from gaugebench.desk.words import told, tr
from gaugebench.desk.work import Workers
from gaugebench.errors import GaugebenchError

TRACES = "*.h5 *.csv *.gz *.txt"


class ComparePlace(QWidget):
    """A on the left, B on the right, lined up on an instant."""

    def __init__(self, units: Units, theme: Theme, workers: Workers) -> None:
        super().__init__()
        self.units, self.workers = units, workers
        self._rows: list[list[str]] = []
        self.notice = Notice()
        self.empty = QLabel(
            tr("Open a trace in Review first: its two pumps stand here side by side.")
        )
        self.empty.setProperty("heading", True)  # noqa: FBT003 - Qt takes it so
        self.empty.setWordWrap(True)
        self.sides = (SideChooser("A"), SideChooser("B"))
        self.anchor = QComboBox()
        self.anchor.setAccessibleName(tr("Line up on"))
        for anchor in Anchor:
            self.anchor.addItem(tr(anchor.value), anchor)
        self.stacked = button(
            tr("Stacked"), tr("One below the other, not overlaid"), is_switch=True
        )
        self.copy_table = button(tr("Copy table"), tr("Copy the table to the clipboard"))
        self.copy_picture = button(tr("Copy picture"), tr("Copy the picture to the clipboard"))
        self.save_picture = button(tr("Save picture…"), tr("Save the picture to a file"))
        self.picture = ComparePicture(units, theme)
        self.picture.setAccessibleName(tr("Picture of both sides"))
        self.table = QTableWidget(0, 5)
        self.table.setAccessibleName(tr("Figures of both sides"))
        self.table.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
        self.table.setHorizontalHeaderLabels([tr("Figure"), "A", "B", "B − A", tr("share")])
        self.table.verticalHeader().hide()
        self.table.setWordWrap(True)
        self.table.setAlternatingRowColors(True)
        self.table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        self.caution = QLabel(
            tr("Behind one shared relief or a merged function two pressures agree whatever the"
               " pumps' wear: that compares transducers and check valves, not pumps.")
        )  # fmt: skip
        self.caution.setWordWrap(True)
        self._lay_out()
        self._connect()
        self.renew()

    @property
    def is_simulated(self) -> bool:
        """Whether either side is simulated."""
        return any(c.side is not None and c.side.opened.trace.simulated for c in self.sides)

    def take(self, opened: Opened) -> None:
        """A trace was opened in Review: its pumps come here unless both sides were chosen."""
        one = first_side(opened)
        two = other_pump(one) if one is not None else None
        for chooser, side in zip(self.sides, (one, two), strict=True):
            chooser.show_side(side, self.units.shown)
        self.renew()

    def open(self, which: int, path: Path) -> None:
        """Open a trace for one side, off this thread."""
        chooser = self.sides[which]

        def done(opened: Opened) -> None:
            side = first_side(opened)
            if side is None:
                self.notice.say(tr("{name} has no loading to compare.", name=opened.title))
            chooser.show_side(side, self.units.shown)
            self.renew()

        self.notice.clear()
        self.workers.run(lambda: load(path), done, self.notice.say)

    def renew(self) -> None:
        """Picture and table for the sides as they stand."""
        one, two = (chooser.side for chooser in self.sides)
        for chooser in self.sides:
            chooser.show_side(chooser.side, self.units.shown)
        has_any = one is not None or two is not None
        self.empty.setVisible(not has_any)
        self._split.setVisible(has_any)
        self.caution.setVisible(has_any)
        for each in (self.copy_table, self.copy_picture, self.save_picture):
            each.setEnabled(has_any)
        anchor = Anchor(self.anchor.currentData())
        trouble = self.picture.show_sides(one, two, anchor, is_stacked=self.stacked.isChecked())
        if trouble:
            self.notice.say(trouble)
        else:
            self.notice.clear()
        self._rows = figure_rows(one, two, self.units.shown) if one and two else []
        self._fill()

    def _fill(self) -> None:
        self.table.setRowCount(len(self._rows))
        for row, texts in enumerate(self._rows):
            for column, text in enumerate(texts):
                self.table.setItem(row, column, QTableWidgetItem(text))
        self.table.resizeRowsToContents()

    def _copy_table(self) -> None:
        heads = [tr("Figure"), *(c.side.title if c.side else "" for c in self.sides), "B − A", "%"]
        lines = ["\t".join(row) for row in (heads, *self._rows)]
        QGuiApplication.clipboard().setText("\n".join(lines))

    def _copy_picture(self) -> None:
        QGuiApplication.clipboard().setImage(take(self._split, 2.0))

    def _save_picture(self) -> None:
        chosen, _ = QFileDialog.getSaveFileName(
            self, tr("Save the picture"), str(Path.home() / "side by side.png"), "PNG (*.png)"
        )
        if not chosen:
            return
        try:
            save(self._split, Path(chosen), 2.0)
        except GaugebenchError as fault:
            self.notice.say(told(fault))

    def _ask(self, which: int) -> None:
        chosen, _ = QFileDialog.getOpenFileName(
            self, tr("Open a trace"), str(Path.home()), f"{tr('Traces')} ({TRACES})"
        )
        if chosen:
            self.open(which, Path(chosen))

    def _connect(self) -> None:
        for which, chooser in enumerate(self.sides):
            chooser.changed.connect(self.renew)
            chooser.open_asked.connect(lambda w=which: self._ask(w))
        self.anchor.activated.connect(self.renew)
        self.stacked.toggled.connect(self.renew)
        self.copy_table.clicked.connect(self._copy_table)
        self.copy_picture.clicked.connect(self._copy_picture)
        self.save_picture.clicked.connect(self._save_picture)
        self.units.changed.connect(self.renew)

    def _lay_out(self) -> None:
        tools = QHBoxLayout()
        tools.addWidget(QLabel(tr("Line up on")))
        tools.addWidget(self.anchor)
        tools.addWidget(self.stacked)
        tools.addStretch(1)
        for each in (self.copy_table, self.copy_picture, self.save_picture):
            tools.addWidget(each)
        self._split = QSplitter()
        self._split.addWidget(self.picture)
        self._split.addWidget(self.table)
        self._split.setStretchFactor(0, 1)
        self._split.setSizes([860, 720])
        column = QVBoxLayout(self)
        column.addWidget(self.notice)
        for chooser in self.sides:
            column.addWidget(chooser)
        column.addLayout(tools)
        column.addWidget(self.empty, 1)
        column.addWidget(self._split, 1)
        column.addWidget(self.caution)
