"""An exercise on the practice machine: begin one, name what is wrong, be told how it went."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QComboBox,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QVBoxLayout,
    QWidget,
)

from gaugebench.desk.buttons import button
from gaugebench.desk.live.outcome import claim_title, heading, lines
from gaugebench.desk.scale import mm
from gaugebench.desk.shown import Shown
from gaugebench.desk.words import tr
from gaugebench.desk.work import Workers

if TYPE_CHECKING:
    from gaugebench.simulate.exercise import Exercise, Outcome
    from gaugebench.simulate.moves import FaultOn
    from gaugebench.simulate.source import MachineSource

LIST_MM = 25.0
"""The least height of a list; where the screen is lower the pane scrolls."""


class ExercisePane(QWidget):
    """What is wrong with the machine is told only once the exercise is ended."""

    def __init__(self, workers: Workers) -> None:
        super().__init__()
        self.workers = workers
        self.readings: Callable[[], Mapping[str, float]] = dict
        """The learner's readings, from the worksheet."""
        self.begun: Callable[[], None] = lambda: None
        """Called once another machine stands there."""
        self.machine: MachineSource | None = None
        """The machine that is practised on."""
        self._last: MachineSource | None = None
        """The machine that stood here last, whether or not the kit is on it."""
        self._exercise: Exercise | None = None
        self._claims: tuple[FaultOn, ...] = ()
        self._shown = Shown()
        self.choice = QComboBox()
        self.choice.setAccessibleName(tr("Exercise"))
        self.begin_button = button(tr("Begin"), tr("Begin the chosen exercise: engine off"))
        self.title = QLabel()
        self.title.setProperty("heading", True)  # noqa: FBT003 - Qt takes it so
        self.title.setWordWrap(True)
        self.complaint = QLabel()
        self.complaint.setWordWrap(True)
        self.claims = QListWidget()
        self.claims.setAccessibleName(tr("What is wrong with the machine"))
        self.end_button = button(
            tr("End it and compare"), tr("End the exercise and be told how it went")
        )
        self.verdict = QLabel()
        self.verdict.setWordWrap(True)
        self.result = QListWidget()
        self.result.setAccessibleName(tr("How the exercise went"))
        self.result.setProperty("quiet", True)  # noqa: FBT003 - Qt takes it so
        self.result.setSelectionMode(QListWidget.SelectionMode.NoSelection)
        for listed in (self.claims, self.result):
            listed.setWordWrap(True)
            listed.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
            listed.setMinimumHeight(mm(LIST_MM))
        self._lay_out()
        self.choice.currentIndexChanged.connect(lambda _: self._tell())
        self.begin_button.clicked.connect(self.begin)
        self.end_button.clicked.connect(self.end)

    def show_machine(self, machine: MachineSource | None) -> bool:
        """Practise on this machine; whether an exercise runs.

        Then a kit that is connected anew, for its zeros perhaps, finds the machine as it was left.
        """
        is_running = self._exercise is not None
        if machine is not None:
            if is_running and self._last is not None:
                machine.carry_on(self._last)
            self._last = machine
        self.machine = machine
        if machine is not None and not self.choice.count():
            from gaugebench.simulate.lessons import CLAIMS, LESSONS

            for lesson in LESSONS:
                self.choice.addItem(tr(lesson.title), lesson.key)
            self._claims = CLAIMS
            for claim in CLAIMS:
                item = QListWidgetItem(claim_title(claim))
                item.setFlags(Qt.ItemFlag.ItemIsUserCheckable | Qt.ItemFlag.ItemIsEnabled)
                item.setCheckState(Qt.CheckState.Unchecked)
                self.claims.addItem(item)
        if not is_running:
            self._open_parts(is_begun=False)
            self._tell()
        return is_running

    def show_in(self, shown: Shown) -> None:
        """Write pressures in these units."""
        self._shown = shown

    def begin(self) -> None:
        """Put the chosen exercise's machine there, engine off."""
        if self.machine is None:
            return
        from gaugebench.simulate.lessons import exercise

        self._exercise = exercise(self.choice.currentData())
        self.machine.begin(self._exercise.script)
        for row in range(self.claims.count()):
            self.claims.item(row).setCheckState(Qt.CheckState.Unchecked)
        self.result.clear()
        self.verdict.clear()
        self._open_parts(is_begun=True)
        self._tell()
        self.begun()

    def end(self) -> None:
        """Compare what was done, read and named with the truth, off the window's thread."""
        machine, made = self.machine, self._exercise
        if machine is None or made is None:
            return
        named = [
            claim
            for row, claim in enumerate(self._claims)
            if self.claims.item(row).checkState() is Qt.CheckState.Checked
        ]
        readings, left = dict(self.readings()), machine.performance.plant
        self.end_button.setEnabled(False)

        def judged() -> Outcome:
            from gaugebench.simulate.exercise import judge

            return judge(made, left, readings, named)

        self.workers.run(judged, self._ended, self.verdict.setText)

    def _ended(self, outcome: Outcome) -> None:
        self._exercise = None
        self._tell()
        self.verdict.setText(heading(outcome))
        self.verdict.setProperty("go", outcome.passed)
        self.verdict.setProperty("trouble", not outcome.passed)
        self.verdict.style().unpolish(self.verdict)
        self.verdict.style().polish(self.verdict)
        self.result.clear()
        for sentence, is_right in lines(outcome, self._shown):
            self.result.addItem(f"{'✓' if is_right else '✗'}  {sentence}")
        self._open_parts(is_begun=False, is_ended=True)

    def _open_parts(self, *, is_begun: bool, is_ended: bool = False) -> None:
        self.claims.setVisible(is_begun)
        self.end_button.setVisible(is_begun)
        self.end_button.setEnabled(is_begun)
        self.result.setVisible(is_ended)
        self.verdict.setVisible(is_ended)
        self.begin_button.setEnabled(self.machine is not None)
        self.begin_button.setVisible(not is_begun)
        self.choice.setVisible(not is_begun)
        self.title.setVisible(is_begun)

    def _tell(self) -> None:
        key = self.choice.currentData()
        if not key:
            self.complaint.setText("")
            return
        from gaugebench.simulate.lessons import lesson

        chosen = lesson(key)
        self.title.setText(tr(chosen.title))
        told = tr("The customer says: {complaint}", complaint=tr(chosen.complaint))
        if self._exercise is not None:
            told += "\n" + tr(
                "Put it right, read it again in the open job, and tick what was wrong."
            )
        self.complaint.setText(told)

    def _lay_out(self) -> None:
        column = QVBoxLayout(self)
        column.addWidget(self.choice)
        column.addWidget(self.title)
        column.addWidget(self.begin_button)
        column.addWidget(self.complaint)
        column.addWidget(self.claims, 1)
        column.addWidget(self.end_button)
        column.addWidget(self.verdict)
        column.addWidget(self.result, 1)
        column.addStretch(0)
        self.complaint.setAlignment(Qt.AlignmentFlag.AlignTop)
