"""Step 5: does every hose sit on its port? At low idle, before the first load."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QFormLayout, QHBoxLayout, QVBoxLayout, QWidget

from gaugebench.desk.buttons import button
from gaugebench.desk.hookup.levers import Lever, LeverTest, Stage
from gaugebench.desk.hookup.parts import heading, said, show_trouble
from gaugebench.desk.hookup.portcheck import PortCheck
from gaugebench.desk.hookup.swapped import Finding, Outcome
from gaugebench.desk.words import tr

_USUAL = ("bucket", "arm", "boom", "travel left", "travel right", "swing")
_BAD = {Finding.MAINS, Finding.CONTROLS, Finding.BOTH, Finding.CROSSED, Finding.MIXED}


class PortsPage(QWidget):
    """The wrong-port check, then one lever at a time."""

    lever_asked = Signal(object)
    """Begin with this `Lever`."""
    stop_asked = Signal()
    exchange_asked = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.by_sheet: Callable[[], Sequence[Lever]] = lambda: ()
        """The levers of the job's sheet, each fed by one pump alone; none without a job."""
        self.wrong_button = button(
            tr("Wrong-port check"), tr("At low idle in neutral, before the first load")
        )
        self.wrong_said = said(tr("Not checked yet."))
        self.lever = QComboBox()
        self.lever.setEditable(True)
        self.lever.setAccessibleName(tr("The lever that is moved"))
        self.fed = QComboBox()
        self.fed.setAccessibleName(tr("The pump that feeds it, by the machine's sheet"))
        self.fed.addItem(tr("not known"), None)
        for pump in (1, 2):
            self.fed.addItem(tr("pump {number}", number=pump), pump)
        self.move_button = button(tr("Test this lever"), tr("Watch what this lever moves"))
        self.stop_button = button(tr("Stop"), tr("Give this lever up"))
        self.order = heading("")
        self.answers = said()
        self.outcome = said()
        self.exchange_button = button(
            tr("Exchange them in the kit"),
            tr("Leave the hoses where they are and exchange their channels in the kit"),
        )
        self._lay_out()
        self.move_button.clicked.connect(self._ask)
        self.stop_button.clicked.connect(self.stop_asked)
        self.exchange_button.clicked.connect(self.exchange_asked)
        self.lever.currentIndexChanged.connect(lambda _: self._lever_chosen())
        self.renew_levers()
        self.show_test(LeverTest(), may_begin=False)
        self.show_outcome((), None)

    def renew_levers(self) -> None:
        """The levers of the sheet, or the usual ones, whose pumps are not known."""
        levers = list(self.by_sheet()) or [Lever(tr(name)) for name in _USUAL]
        listed = [self.lever.itemText(n) for n in range(self.lever.count())]
        if listed != [one.name for one in levers]:
            self.lever.clear()
            for one in levers:
                self.lever.addItem(one.name, one.pump)
            self._lever_chosen()

    def show_check(self, check: PortCheck | None) -> None:
        """What the wrong-port check found."""
        self.wrong_said.setText(check.words if check is not None else tr("Not checked yet."))
        show_trouble(self.wrong_said, is_trouble=check is not None and not check.passed)

    def show_test(self, test: LeverTest, *, may_begin: bool) -> None:
        """Where the lever test stands. may_begin: the wrong-port check was passed."""
        is_on = test.stage in {Stage.NEUTRAL, Stage.MOVE, Stage.LET_GO}
        self.move_button.setEnabled(may_begin and not is_on)
        self.stop_button.setEnabled(is_on)
        self.lever.setEnabled(not is_on)
        self.fed.setEnabled(not is_on)
        self.order.setText(_order(test, may_begin=may_begin))

    def show_outcome(self, answers: Sequence[str], outcome: Outcome | None) -> None:
        """Every lever's answer, and what they say together."""
        self.answers.setText("\n".join(answers))
        self.answers.setVisible(bool(answers))
        self.outcome.setText(outcome.words if outcome is not None else "")
        show_trouble(self.outcome, is_trouble=outcome is not None and outcome.finding in _BAD)
        self.outcome.setVisible(outcome is not None)
        self.exchange_button.setVisible(outcome is not None and bool(outcome.swaps))

    def _lever_chosen(self) -> None:
        pump = self.lever.currentData()
        self.fed.setCurrentIndex(max(self.fed.findData(pump), 0))

    def _ask(self) -> None:
        name = self.lever.currentText().strip()
        if name:
            self.lever_asked.emit(Lever(name, self.fed.currentData()))

    def _lay_out(self) -> None:
        form = QFormLayout()
        form.addRow(tr("Lever"), self.lever)
        form.addRow(tr("Fed by"), self.fed)
        row = QHBoxLayout()
        row.addWidget(self.move_button, 2)
        row.addWidget(self.stop_button, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 6, 0)
        column.addWidget(heading(tr("Low idle, levers in neutral")))
        column.addWidget(said(tr("Everyone clear of the machine. Nothing is stalled yet.")))
        column.addWidget(self.wrong_button)
        column.addWidget(self.wrong_said)
        column.addWidget(heading(tr("One lever at a time")))
        column.addWidget(
            said(tr("Still at low idle: it tells swapped hoses, and which control belongs to which"
                    " main."))
        )  # fmt: skip
        column.addLayout(form)
        column.addLayout(row)
        for part in (self.order, self.answers, self.outcome, self.exchange_button):
            column.addWidget(part)
        column.addStretch(1)


def _order(test: LeverTest, *, may_begin: bool) -> str:
    match test.stage:
        case Stage.NEUTRAL if test.is_restless:
            return tr("The pressures wander: levers in neutral, low idle …")
        case Stage.NEUTRAL:
            return tr("Hands off all levers …")
        case Stage.MOVE:
            return tr("Now {lever}: a third of its way, hold.", lever=test.lever.name)
        case Stage.LET_GO:
            return tr("Seen. Let go.")
        case _:
            return "" if may_begin else tr("First the wrong-port check.")
