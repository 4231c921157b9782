"""What the forms of the worksheet share: choices that give way, and a form beside its entries."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QComboBox,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QVBoxLayout,
    QWidget,
)

from gaugebench.desk.scale import touch
from gaugebench.desk.words import said, tr
from gaugebench.desk.worksheet.parts import Scrolled, heading
from gaugebench.desk.worksheet.struck import Entries
from gaugebench.model.job import Heading, Side

SPEEDS = ("low", "high")
"""The two travel speeds, as a job keeps them."""


def choice(says: str, entries: tuple[tuple[str, object], ...] = ()) -> QComboBox:
    """A choice that gives way where there is little room. says: its accessible name."""
    made = QComboBox()
    made.setAccessibleName(says)
    made.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
    made.setMinimumContentsLength(8)
    for title, value in entries:
        made.addItem(title, value)
    return made


def rows(*pairs: tuple[str, QWidget | QHBoxLayout]) -> QFormLayout:
    """Titles beside what is filled in, each title at the height of its line."""
    made = QFormLayout()
    made.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
    for title, part in pairs:
        made.addRow(title_of(title), part)
    return made


def title_of(title: str) -> QLabel:
    """A title as high as the line that it stands beside."""
    label = QLabel(title)
    label.setMinimumHeight(touch())
    label.setAlignment(Qt.AlignmentFlag.AlignVCenter)
    return label


def beside(*parts: QWidget) -> QHBoxLayout:
    """Widgets in a row; the first takes the most room."""
    row = QHBoxLayout()
    for n, part in enumerate(parts):
        row.addWidget(part, (2, 1, 0)[min(n, 2)])
    return row


def halves(pane: QWidget, form: QWidget, entries: Entries, result: QLabel, *below: QWidget) -> None:
    """A form beside its entries, with what they tell below them."""
    right = QVBoxLayout()
    right.addWidget(heading(entries.table.accessibleName()))
    right.addWidget(entries, 3)
    right.addWidget(Scrolled(result, tr("What the entries tell")), 2)
    for each in below:
        right.addWidget(each)
    row = QHBoxLayout(pane)
    row.setContentsMargins(0, 0, 0, 0)
    row.addWidget(form, 2)
    row.addLayout(right, 3)


def headings() -> tuple[tuple[str, object], ...]:
    """Which way, in the language spoken."""
    return tuple((said(h.value), h) for h in Heading)


def sides() -> tuple[tuple[str, object], ...]:
    """The two sides, in the language spoken."""
    return tuple((said(s.value), s) for s in Side)


def speeds() -> tuple[tuple[str, object], ...]:
    """The two travel speeds, in the language spoken."""
    return tuple((said(s), s) for s in SPEEDS)
