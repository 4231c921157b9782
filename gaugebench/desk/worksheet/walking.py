"""Straight travel: walks with how far they left the line, and to which side."""

from __future__ import annotations

from PySide6.QtWidgets import (
    QCheckBox,
    QLabel,
    QVBoxLayout,
    QWidget,
)

from gaugebench.desk.buttons import button
from gaugebench.desk.words import said, told, tr
from gaugebench.desk.worksheet.entries import optional, reading
from gaugebench.desk.worksheet.formparts import (
    SPEEDS,
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
from gaugebench.model.job import Heading, TravelWalked
from gaugebench.model.sheet import Check
from gaugebench.model.terms import Measures
from gaugebench.procedure import travel
from gaugebench.procedure.state import JobState
from gaugebench.procedure.view import Board
from gaugebench.quantity import Dimension, parse, show


class WalksForm(Pane):
    """Each walk is one entry: which way, how fast, how far off, to which side."""

    def __init__(self, job: JobDesk) -> None:
        super().__init__(job)
        self.heading = choice(tr("Which way it travels"), headings())
        self.speed = choice(tr("Travel speed"), speeds())
        self.second = QCheckBox(tr("With a second lever over"))
        self.off = line(tr("How far it left the line, mm"), "120 mm")
        self.spread = line(tr("Its expanded uncertainty ± (k = 2), mm"), tr("± if known"))
        self.side = choice(tr("Side it went to"), sides())
        self.distance = line(tr("Distance travelled, m"))
        self.enter_button = button(tr("Enter the walk"), tr("Enter this walk"))
        heads = (tr("Walk"), tr("Off the line"), tr("Distance"))
        self.entries = Entries(job, "travel walked", tr("Walks of this phase"), heads, (0, 1))
        self.result = words()
        self.reading_button = button(
            tr("Take the greatest as the reading"),
            tr("The greatest deviation of this phase becomes the reading"),
        )
        self._lay_out()
        for each in (self.off, self.spread):
            each.returnPressed.connect(self._enter)
        self.enter_button.clicked.connect(self._enter)
        self.reading_button.clicked.connect(self._read)

    def show_board(self, board: Board | None) -> None:
        """Show the walks, and what they tell."""
        sheet = self.job.sheet
        self.setEnabled(board is not None)
        if board is None or sheet is None:
            self.entries.show_rows([], [])
            self.result.setText("")
            return
        state = sheet.state
        self.distance.setPlaceholderText(said(show(_distance_m(state), "m", 0)))
        numbers = [n for n, w in enumerate(state.walks) if w.phase is state.phase]
        self.entries.show_rows(numbers, [_walk_row(state.walks[n]) for n in numbers])
        self.result.setText(bulleted(_walk_lines(state)))
        self.reading_button.setEnabled(bool(_check(state)) and bool(numbers))

    def choose(self) -> None:
        """Stand at the first line."""
        self.off.setFocus()

    def _enter(self) -> None:
        sheet = self.job.sheet
        if sheet is None:
            return
        try:
            off = reading(self.off.text(), self.spread.text(), Dimension.LENGTH, "mm")
            distance = optional(self.distance.text(), Dimension.LENGTH, "m")
        except UnitError as fault:
            self.job.refused.emit(told(fault))
            return
        if distance is None:
            distance = _distance_m(sheet.state)
        if off.value < 0 or distance <= 0:
            self.job.refused.emit(
                tr("A deviation is not below zero, and a distance is above it; the side is chosen.")
            )
            return
        done = self.job.do(
            "travel walked", phase=sheet.state.phase, heading=self.heading.currentData(),
            speed=self.speed.currentData(), deviation_m=off.value, to=self.side.currentData(),
            distance_m=distance, second_lever=self.second.isChecked(), expanded_m=off.expanded,
        )  # fmt: skip
        if done:
            self.off.clear()
            self.off.setFocus()

    def _read(self) -> None:
        sheet = self.job.sheet
        check = _check(sheet.state) if sheet else None
        found = travel.reading(sheet.state, check.key, self.job.now()) if sheet and check else None
        if found is not None:
            self.job.attempt(lambda s: s.take(found))

    def _lay_out(self) -> None:
        form = rows(
            (tr("Which way"), self.heading), (tr("Travel speed"), self.speed),
            (tr("Off the line"), beside(self.off, self.spread, QLabel("mm"))),
            (tr("To the"), self.side), (tr("Distance"), self.distance),
        )  # fmt: skip
        side = QWidget()
        left = QVBoxLayout(side)
        left.addLayout(form)
        left.addWidget(self.second)
        left.addWidget(self.enter_button)
        left.addStretch(1)
        halves(self, Scrolled(side, tr("One walk")), self.entries, self.result, self.reading_button)


def _check(state: JobState) -> Check | None:
    return next((c for c in state.sheet.check if c.figure is Measures.DEVIATION), None)


def _distance_m(state: JobState) -> float:
    return parse(state.sheet.travel.distance, Dimension.LENGTH)


def _walk_row(walk: TravelWalked) -> tuple[str, ...]:
    what = f"{said(walk.heading.value)}, {said(walk.speed)}"
    if walk.second_lever:
        what += ", " + tr("second lever over")
    off = tr("{off} to the {side}", off=travel.off(walk), side=walk.to)
    return (what, off, show(walk.distance_m, "m", 0))


def _walk_lines(state: JobState) -> list[str]:
    limit = travel.limit_m(state)
    if limit is None:
        stated: str = tr("The sheet states no limit; without one there is no verdict.")
    else:
        stated = tr(
            "Limit: {limit} over {distance}.",
            limit=show(limit, "mm", 0), distance=show(_distance_m(state), "m", 0),
        )  # fmt: skip
    wanted = [
        f"{said(h.value)}, {said(s)}"
        for s in SPEEDS
        for h in Heading
        if not any(
            (w.heading, w.speed, w.phase) == (h, s, state.phase) and not w.second_lever
            for w in state.walks
        )
    ]
    lines = [stated, *travel.judgements(state)]
    if wanted:
        lines.insert(1, tr("Still to walk: {walks}.", walks="; ".join(wanted)))
    return lines
