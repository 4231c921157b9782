"""Step 3: fitting, one step at a time, with its cautions, and the fitting record."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QVBoxLayout, QWidget

from gaugebench.desk.hookup.parts import heading, said
from gaugebench.desk.hookup.ranges import RangeCheck, Verdict
from gaugebench.desk.hookup.stepwise import Stepwise
from gaugebench.desk.words import tr
from gaugebench.procedure import rules

_GUARDED = {"open", "order"}
"""Steps in which something is screwed on: not before every transducer may be."""


class FitPage(QWidget):
    """The steps of fitting; held back where a transducer may not be screwed on."""

    def __init__(self) -> None:
        super().__init__()
        self.steps = Stepwise(rules.steps("fit"), tr("Fitting"), tr("The kit is fitted."))
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 6, 0)
        column.addWidget(heading(tr("Fit the kit")))
        column.addWidget(self.steps)
        column.addWidget(said(tr(rules.deference())))
        column.addStretch(1)
        self._checks: tuple[RangeCheck, ...] = ()
        self.steps.changed.connect(self._guard)

    def show_checks(self, checks: Sequence[RangeCheck]) -> None:
        """What the range check of every port says."""
        self._checks = tuple(checks)
        self._guard()

    def _guard(self) -> None:
        step = self.steps.list.current
        self.steps.hold_back(self._why_not() if step is not None and step.key in _GUARDED else "")

    def _why_not(self) -> str:
        if not self._checks:
            return tr("Choose a kit first, in step 1.")
        if any(c.verdict is Verdict.STOP for c in self._checks):
            return tr("STOP: a transducer would be over-ranged; the table says which.")
        if not all(c.may_be_fitted for c in self._checks):
            return tr("Not every port has been judged; see step 2.")
        return ""
