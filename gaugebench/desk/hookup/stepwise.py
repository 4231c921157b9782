"""A list of steps, one at a time: what is done now, why, and which are behind."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from gaugebench.desk.buttons import button
from gaugebench.desk.hookup.checklist import Checklist
from gaugebench.desk.words import tr
from gaugebench.procedure.rules import Step


class Stepwise(QWidget):
    """Shows a `Checklist`. `hold_back` keeps a step from being ticked, in words."""

    ticked = Signal(object)
    """The `Step` that was done."""
    changed = Signal()

    def __init__(self, steps: tuple[Step, ...], says: str, finished: str) -> None:
        super().__init__()
        self.list = Checklist.of(steps)
        self._finished = finished
        self._held = ""
        self.count, self.do, self.why, self.held = (QLabel() for _ in range(4))
        for label in (self.do, self.why, self.held):
            label.setWordWrap(True)
        self.do.setProperty("heading", True)  # noqa: FBT003 - Qt takes it so
        self.held.setProperty("trouble", True)  # noqa: FBT003 - Qt takes it so
        self.done_button = button(tr("Done, next"), tr("{what}: this step is done", what=says))
        self.back_button = button(tr("Back"), tr("{what}: one step back", what=says))
        self.restart_button = button(tr("Start again"), tr("{what}: from the first", what=says))
        self._lay_out()
        self.done_button.clicked.connect(self._tick)
        self.back_button.clicked.connect(self._back)
        self.restart_button.clicked.connect(self.restart)
        self.renew()

    def hold_back(self, why: str) -> None:
        """Keep the step in sight from being ticked and say why; empty lets it go on."""
        if why != self._held:
            self._held = why
            self.renew()

    def take_over(self, old: Stepwise) -> None:
        """Go on where another stood."""
        self.list.done = old.list.done
        self.renew()
        self.changed.emit()

    def restart(self) -> None:
        """From the first step again."""
        self.list.restart()
        self.renew()
        self.changed.emit()

    def renew(self) -> None:
        """The step in sight."""
        step, many = self.list.current, len(self.list.steps)
        number = min(self.list.done + 1, many)
        self.count.setText(tr("Step {number} of {many}", number=number, many=many))
        self.do.setText(tr(step.do) if step else self._finished)
        self.why.setText(tr(step.why) if step else "")
        self.why.setVisible(step is not None)
        self.held.setText(self._held)
        self.held.setVisible(bool(self._held) and step is not None)
        self.done_button.setEnabled(step is not None and not self._held)
        self.back_button.setEnabled(self.list.done > 0)
        self.restart_button.setEnabled(self.list.done > 0)

    def _tick(self) -> None:
        step = self.list.tick()
        self.renew()
        if step is not None:
            self.ticked.emit(step)
        self.changed.emit()

    def _back(self) -> None:
        self.list.back()
        self.renew()
        self.changed.emit()

    def _lay_out(self) -> None:
        card = QFrame()
        card.setProperty("card", True)  # noqa: FBT003 - Qt takes it so
        inside = QVBoxLayout(card)
        for part in (self.count, self.do, self.why, self.held):
            inside.addWidget(part)
        row = QHBoxLayout()
        row.addWidget(self.done_button, 2)
        row.addWidget(self.back_button, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(card)
        column.addLayout(row)
        column.addWidget(self.restart_button)
