"""The strip above the readouts: state of the work, what is to be done, the count, the heat."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QFrame, QHBoxLayout, QLabel, QLineEdit, QWidget

from gaugebench.desk.live.coach import Kind, Order
from gaugebench.desk.live.work import Work
from gaugebench.desk.shown import plain
from gaugebench.desk.words import tr
from gaugebench.model.job import Hands, Phase


class CoachBar(QFrame):
    """Always in sight on Live; the orders go to the operator's window too."""

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("card", True)  # noqa: FBT003 - Qt takes it so
        self.hands = QLabel()
        self.check = QLabel()
        self.check.setWordWrap(True)
        self.order = QLabel()
        self.order.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.order.setWordWrap(True)
        self.order.setMinimumWidth(280)
        self.order.setAccessibleName(tr("What the operator does now"))
        self.order.setProperty("heading", True)  # noqa: FBT003 - Qt takes it so
        self.heat = QLabel()
        self.heat.setWordWrap(True)
        self.say = QLineEdit()
        self.say.setPlaceholderText(tr("What the operator is to do"))
        self.say.setAccessibleName(tr("What the operator is to do"))
        row = QHBoxLayout(self)
        row.setContentsMargins(8, 4, 8, 4)
        for part, share in ((self.hands, 0), (self.check, 3), (self.order, 2), (self.heat, 2)):
            row.addWidget(part, share)
        row.addWidget(self.say, 2)
        self._kind = Kind.REST

    def show_work(self, work: Work | None) -> None:
        """The state of the work and the check that waits."""
        self.hands.setVisible(work is not None)
        if work is None:
            self.check.setText(tr("No job is open. The coach counts every hold all the same."))
            return
        is_in = work.hands is Hands.IN
        self.hands.setText(tr("HANDS IN") if is_in else tr("UNDER LOAD"))
        _mark(self.hands, "trouble", on=not is_in)
        phase = tr("As found") if work.phase is Phase.AS_FOUND else tr("As left")
        if work.check is None:
            self.check.setText(tr("{phase}: every check is read.", phase=phase))
            return
        function, how = work.order()
        do = ", ".join(p for p in (function, how) if p)
        text = f"{phase}: {work.check.title}. {do}"
        self.check.setText(text)
        self.check.setToolTip("\n".join(work.refusals))

    def show_order(self, order: Order, over_s: float, stored_s: float, joules: float,
                   budget_s: float) -> None:  # fmt: skip
        """What the operator does now, and the heat so far."""
        text = order.text()
        if text != self.order.text():
            self.order.setText(text)
        _mark(self.order, "trouble", on=order.is_alarm)
        _mark(self.order, "go", on=order.kind is Kind.LET_GO and not order.is_alarm)
        _mark(
            self.order, "simulated", on=order.kind in (Kind.WAIT, Kind.LATE) and not order.is_alarm
        )
        if order.kind is not self._kind and order.kind in (Kind.LET_GO, Kind.OVER):
            QApplication.beep()
        self._kind = order.kind
        words = tr(
            "Heat: {stored} of {budget} s, at most {energy} kJ into the oil",
            stored=plain(stored_s, 0), budget=plain(budget_s, 0), energy=plain(joules / 1e3, 0),
        )  # fmt: skip
        if over_s > 0:
            words = tr("{seconds} s over.", seconds=plain(over_s, 1)) + " " + words
        if words != self.heat.text():
            self.heat.setText(words)


def _mark(widget: QWidget, name: str, *, on: bool) -> None:
    """Set a property that the style looks at, and let it look again where it changed."""
    if bool(widget.property(name)) is not on:
        widget.setProperty(name, on)
        widget.style().unpolish(widget)
        widget.style().polish(widget)
