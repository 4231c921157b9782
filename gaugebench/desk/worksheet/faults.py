"""Where the fault lies: causes with what speaks for and against them, and the swap that tells."""

from __future__ import annotations

from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout

from gaugebench.desk.buttons import button
from gaugebench.desk.words import said, told, tr
from gaugebench.desk.worksheet.entries import reading
from gaugebench.desk.worksheet.jobdesk import JobDesk
from gaugebench.desk.worksheet.parts import Grid, Pane, Scrolled, bulleted, heading, line, words
from gaugebench.errors import UnitError
from gaugebench.model.job import SwapOutcome
from gaugebench.model.terms import ChangeKind
from gaugebench.procedure import swaps
from gaugebench.procedure.limiting import Row, Standing
from gaugebench.procedure.view import Board
from gaugebench.quantity import Dimension


class FaultsPane(Pane):
    """The table as the rules give it; nothing is weighed here."""

    def __init__(self, job: JobDesk) -> None:
        super().__init__(job)
        self.causes: tuple[Row, ...] = ()
        heads = (tr("Cause"), tr("Standing"), tr("Next check"))
        self.table = Grid(tr("Causes"), heads, (0, 2))
        self.evidence = words()
        self.pumps = words()
        self.swap = words()
        self.swap_button = button(tr("Exchanged now"), tr("The proposed exchange was made"))
        self.restore_button = button(tr("Put back"), tr("What was exchanged was put back"))
        self.values = tuple(
            line(name, name)
            for name in (
                tr("Side 1 before ± U"), tr("Side 2 before ± U"),
                tr("Side 1 after ± U"), tr("Side 2 after ± U"),
            )
        )  # fmt: skip
        self.unit = QLabel()
        self.judge_button = button(
            tr("Followed or stayed?"), tr("Judge the exchange by the four readings")
        )
        self._lay_out()
        self.table.currentCellChanged.connect(lambda *_: self._show_chosen())
        self.swap_button.clicked.connect(self._exchange)
        self.restore_button.clicked.connect(self._restore)
        self.judge_button.clicked.connect(self._judge)

    def show_board(self, board: Board | None) -> None:
        """Show the causes and the exchange."""
        self.setEnabled(board is not None)
        self.causes = board.causes if board else ()
        self.table.show_rows([(c.title, _standing(c.standing), c.next_check) for c in self.causes])
        self.pumps.setText(bulleted([p.text for p in board.pumps]) if board else "")
        exchanged, proposed = self._exchanged, board.swap if board else None
        self.swap_button.setEnabled(proposed is not None and exchanged is None)
        self.restore_button.setEnabled(exchanged is not None)
        found = swaps.find(exchanged) if exchanged else None
        for part in (*self.values, self.judge_button):
            part.setEnabled(exchanged is not None)
        compares_time = found is not None and found.compare == "time"
        self.unit.setText("s" if compares_time else self.job.units.shown.pressure)
        self.swap.setText(self._swap_text(board))
        self._show_chosen()

    @property
    def _exchanged(self) -> str | None:
        """The key of the exchange that stands."""
        if self.job.sheet is None:
            return None
        made = [a.event for a in self.job.sheet.state.open_changes]
        return next((e.change for e in made if e.what is ChangeKind.SWAPPED), None)

    def _swap_text(self, board: Board | None) -> str:
        sheet = self.job.sheet
        if board is None or sheet is None:
            return ""
        parts = list(swaps.nag(sheet.state))
        if not parts and board.swap is not None:
            parts.append(
                tr(
                    "{what}: tells “{one}” from “{other}”.",
                    what=said(board.swap.title),
                    one=said(board.swap.separates[0]),
                    other=said(board.swap.separates[1]),
                )
            )
        elif not parts:
            parts.append(tr("No exchange would tell two of these causes apart."))
        for judged in sheet.state.swaps:
            swap = swaps.find(judged.swap)
            means = {SwapOutcome.FOLLOWED: "followed", SwapOutcome.STAYED: "stayed"}
            meaning = getattr(swap, means[judged.outcome]) if judged.outcome in means else ""
            title = said(swap.title if swap else judged.swap)
            why, meaning = said(judged.why), said(meaning)
            parts.append(f"{title}: {_outcome(judged.outcome)} ({why}). {meaning}")
        return bulleted(parts)

    def _show_chosen(self) -> None:
        row = self.table.currentRow()
        if not 0 <= row < len(self.causes):
            self.evidence.setText("")
            return
        cause = self.causes[row]
        groups = (
            (tr("For it"), cause.evidence_for),
            (tr("Against it"), cause.evidence_against),
            (tr("Not known, and would decide"), cause.missing),
        )
        text = "\n\n".join(f"{title}:\n{bulleted(found)}" for title, found in groups)
        if text != self.evidence.text():
            self.evidence.setText(text)

    def _exchange(self) -> None:
        board = self.job.board()
        if board is not None and board.swap is not None:
            self.job.do(
                "change made", change=board.swap.key, what=ChangeKind.SWAPPED,
                does=board.swap.title, undo="exchange them back",
            )  # fmt: skip

    def _restore(self) -> None:
        if self._exchanged is not None:
            self.job.do("change restored", change=self._exchanged)

    def _judge(self) -> None:
        key = self._exchanged
        if key is None:
            return
        unit = self.unit.text()
        dimension = Dimension.TIME if unit == "s" else Dimension.PRESSURE
        try:
            one, two, three, four = (
                reading(*_parts(each.text()), dimension, unit) for each in self.values
            )
        except UnitError as fault:
            self.job.refused.emit(told(fault))
            return
        found = swaps.judge((one, two), (three, four))
        fields = {"change": key, "swap": key, "outcome": found.outcome, "why": found.why}
        if self.job.do("swap judged", **fields):
            for each in self.values:
                each.clear()

    def _lay_out(self) -> None:
        left = QVBoxLayout()
        left.addWidget(heading(tr("Where the fault lies")))
        left.addWidget(self.table, 2)
        left.addWidget(Scrolled(self.evidence, tr("Evidence")), 1)
        right = QVBoxLayout()
        right.addWidget(heading(tr("Pumps")))
        right.addWidget(self.pumps)
        right.addWidget(heading(tr("Exchange test")))
        right.addWidget(self.swap)
        buttons = QHBoxLayout()
        buttons.addWidget(self.swap_button)
        buttons.addWidget(self.restore_button)
        right.addLayout(buttons)
        for pair in (self.values[:2], self.values[2:]):
            row = QHBoxLayout()
            for each in pair:
                row.addWidget(each)
            right.addLayout(row)
        right.addWidget(self.unit)
        right.addWidget(self.judge_button)
        right.addStretch(1)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addLayout(left, 3)
        row.addLayout(right, 2)


def _parts(text: str) -> tuple[str, str]:
    """The reading and its ±, where one is written behind it."""
    value, _, spread = text.partition("±")
    return value.strip(), spread.strip()


def _standing(standing: Standing) -> str:
    return {
        Standing.SHOWN: tr("SHOWN"),
        Standing.COVERED: tr("may come of a row above"),
        Standing.CANNOT_TELL: tr("cannot tell"),
        Standing.OPEN: tr("open"),
        Standing.NOTHING: tr("nothing out of its band"),
        Standing.RULED_OUT: tr("ruled out"),
    }[standing]


def _outcome(outcome: SwapOutcome) -> str:
    return {
        SwapOutcome.FOLLOWED: tr("followed"),
        SwapOutcome.STAYED: tr("stayed"),
        SwapOutcome.CANNOT_TELL: tr("cannot tell"),
    }[outcome]
