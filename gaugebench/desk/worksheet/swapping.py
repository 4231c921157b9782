"""An exchange: what is exchanged, by which readings it is judged, followed or stayed, put back."""

from __future__ import annotations

from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QVBoxLayout

from gaugebench.desk.buttons import button
from gaugebench.desk.words import said, told, tr
from gaugebench.desk.worksheet.entries import reading
from gaugebench.desk.worksheet.formparts import choice
from gaugebench.desk.worksheet.jobdesk import JobDesk
from gaugebench.desk.worksheet.parts import Pane, bulleted, heading, line, words
from gaugebench.errors import UnitError
from gaugebench.model.job import SwapOutcome, Value
from gaugebench.model.saying import Saying
from gaugebench.model.sheet import Check
from gaugebench.model.terms import ChangeKind
from gaugebench.procedure import swaps
from gaugebench.procedure.state import Altered, JobState
from gaugebench.procedure.swaps import Swap
from gaugebench.procedure.view import Board
from gaugebench.procedure.words import number, shown_unit


class SwapForm(Pane):
    """The proposed exchange is chosen by itself; another can be made instead."""

    def __init__(self, job: JobDesk) -> None:
        super().__init__(job)
        self.swaps = swaps.every()
        self.told = words()
        self.swap = choice(tr("Exchange"), tuple((said(s.title), s.key) for s in self.swaps))
        self.note = line(
            tr("What exactly was exchanged: ports, plugs, hoses"), tr("What exactly, if it matters")
        )
        self.sides = tuple(choice(name) for name in (tr("Check of side 1"), tr("Check of side 2")))
        self.swap_button = button(tr("Exchanged now"), tr("The chosen exchange was made"))
        self.restore_button = button(tr("Put back"), tr("What was exchanged was put back"))
        self.values = tuple(
            line(name, tr("reading ± U"))
            for name in (
                tr("Side 1 before ± U"), tr("Side 2 before ± U"),
                tr("Side 1 after ± U"), tr("Side 2 after ± U"),
            )
        )  # fmt: skip
        self.unit = QLabel()
        self.judge_button = button(
            tr("Followed or stayed?"), tr("Judge the exchange by the four readings")
        )
        self._proposed: str | None = None
        self._candidates: tuple[tuple[Check, ...], ...] = ((), ())
        self._lay_out()
        self.swap.currentIndexChanged.connect(lambda _: self._offer())
        self.swap_button.clicked.connect(self._exchange)
        self.restore_button.clicked.connect(self._restore)
        self.judge_button.clicked.connect(self._judge)
        for each in self.values:
            each.returnPressed.connect(self._judge)

    def show_board(self, board: Board | None) -> None:
        """Show what is proposed, what stands, and what was judged."""
        sheet = self.job.sheet
        self.setEnabled(board is not None)
        if board is None or sheet is None:
            self.told.setText("")
            self._proposed = None
            return
        state = sheet.state
        proposed = board.swap.key if board.swap else None
        standing = self._standing
        if standing is None and (proposed != self._proposed or not self.sides[0].count()):
            self._proposed = proposed
            if proposed is not None:
                self.swap.setCurrentIndex(self.swap.findData(proposed))
            self._offer()
        for part in (self.swap, self.note, *self.sides):
            part.setVisible(standing is None)
        self.swap_button.setEnabled(standing is None)
        self.restore_button.setEnabled(standing is not None)
        last = self._last
        is_due = last is not None and _is_due(state, last)
        for part in (*self.values, self.judge_button):
            part.setEnabled(is_due)
        check = _sides(state, last)[0] if last is not None else None
        self.unit.setText(shown_unit(check, self.job.units.shown.pressure) if check else "")
        self.told.setText(bulleted(_lines(state, board, last)))

    @property
    def _last(self) -> Altered | None:
        """The latest exchange, whether it stands or not: it can be judged after it is put back."""
        sheet = self.job.sheet
        made = sheet.state.altered if sheet is not None else ()
        found = [a for a in made if swaps.find(a.event.change) is not None]
        return found[-1] if found else None

    @property
    def _standing(self) -> Altered | None:
        last = self._last
        return last if last is not None and last.restored is None else None

    def _offer(self) -> None:
        """The checks that the chosen exchange may be judged by; the fitting ones are chosen."""
        sheet, swap = self.job.sheet, self._chosen
        self.swap.setToolTip(self.swap.currentText())
        if sheet is None or swap is None or self._standing is not None:
            return
        state = sheet.state
        pumps = [p.number for p in state.sheet.pump][:2]
        fitting = swaps.sides(state, swap)
        for n, side in enumerate(self.sides):
            checks = swaps.candidates(state, swap, pumps[n]) if n < len(pumps) else ()
            side.clear()
            for check in checks:
                side.addItem(check.title, check.key)
            if n < len(fitting):
                side.setCurrentIndex(max(0, side.findData(fitting[n].key)))

    @property
    def _chosen(self) -> Swap | None:
        return swaps.find(str(self.swap.currentData()))

    def _exchange(self) -> None:
        sheet, swap = self.job.sheet, self._chosen
        if sheet is None or swap is None:
            return
        note = self.note.text().strip()
        does = Saying("{what} ({note})", what=swap.title, note=note) if note else swap.title
        keys = tuple(dict.fromkeys(str(s.currentData()) for s in self.sides if s.count()))
        done = self.job.do(
            "change made", change=swap.key, what=ChangeKind.SWAPPED, does=does,
            undo=UNDO, read_again=keys,
        )  # fmt: skip
        if done:
            self.note.clear()
            for line_, key in zip(self.values, keys, strict=False):
                latest = sheet.state.latest(key)
                if latest is not None:
                    unit = shown_unit(sheet.state.check(key), self.job.units.shown.pressure)
                    line_.setText(_plain(latest.value, unit))
            self.values[2].setFocus()

    def _restore(self) -> None:
        standing = self._standing
        if standing is not None:
            self.job.do("change restored", change=standing.event.change)

    def _judge(self) -> None:
        sheet, last = self.job.sheet, self._last
        if sheet is None or last is None:
            return
        unit, dimension = self.unit.text(), _sides(sheet.state, last)[0].dimension
        try:
            one, two, three, four = (
                reading(*_parts(each.text()), dimension, unit) for each in self.values
            )
        except UnitError as fault:
            self.job.refused.emit(told(fault))
            return
        found, key = swaps.judge((one, two), (three, four)), last.event.change
        fields = {"change": key, "swap": key, "outcome": found.outcome, "why": found.why}
        if self.job.do("swap judged", **fields):
            for each in self.values:
                each.clear()

    def _lay_out(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(heading(tr("Exchange test")))
        column.addWidget(self.told)
        column.addWidget(self.swap)
        column.addWidget(self.note)
        buttons = QHBoxLayout()
        buttons.addWidget(self.swap_button)
        buttons.addWidget(self.restore_button)
        grid = QGridLayout()
        for n, side in enumerate(self.sides):
            grid.addWidget(side, 0, n)
        grid.addLayout(buttons, 1, 0, 1, 2)
        for n, each in enumerate(self.values):
            grid.addWidget(each, 2 + n // 2, n % 2)
        grid.addWidget(self.unit, 4, 0)
        grid.addWidget(self.judge_button, 4, 1)
        column.addLayout(grid)


UNDO = "exchange them back"


def _sides(state: JobState, made: Altered) -> tuple[Check, ...]:
    """The checks that an exchange is judged by."""
    swap = swaps.find(made.event.change)
    found = tuple(state.check(key) for key in made.event.read_again)
    return found or (swaps.sides(state, swap) if swap else ()) or state.sheet.check[:1]


def _is_due(state: JobState, made: Altered) -> bool:
    """Whether an exchange was not judged yet."""
    key = made.event.change
    times = sum(a.event.change == key for a in state.altered)
    return sum(j.change == key for j in state.swaps) < times


def _lines(state: JobState, board: Board, last: Altered | None) -> list[str]:
    """What still stands, else what is proposed; then what was judged."""
    lines: list[str] = list(swaps.nag(state))
    if last is not None and last.restored is None:
        titles = ", ".join(check.title for check in _sides(state, last))
        lines.append(tr("Read both sides now; once it is put back, read again: {checks}.",
                        checks=titles))  # fmt: skip
    elif board.swap is not None:
        lines.append(
            tr(
                "{what}: tells “{one}” from “{other}”.",
                what=board.swap.title, one=board.swap.separates[0], other=board.swap.separates[1],
            )
        )  # fmt: skip
        if board.swap.opens:
            lines.append(tr("A line is opened for it: release the pressure first."))
    else:
        lines.append(tr("No exchange would tell two of these causes apart."))
    for judged in state.swaps:
        swap = swaps.find(judged.swap)
        means = {SwapOutcome.FOLLOWED: "followed", SwapOutcome.STAYED: "stayed"}
        meaning = getattr(swap, means[judged.outcome]) if judged.outcome in means else ""
        title = said(swap.title if swap else judged.swap)
        why, meaning = said(judged.why), said(meaning)
        lines.append(f"{title}: {_outcome(judged.outcome)} ({why}). {meaning}")
    return lines


def _parts(text: str) -> tuple[str, str]:
    """The reading and its ±, where one is written behind it."""
    value, _, spread = text.partition("±")
    return value.strip(), spread.strip()


def _plain(value: Value, unit: str) -> str:
    """A value as it is typed: without words, where its uncertainty is not known."""
    shown = said(number(value, unit)).partition("(")[0].strip()
    return shown.removesuffix(unit).strip()


def _outcome(outcome: SwapOutcome) -> str:
    return {
        SwapOutcome.FOLLOWED: tr("followed"),
        SwapOutcome.STAYED: tr("stayed"),
        SwapOutcome.CANNOT_TELL: tr("cannot tell"),
    }[outcome]
