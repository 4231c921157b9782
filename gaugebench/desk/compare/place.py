"""The Side by side place."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
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
from gaugebench.desk.compare.model import Anchor, Drawn, Side, figure_rows, first_side, other_pump
from gaugebench.desk.compare.picture import ComparePicture
from gaugebench.desk.compare.stretch import Pair, Stretch, sides_of, stretch_rows
from gaugebench.desk.notice import Notice
from gaugebench.desk.picture import save, take
from gaugebench.desk.review.opened import Opened, load
from gaugebench.desk.theme import Theme
from gaugebench.desk.units import Units
from gaugebench.desk.words import told, tr
from gaugebench.desk.work import Workers
from gaugebench.errors import GaugebenchError

if TYPE_CHECKING:
    from gaugebench.desk.worksheet.beside import BothWays

TRACES = "*.h5 *.csv *.gz *.txt"


class ComparePlace(QWidget):
    """A on the left, B on the right, lined up on an instant."""

    changed = Signal()
    """Other traces stand here."""

    def __init__(self, units: Units, theme: Theme, workers: Workers) -> None:
        super().__init__()
        self.units, self.workers = units, workers
        self._rows: list[list[str]] = []
        self._stretches: tuple[Stretch, Stretch] | None = None
        self._readings: tuple[str, ...] = ()
        self._shown: list[tuple[int, int] | None] = []
        self.notice = Notice()
        self.empty = QLabel(
            tr("Open a trace in Review first: its two pumps stand here side by side.")
        )
        self.empty.setProperty("heading", True)  # noqa: FBT003 - Qt takes it so
        self.empty.setWordWrap(True)
        self.check = QLabel()
        self.check.setProperty("heading", True)  # noqa: FBT003 - Qt takes it so
        self.sides = (SideChooser("A"), SideChooser("B"))
        self.anchor = QComboBox()
        self.anchor.setAccessibleName(tr("Line up on"))
        for anchor in Anchor:
            self.anchor.addItem(tr(anchor.value), anchor)
        self.stacked = button(
            tr("Stacked"), tr("One below the other, not overlaid"), is_switch=True
        )
        self.drag_button = button(
            tr("Drag B"), tr("Drag side B in the picture, earlier or later"), is_switch=True
        )
        self._held_s = 0.0
        self.copy_table = button(tr("Copy table"), tr("Copy the table to the clipboard"))
        self.copy_picture = button(tr("Copy picture"), tr("Copy the picture to the clipboard"))
        self.save_picture = button(tr("Save picture…"), tr("Save the picture to a file"))
        self.picture = ComparePicture(units, theme)
        self.picture.setAccessibleName(tr("Picture of both sides"))
        self.table = QTableWidget(0, 5)
        self.table.setTabKeyNavigation(False)  # Tab leads on; arrows lead within
        self.table.setAccessibleName(tr("Figures of both sides"))
        self.table.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
        self.table.setHorizontalHeaderLabels([tr("Figure"), "A", "B", "B − A", tr("Share")])
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
        return any(s is not None and s.opened.trace.simulated for s in self._drawn())

    def take(self, opened: Opened) -> None:
        """A trace was opened in Review: its pumps come here unless both sides were chosen."""
        self._part()
        one = first_side(opened)
        two = other_pump(one) if one is not None else None
        for chooser, side in zip(self.sides, (one, two), strict=True):
            chooser.show_side(side, self.units.shown)
        self.renew()

    def take_over(self, old: ComparePlace) -> None:
        """Show what another place showed."""
        for mine, before in zip(self.sides, old.sides, strict=True):
            mine.show_side(before.side, self.units.shown)
        self._stretches, self._readings, self._shown = old._stretches, old._readings, old._shown
        self.check.setText(old.check.text())
        self.anchor.setCurrentIndex(old.anchor.currentIndex())
        self.stacked.setChecked(old.stacked.isChecked())
        self.renew()

    def lay_beside(self, both: BothWays) -> None:
        """Open a check's traces as found and as left, off this thread, and show them."""
        self.notice.say(tr("{check}: its traces are being opened …", check=both.title))

        def work() -> Pair:
            sides = sides_of(both.role, both.found, both.left, both.folder)
            return Pair(both.title, sides, both.readings)

        self.workers.run(work, self.show_pair, self.notice.say)

    def show_pair(self, pair: Pair) -> None:
        """A check of a job: as found is A, as left is B."""
        self._part()
        one, two = pair.sides
        for chooser, side in ((self.sides[0], one), (self.sides[1], two)):
            chooser.show_side(side if isinstance(side, Side) else None, self.units.shown)
            chooser.trace.setText(side.opened.title)
        if isinstance(one, Stretch) and isinstance(two, Stretch):
            self._stretches = (one, two)
        self._shown = _places(self.sides)
        self._readings = (tr("As it was read"), *pair.readings, "")
        self.check.setText(tr("{check}: A as found, B as left", check=pair.title))
        self.renew()

    def open(self, which: int, path: Path) -> None:
        """Open a trace for one side, off this thread."""
        chooser = self.sides[which]

        def done(opened: Opened) -> None:
            self._part()
            side = first_side(opened)
            if side is None:
                self.notice.say(tr("{name} has no loading to compare.", name=opened.title))
            chooser.show_side(side, self.units.shown)
            self.renew()

        self.notice.clear()
        self.workers.run(lambda: load(path), done, self.notice.say)

    def renew(self) -> None:
        """Picture and table for the sides as they stand."""
        one, two = self._drawn()
        if self._stretches is None:
            for chooser in self.sides:
                chooser.show_side(chooser.side, self.units.shown)
        self.check.setVisible(bool(self.check.text()))
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
        self._rows = [list(self._readings)] if self._readings else []
        if isinstance(one, Side) and isinstance(two, Side):
            self._rows += figure_rows(one, two, self.units.shown)
        elif isinstance(one, Stretch) and isinstance(two, Stretch):
            self._rows += stretch_rows(one, two, self.units.shown)
        self._fill()
        self.changed.emit()

    def _drawn(self) -> tuple[Drawn | None, Drawn | None]:
        """What stands on each side."""
        return self._stretches or (self.sides[0].side, self.sides[1].side)

    def _part(self) -> None:
        """What stands here is no check's as found and as left any more."""
        self._stretches, self._readings = None, ()
        self.check.setText("")

    def _fill(self) -> None:
        self.table.setRowCount(len(self._rows))
        for row, texts in enumerate(self._rows):
            for column, text in enumerate(texts):
                self.table.setItem(row, column, QTableWidgetItem(text))
        self.table.resizeRowsToContents()

    def _switch_dragging(self, is_on: bool) -> None:
        self.picture.is_dragging = is_on

    def _take_hold(self) -> None:
        side = self.sides[1].side
        self._held_s = side.nudge_s if side is not None else 0.0

    def _copy_table(self) -> None:
        heads = [tr("Figure"), *(s.title if s else "" for s in self._drawn()), "B − A", "%"]
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

    def _choose(self) -> None:
        """Another loading or pump was chosen, or a side was moved in time."""
        if _places(self.sides) != self._shown:
            self._part()
        self.renew()

    def _ask(self, which: int) -> None:
        chosen, _ = QFileDialog.getOpenFileName(
            self, tr("Open a trace"), str(Path.home()), f"{tr('Traces')} ({TRACES})"
        )
        if chosen:
            self.open(which, Path(chosen))

    def _connect(self) -> None:
        for which, chooser in enumerate(self.sides):
            chooser.changed.connect(self._choose)
            chooser.open_asked.connect(lambda w=which: self._ask(w))
        self.anchor.activated.connect(self.renew)
        self.stacked.toggled.connect(self.renew)
        self.drag_button.toggled.connect(self._switch_dragging)
        self.picture.taken.connect(self._take_hold)
        self.picture.dragged.connect(lambda by_s: self.sides[1].put_at(self._held_s + by_s))
        self.copy_table.clicked.connect(self._copy_table)
        self.copy_picture.clicked.connect(self._copy_picture)
        self.save_picture.clicked.connect(self._save_picture)
        self.units.changed.connect(self.renew)

    def _lay_out(self) -> None:
        tools = QHBoxLayout()
        tools.addWidget(QLabel(tr("Line up on")))
        tools.addWidget(self.anchor)
        tools.addWidget(self.stacked)
        tools.addWidget(self.drag_button)
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
        column.addWidget(self.check)
        for chooser in self.sides:
            column.addWidget(chooser)
        column.addLayout(tools)
        column.addWidget(self.empty, 1)
        column.addWidget(self._split, 1)
        column.addWidget(self.caution)


def _places(choosers: tuple[SideChooser, ...]) -> list[tuple[int, int] | None]:
    """Which loading and pump stand on each side."""
    return [(c.side.loading, c.side.pump) if c.side is not None else None for c in choosers]
