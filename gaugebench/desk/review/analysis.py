"""The analysis pane: one loading's figures, each with its ± or the reason for its absence."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFont, QGuiApplication
from PySide6.QtWidgets import (
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from gaugebench.desk.buttons import button
from gaugebench.desk.review.rows import Cell, Row, as_text, loading_rows, loading_title
from gaugebench.desk.scale import touch
from gaugebench.desk.shown import Shown
from gaugebench.desk.words import said, tr
from gaugebench.model.figures import FigureSet, Window

_CELL = Qt.ItemDataRole.UserRole


class AnalysisPane(QWidget):
    """Steps through the loadings of a trace."""

    chosen = Signal(int)
    """Another loading was asked for, from 0."""
    samples = Signal(object)
    """A figure was clicked: its `Window`, or None."""
    take = Signal()
    """Take the figures of a long trace, which takes minutes."""

    def __init__(self) -> None:
        super().__init__()
        self.figures = FigureSet((), {})
        self.current = -1
        self.shown = Shown()
        self._why_none = ""
        self._rows: list[Row] = []
        self._heads: list[str] = []
        self.title = QLabel()
        self.title.setWordWrap(True)
        self.title.setProperty("heading", True)  # noqa: FBT003 - Qt takes it so
        self.back = button("◀", tr("Loading before"))
        self.on = button("▶", tr("Next loading"))
        self.copy = button(tr("Copy table"), tr("Copy this table to the clipboard"))
        self.take_button = button(
            tr("Take figures"), tr("Go through the whole trace and take its figures")
        )
        self.table = QTableWidget(0, 0)
        self.table.setTabKeyNavigation(False)  # Tab leads on; arrows lead within
        self.table.setAccessibleName(tr("Figures of the loading"))
        self.table.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
        self.table.setSelectionMode(QTableWidget.SelectionMode.SingleSelection)
        self.table.setWordWrap(True)
        self.table.verticalHeader().hide()
        self.table.setAlternatingRowColors(True)
        self.cautions = QLabel()
        self.cautions.setWordWrap(True)
        self.cautions.setProperty("muted", True)  # noqa: FBT003 - Qt takes it so
        self._lay_out()
        self.back.clicked.connect(lambda: self.chosen.emit(self.current - 1))
        self.on.clicked.connect(lambda: self.chosen.emit(self.current + 1))
        self.copy.clicked.connect(self.copy_table)
        self.take_button.clicked.connect(self.take)
        self.table.currentItemChanged.connect(lambda item, _: self._picked(item))
        self.table.itemClicked.connect(self._picked)
        self.show_figures(self.figures, "")

    def show_figures(self, figures: FigureSet, why_none: str, *, may_take: bool = False) -> None:
        """Show a trace's figures; why_none: why there are none. may_take: whether the user may ask
        for them."""
        self.take_button.setVisible(may_take and not figures.loadings)
        self.figures, self._why_none = figures, why_none
        self.show_loading(0 if figures.loadings else -1)

    def show_loading(self, index: int) -> None:
        """Show one loading."""
        self.current = index
        self._renew()

    def set_shown(self, shown: Shown) -> None:
        """Show numbers in these units."""
        self.shown = shown
        self._renew()

    def copy_table(self) -> None:
        """Put the table on the clipboard as tab-separated text."""
        QGuiApplication.clipboard().setText(as_text(self._rows, self._heads))

    def _renew(self) -> None:
        count = len(self.figures.loadings)
        self.back.setEnabled(self.current > 0)
        self.on.setEnabled(self.current < count - 1)
        self.copy.setEnabled(count > 0)
        gauge = tr("Gauge pressure; ± is the expanded uncertainty.")
        cautions = [*map(said, self.figures.cautions), gauge]
        self.cautions.setText("\n".join(cautions) if count else "")
        if not count:
            self.title.setText(self._why_none or tr("No loading, so no figures."))
            self._rows, self._heads = [], []
        else:
            loading = self.figures.loadings[self.current]
            place = tr("Loading {number} of {count}", number=self.current + 1, count=count)
            self.title.setText(
                f"{place}\n{loading_title(self.current + 1, loading, self.shown)[3:]}"
            )
            self._rows = loading_rows(loading, self.shown)
            self._heads = [tr("Pump {number}", number=n) for n in sorted(loading.pumps)]
        self._fill()

    def _fill(self) -> None:
        table = self.table
        table.blockSignals(True)  # noqa: FBT003 - Qt takes it so
        table.clear()
        table.setRowCount(len(self._rows))
        table.setColumnCount(1 + len(self._heads))
        table.setHorizontalHeaderLabels([tr("Figure"), *self._heads])
        for row, content in enumerate(self._rows):
            name = QTableWidgetItem(content.name)
            name.setFlags(Qt.ItemFlag.ItemIsEnabled)
            table.setItem(row, 0, name)
            for column, one in enumerate(content.cells, start=1):
                table.setItem(row, column, _item(content.name, one))
            if content.whole and len(self._heads) > 1:
                table.setSpan(row, 1, 1, len(self._heads))
        header = table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        table.verticalHeader().setMinimumSectionSize(touch())
        table.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        table.blockSignals(False)  # noqa: FBT003 - Qt takes it so

    def _picked(self, item: QTableWidgetItem | None) -> None:
        found = item.data(_CELL) if item is not None else None
        window = found.window if isinstance(found, Cell) else None
        self.samples.emit(window if isinstance(window, Window) else None)

    def _lay_out(self) -> None:
        steps = QHBoxLayout()
        steps.addWidget(self.back)
        steps.addWidget(self.on)
        steps.addStretch(1)
        steps.addWidget(self.copy)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.title)
        column.addWidget(self.take_button)
        column.addLayout(steps)
        column.addWidget(self.table, 1)
        column.addWidget(self.cautions)


def _item(name: str, content: Cell) -> QTableWidgetItem:
    text = content.text
    if content.is_absent:
        text = f"{content.text} {content.why}"
    elif content.why:
        text = f"{content.text}\n{content.why}"
    item = QTableWidgetItem(text)
    item.setData(_CELL, content)
    item.setData(Qt.ItemDataRole.AccessibleTextRole, f"{name}: {text}")
    item.setToolTip(content.parts or content.why)
    font = QFont()
    if content.is_absent:
        font.setItalic(True)
    elif not content.why:
        font.setBold(True)
    item.setFont(font)
    return item
