"""What a file does not say, asked once, each with its readings to choose from."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QComboBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from gaugebench.desk.buttons import button
from gaugebench.desk.review.reading import Look
from gaugebench.desk.words import tr
from gaugebench.store.importing.questions import Question

LABEL_PX = 400
PRESSURE_UNITS = ("bar", "MPa", "psi", "kgf/cm²", "kPa", "bar(a)", "psia")
TEMPERATURE_UNITS = ("°C", "°F")
_TIME_UNITS = {
    "s": "seconds",
    "ms": "milliseconds",
    "us": "microseconds",
    "ns": "nanoseconds",
    "min": "minutes",
    "h": "hours",
    "days": "days of a spreadsheet",
    "epoch-s": "seconds since 1970",
    "epoch-ms": "milliseconds since 1970",
}


def time_unit_title(unit: str) -> str:
    """A unit of time in words."""
    return tr(_TIME_UNITS[unit]) if unit in _TIME_UNITS else unit


def time_units() -> tuple[str, ...]:
    """The units in which a time column may count."""
    return tuple(_TIME_UNITS)


class Asking(QWidget):
    """A card for each question."""

    answered = Signal(str, object, object)
    """A field of the recipe, what was chosen, and the names of the columns that it is about."""
    referred = Signal(str)
    """All pressures are gauge (`g`) or absolute (`a`)."""

    def __init__(self) -> None:
        super().__init__()
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self.cards: list[QFrame] = []
        self.rates: list[QLineEdit] = []
        """Where a rate is typed."""

    @property
    def first(self) -> QWidget | None:
        """Where the first answer is given."""
        if not self.cards:
            return None
        kinds = (QPushButton, QComboBox, QLineEdit)
        found = (w for kind in kinds for w in self.cards[0].findChildren(kind))
        return next(found, None)

    def show_look(self, seen: Look) -> None:
        """Ask what is open."""
        for card in self.cards:
            self._column.removeWidget(card)
            card.deleteLater()
        self.rates = []
        pressures = [q for q in seen.questions if q.field == "units" and not q.readings]
        self.cards = [self._card(q) for q in seen.questions if q not in pressures]
        if pressures:
            self.cards.append(self._units(tuple(q.column for q in pressures)))
        if seen.open_references and not seen.trouble:
            self.cards.append(self._reference(seen))
        for card in self.cards:
            self._column.addWidget(card)

    def _card(self, question: Question) -> QFrame:
        match question.field:
            case "date_order":
                words = {"dmy": tr("day first: {date}"), "mdy": tr("month first: {date}")}
                choices = [
                    (value, words[value].replace("{date}", reading))
                    for value, reading in question.readings
                ]
                return self._choice(
                    question, tr("Day or month first? The first date read:"), choices
                )
            case "decimal":
                (mark, as_decimal), (other, as_thousands) = question.readings
                written = as_decimal.replace(".", mark)
                choices = [
                    (mark, tr("decimal mark: {number}", number=as_decimal)),
                    (other, tr("thousands mark: {number}", number=as_thousands)),
                ]
                text = tr("What is “{mark}” in “{number}”?", mark=mark, number=written)
                return self._choice(question, text, choices)
            case "time_unit":
                choices = [(value, time_unit_title(value)) for value, _ in question.readings]
                return self._choice(question, tr("In which unit does the time count?"), choices)
            case "rate_hz":
                text = tr("How many rows come in a second?")
                card, row = _frame(text)
                self._rate(row, text)
                return card
            case "time_column":
                return self._time_column(question)
            case "units":
                text = tr("In which unit is “{column}”?", column=question.column)
                return self._choice(question, text, [(u, u) for u, _ in question.readings])
            case _:
                return self._choice(question, question.text, question.readings)

    def _units(self, columns: tuple[str, ...]) -> QFrame:
        """One answer for all pressures; the table below sets one otherwise."""
        text = tr("In which unit: {columns}?", columns=", ".join(columns))
        card, row = _frame(text)
        for unit in PRESSURE_UNITS:
            made = button(unit, f"{text} {unit}")
            made.clicked.connect(lambda _=False, u=unit: self.answered.emit("units", u, columns))
            row.addWidget(made)
        row.addStretch(1)
        return card

    def _choice(self, question: Question, text: str, choices: Sequence[tuple[str, str]]) -> QFrame:
        card, row = _frame(text)
        about = (question.column,) if question.column else ()
        for value, title in choices:
            made = button(title, f"{text} {title}")
            made.clicked.connect(
                lambda _=False, v=value: self.answered.emit(question.field, v, about)
            )
            row.addWidget(made)
        row.addStretch(1)
        return card

    def _rate(self, row: QHBoxLayout, text: str) -> None:
        """A line for a rate and the button that says it."""
        line = QLineEdit()
        line.setAccessibleName(text)
        line.setPlaceholderText("100")
        use = button(tr("Use"), f"{text} {tr('Use')}")

        def say() -> None:
            try:
                rate = float(line.text().replace(",", "."))
            except ValueError:
                line.selectAll()
                line.setFocus()
                return
            self.answered.emit("rate_hz", rate, ())

        use.clicked.connect(say)
        line.returnPressed.connect(say)
        row.addWidget(line)
        row.addWidget(use)
        row.addStretch(1)
        self.rates.append(line)

    def _time_column(self, question: Question) -> QFrame:
        text = tr("Which column is the time?")
        card, row = _frame(text)
        box = QComboBox()
        box.setAccessibleName(text)
        for name, heading in question.readings:
            box.addItem(heading, name)
        use = button(tr("Use"), f"{text} {tr('Use')}")
        use.clicked.connect(lambda: self.answered.emit("time_column", box.currentData(), ()))
        row.addWidget(box)
        row.addWidget(use)
        row.addSpacing(24)
        words = tr("or none, and rows a second:")
        row.addWidget(QLabel(words))
        self._rate(row, words)
        return card

    def _reference(self, seen: Look) -> QFrame:
        names = ", ".join(seen.open_references)
        text = tr("Gauge or absolute? The file does not say; unsaid it counts as gauge.")
        card, row = _frame(text)
        card.setToolTip(names)
        for letter, title in (("g", tr("gauge")), ("a", tr("absolute"))):
            made = button(title, f"{text} {title}: {names}")
            made.clicked.connect(lambda _=False, x=letter: self.referred.emit(x))
            row.addWidget(made)
        row.addStretch(1)
        return card


def _frame(text: str) -> tuple[QFrame, QHBoxLayout]:
    """A card with its question, and the row in which the answers stand."""
    card = QFrame()
    card.setProperty("card", True)  # noqa: FBT003 - Qt takes it so
    row = QHBoxLayout(card)
    row.setContentsMargins(10, 4, 10, 4)
    label = QLabel(text)
    label.setWordWrap(True)
    label.setMinimumWidth(LABEL_PX)
    row.addWidget(label)
    return card, row
