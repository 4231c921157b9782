"""Raised tracks: each timed over turns of its sprocket, left against right."""

from __future__ import annotations

from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from gaugebench.desk.buttons import button
from gaugebench.desk.words import said, told, tr
from gaugebench.desk.worksheet.entries import count, reading
from gaugebench.desk.worksheet.formparts import (
    beside,
    choice,
    halves,
    headings,
    rows,
    sides,
    speeds,
)
from gaugebench.desk.worksheet.jobdesk import JobDesk
from gaugebench.desk.worksheet.parts import Pane, Scrolled, bulleted, line, words
from gaugebench.desk.worksheet.struck import Entries
from gaugebench.errors import UnitError
from gaugebench.model.job import TrackTimed
from gaugebench.procedure import travel
from gaugebench.procedure.view import Board
from gaugebench.procedure.words import number
from gaugebench.quantity import Dimension


class TracksForm(Pane):
    """A raised track timed over turns of its sprocket; left against right."""

    def __init__(self, job: JobDesk) -> None:
        super().__init__(job)
        self.side = choice(tr("Side of the track"), sides())
        self.heading = choice(tr("Which way the track runs"), headings())
        self.speed = choice(tr("Travel speed"), speeds())
        self.turns = line(tr("Turns of the sprocket"), "10")
        self.seconds = line(tr("Time for these turns, s"), tr("Time"))
        self.spread = line(tr("Its expanded uncertainty ± (k = 2), s"), tr("± if known"))
        self.enter_button = button(tr("Enter the track"), tr("Enter the time of this track"))
        heads = (tr("Track"), tr("Turns"), tr("Time"))
        self.entries = Entries(job, "track timed", tr("Tracks of this phase"), heads, (0, 2))
        self.result = words()
        self._lay_out()
        for each in (self.seconds, self.spread):
            each.returnPressed.connect(self._enter)
        self.enter_button.clicked.connect(self._enter)

    def show_board(self, board: Board | None) -> None:
        """Show the tracks, left against right."""
        sheet = self.job.sheet
        self.setEnabled(board is not None)
        if board is None or sheet is None:
            self.entries.show_rows([], [])
            self.result.setText("")
            return
        state = sheet.state
        numbers = [n for n, t in enumerate(state.tracks) if t.phase is state.phase]
        self.entries.show_rows(numbers, [_track_row(state.tracks[n]) for n in numbers])
        found = travel.track_words(state)
        self.result.setText(
            bulleted(found) if found else tr("Time both tracks the same way and speed.")
        )

    def _enter(self) -> None:
        sheet = self.job.sheet
        if sheet is None:
            return
        try:
            turns = count(self.turns.text())
            seconds = reading(self.seconds.text(), self.spread.text(), Dimension.TIME, "s")
        except UnitError as fault:
            self.job.refused.emit(told(fault))
            return
        if turns <= 0 or seconds.value <= 0:
            self.job.refused.emit(tr("Turns and time of a track are above zero."))
            return
        done = self.job.do(
            "track timed", phase=sheet.state.phase, side=self.side.currentData(),
            heading=self.heading.currentData(), speed=self.speed.currentData(), turns=turns,
            seconds=seconds,
        )  # fmt: skip
        if done:
            self.seconds.clear()
            self.seconds.setFocus()

    def _lay_out(self) -> None:
        form = rows(
            (tr("Side"), self.side), (tr("Which way"), self.heading),
            (tr("Travel speed"), self.speed), (tr("Turns"), self.turns),
            (tr("Time"), beside(self.seconds, self.spread, QLabel("s"))),
        )  # fmt: skip
        side = QWidget()
        left = QVBoxLayout(side)
        left.addLayout(form)
        left.addWidget(self.enter_button)
        left.addStretch(1)
        halves(self, Scrolled(side, tr("One track")), self.entries, self.result)


def _track_row(track: TrackTimed) -> tuple[str, ...]:
    what = f"{said(track.side.value)}, {said(track.heading.value)}, {said(track.speed)}"
    return (what, f"{track.turns:g}", number(track.seconds, "s", 1))
