"""The first rows of a text file, with the unit and role of each column to be set above them."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QComboBox, QTableWidget, QTableWidgetItem

from gaugebench.desk.names import role_title
from gaugebench.desk.review.asking import PRESSURE_UNITS, TEMPERATURE_UNITS
from gaugebench.desk.review.reading import Column, Look, Use
from gaugebench.desk.review.rolesform import OFFERED, offered
from gaugebench.desk.words import tr
from gaugebench.model.role import Role

OTHER_UNITS = ("rpm", "L/min", "mA", "V")
WIDE_PX = 190


class ColumnsTable(QTableWidget):
    """Row 0 the units, row 1 the roles, then the cells as written."""

    set_column = Signal(str, str, str)
    """`units` or `roles`, what was chosen (empty for none), and the column."""

    def __init__(self) -> None:
        super().__init__()
        self.setTabKeyNavigation(False)  # Tab leads on; arrows lead within
        self.setAccessibleName(tr("First rows of the file"))
        self.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
        self.setSelectionMode(QTableWidget.SelectionMode.NoSelection)
        self.units: dict[str, QComboBox] = {}
        self.roles: dict[str, QComboBox] = {}

    def show_look(self, seen: Look) -> None:
        """Show what was seen of a file."""
        self.clear()
        self.units, self.roles = {}, {}
        self.setColumnCount(len(seen.columns))
        self.setRowCount(2 + len(seen.rows))
        self.setHorizontalHeaderLabels([c.text or "—" for c in seen.columns])
        rows = [str(n) for n in range(1, len(seen.rows) + 1)]
        self.setVerticalHeaderLabels([tr("Unit"), tr("Role"), *rows])
        for index, column in enumerate(seen.columns):
            self.setColumnWidth(index, WIDE_PX)
            if column.use is Use.VALUE and column.name:
                self._boxes(index, column)
            else:
                self.setItem(0, index, _cell(column.unit))
                self.setItem(1, index, _cell(tr(column.use.value) if column.text else ""))
        for row, cells in enumerate(seen.rows):
            for index, cell in enumerate(cells[: len(seen.columns)]):
                self.setItem(2 + row, index, _cell(cell))
        self.resizeRowToContents(0)
        self.resizeRowToContents(1)

    def _boxes(self, index: int, column: Column) -> None:
        units = QComboBox()
        units.setAccessibleName(tr("Unit of {column}", column=column.name))
        known = (*PRESSURE_UNITS, *TEMPERATURE_UNITS, *OTHER_UNITS)
        for unit in dict.fromkeys((column.unit, "", *known)):
            units.addItem(unit or tr("no unit"), unit)
        units.activated.connect(lambda _: self._say("units", units, column))
        roles = QComboBox()
        roles.setAccessibleName(tr("Role of {channel}", channel=column.name))
        roles.addItem(tr("no role"), "")
        dimension = column.dimension
        fitting = offered(dimension) if dimension else [Role(name) for name in OFFERED]
        for role in fitting:
            roles.addItem(role_title(role), role.name)
        if column.role and roles.findData(column.role) < 0:
            roles.addItem(role_title(Role(column.role)), column.role)
        roles.setCurrentIndex(max(roles.findData(column.role), 0))
        roles.activated.connect(lambda _: self._say("roles", roles, column))
        self.units[column.name], self.roles[column.name] = units, roles
        self.setCellWidget(0, index, units)
        self.setCellWidget(1, index, roles)

    def _say(self, field: str, box: QComboBox, column: Column) -> None:
        self.set_column.emit(field, str(box.currentData()), column.name)


def _cell(text: str) -> QTableWidgetItem:
    made = QTableWidgetItem(text)
    made.setTextAlignment(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignRight)
    return made
