"""Step 2: may these transducers be fitted? Before anything is connected to the machine."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from gaugebench.desk.buttons import button
from gaugebench.desk.hookup.calibration import MONTHS, USUAL_MONTHS
from gaugebench.desk.hookup.parts import heading, line, said, show_trouble
from gaugebench.desk.hookup.ranges import RangeCheck, Verdict
from gaugebench.desk.words import tr
from gaugebench.errors import UnitError
from gaugebench.quantity import Dimension, parse


class RangePage(QWidget):
    """The machine's highest relief, what all ports together say, and how old calibrations are."""

    changed = Signal()
    trouble = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self.by_sheet: Callable[[], str] = lambda: ""
        """The highest pressure that the job's sheet names, as text; empty without a job."""
        self.highest = line(tr("Highest relief of the machine"), tr("for example 350 bar"))
        self.sheet_button = button("", tr("Take the highest pressure of the job's machine sheet"))
        self.verdict = said()
        self.months = QComboBox()
        for months in MONTHS:
            self.months.addItem(tr("{count} months", count=months), months)
        self.months.setAccessibleName(tr("For how long a calibration is held good"))
        self.dates = said()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 6, 0)
        column.addWidget(heading(tr("What can the ports see?")))
        column.addWidget(
            said(tr("State the highest relief of the machine, from its sheet, port reliefs too."))
        )
        column.addWidget(self.highest)
        column.addWidget(self.sheet_button)
        column.addWidget(self.verdict)
        column.addWidget(
            said(
                tr("A servo port can see full pump pressure. Where the sheet says that a port sees"
                   " less, choose the port in the table and state the most on the right. Common"
                   " practice, no source: the machine's own sheet always wins.")
            )
        )  # fmt: skip
        column.addWidget(heading(tr("Calibrations")))
        row = QHBoxLayout()
        row.addWidget(QLabel(tr("Good for")))
        row.addWidget(self.months, 1)
        column.addLayout(row)
        column.addWidget(self.dates)
        column.addStretch(1)
        self.hold_good(USUAL_MONTHS)
        self.months.currentIndexChanged.connect(lambda _: self.changed.emit())
        self.highest.editingFinished.connect(self._typed)
        self.sheet_button.clicked.connect(self._take)
        self.renew()

    @property
    def highest_pa(self) -> float | None:
        """The highest relief, Pa; None where it is not stated or cannot be read."""
        try:
            found = parse(self.highest.text(), Dimension.PRESSURE)
        except UnitError:
            return None  # said when it was typed, and by every port's verdict
        return found if found > 0 else None

    @property
    def good_months(self) -> int:
        """For how long a calibration is held good."""
        return int(self.months.currentData())

    def hold_good(self, months: int) -> None:
        """Hold calibrations good for so long; what is not offered is taken for a year."""
        row = self.months.findData(months)
        self.months.setCurrentIndex(row if row >= 0 else self.months.findData(USUAL_MONTHS))

    def renew(self) -> None:
        """Whether the job's sheet has something to offer."""
        offered = self.by_sheet()
        self.sheet_button.setVisible(bool(offered))
        self.sheet_button.setText(tr("Take {pressure} from the sheet", pressure=offered))

    def show_checks(self, checks: Sequence[RangeCheck]) -> None:
        """All ports together."""
        stops = sum(c.verdict is Verdict.STOP for c in checks)
        open_ones = sum(c.verdict is Verdict.UNKNOWN for c in checks)
        if stops:
            text = tr("STOP: {count} ports would be over-ranged. Screw on none of them.",
                      count=stops)  # fmt: skip
        elif open_ones:
            text = tr("{count} ports cannot be judged yet; the table says what is missing.",
                      count=open_ones)  # fmt: skip
        elif checks:
            text = tr("Every transducer may be fitted.")
        else:
            text = tr("Choose a kit first.")
        self.verdict.setText(text)
        show_trouble(self.verdict, is_trouble=bool(stops))

    def show_dates(self, words: str, *, is_overdue: bool) -> None:
        """How old the calibrations are."""
        self.dates.setText(words)
        show_trouble(self.dates, is_trouble=is_overdue)

    def _typed(self) -> None:
        text = self.highest.text().strip()
        try:
            if text:
                parse(text, Dimension.PRESSURE)
        except UnitError as fault:
            self.trouble.emit(str(fault))
        self.changed.emit()

    def _take(self) -> None:
        self.highest.setText(self.by_sheet())
        self.changed.emit()
