"""What was found about a text file, each fact open to be set otherwise."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QFormLayout, QLabel, QWidget

from gaugebench.desk.review.asking import time_unit_title, time_units
from gaugebench.desk.review.reading import Look, Use
from gaugebench.desk.words import tr

_SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tabulator", "|": "upright bar", " ": "blanks"}
_DECIMALS = {".": "point", ",": "comma"}
_THOUSANDS = {"": "none", ".": "point", ",": "comma", " ": "blank", "'": "apostrophe"}
_ENCODINGS = ("utf-8", "utf-8-sig", "cp1252", "utf-16", "utf-16-le", "utf-16-be", "latin-1")
_ORDERS = {"dmy": "day first", "mdy": "month first", "ymd": "year first"}
HEADER_LINES = 30


class Facts(QWidget):
    """One box a fact. What the program found stands first and is marked so."""

    said = Signal(str, object)
    """A field of the recipe, and what it is to be; None: as found."""

    def __init__(self) -> None:
        super().__init__()
        self.boxes: dict[str, QComboBox] = {}
        form = QFormLayout(self)
        form.setContentsMargins(0, 0, 0, 0)
        form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapLongRows)
        for field, title in (
            ("separator", tr("Between columns")),
            ("decimal", tr("Decimal mark")),
            ("thousands", tr("Thousands mark")),
            ("encoding", tr("Encoding")),
            ("header_line", tr("Names stand in line")),
            ("time_column", tr("Time column")),
            ("time_unit", tr("Unit of time")),
            ("date_order", tr("Order of dates")),
        ):
            box = QComboBox()
            box.setAccessibleName(title)
            box.activated.connect(lambda _, f=field, b=box: self.said.emit(f, b.currentData()))
            self.boxes[field] = box
            form.addRow(title, box)
        self.notes = QLabel()
        self.notes.setWordWrap(True)
        self.notes.setProperty("muted", True)  # noqa: FBT003 - Qt takes it so
        form.addRow(self.notes)

    def show_look(self, seen: Look) -> None:
        """Show what was found and what was said."""
        facts, said = seen.facts, seen.said
        named = [c for c in seen.columns if c.name]
        time = next((c.name for c in named if c.use is Use.TIME), None)
        choices: dict[str, dict[Any, str]] = {
            "separator": {k: tr(w) for k, w in _SEPARATORS.items()},
            "decimal": {k: tr(w) for k, w in _DECIMALS.items()},
            "thousands": {k: tr(w) for k, w in _THOUSANDS.items()},
            "encoding": {e: e for e in _ENCODINGS},
            "header_line": {0: tr("none")} | {n: str(n) for n in range(1, HEADER_LINES + 1)},
            "time_column": {c.name: c.text for c in named},
            "time_unit": {u: time_unit_title(u) for u in time_units()},
            "date_order": {k: tr(w) for k, w in _ORDERS.items()},
        }
        unit = next((c.unit for c in named if c.use is Use.TIME), "")
        found = {field: getattr(facts, field) for field in self.boxes}
        found |= {"time_column": facts.time_column or time, "time_unit": facts.time_unit or unit}
        for field, box in self.boxes.items():
            self._fill(box, choices[field], getattr(said, field), found[field])
        notes = [*seen.notes[:6], *seen.remarks]
        self.notes.setText("\n".join(notes))

    def _fill(self, box: QComboBox, choices: dict[Any, str], said: object, found: object) -> None:
        box.clear()
        title = choices.get(found, str(found or "")) if said is None else ""
        box.addItem(tr("{what} (found)", what=title) if title else tr("found by itself"), None)
        for value, words in choices.items():
            box.addItem(words, value)
        at = next((i for i in range(1, box.count()) if box.itemData(i) == said), 0)
        box.setCurrentIndex(at if said is not None else 0)
