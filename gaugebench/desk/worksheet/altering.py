"""What is altered for a check: entered, put back, and read again before the job can be closed."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QVBoxLayout,
    QWidget,
)

from gaugebench.desk.buttons import button
from gaugebench.desk.scale import touch
from gaugebench.desk.words import said, tr
from gaugebench.desk.worksheet.formparts import rows
from gaugebench.desk.worksheet.jobdesk import JobDesk
from gaugebench.desk.worksheet.parts import Grid, Pane, Scrolled, bulleted, heading, line, words
from gaugebench.model.terms import ChangeKind
from gaugebench.procedure import altering, closing
from gaugebench.procedure.altering import Alteration, Standing
from gaugebench.procedure.view import Board


class AlteringPane(Pane):
    """The sheet's alterations stand ready in the table; the form takes any other."""

    def __init__(self, job: JobDesk) -> None:
        super().__init__(job)
        self.rows: tuple[Alteration, ...] = ()
        self.table = Grid(
            tr("Alterations"),
            (tr("What is altered"), tr("How it is undone"), tr("State")),
            (0, 1, 2),
        )
        self.alter_button = button(tr("Altered now"), tr("The chosen alteration was made"))
        self.restore_button = button(tr("Put back"), tr("The chosen alteration was put back"))
        self.blocks = words()
        self.kind = QComboBox()
        self.kind.setAccessibleName(tr("Kind of alteration"))
        for kind, (title, _, _) in _kinds().items():
            self.kind.addItem(title, kind)
        self.does = line(tr("What is altered"))
        self.undo = line(tr("How it is undone"))
        self.checks = QListWidget()
        self.checks.setAccessibleName(tr("Checks that are read again once it is put back"))
        self.checks.setMinimumHeight(4 * touch())
        self.enter_button = button(
            tr("Altered now: keep it in the list"), tr("This was altered; it must be put back")
        )
        self._keys: list[str] = []
        self._lay_out()
        self.table.currentCellChanged.connect(lambda *_: self._enable())
        self.alter_button.clicked.connect(self._alter)
        self.restore_button.clicked.connect(self._restore)
        self.kind.currentIndexChanged.connect(lambda _: self._suggest())
        self.checks.itemActivated.connect(_toggle)
        self.enter_button.clicked.connect(self._enter)

    @property
    def open_count(self) -> int:
        """How many are not put back, or not read again."""
        return sum(r.standing in {Standing.ALTERED, Standing.TO_READ} for r in self.rows)

    def show_board(self, board: Board | None) -> None:
        """Show what is altered, and what it keeps from being closed."""
        sheet = self.job.sheet
        self.setEnabled(board is not None)
        if board is None or sheet is None:
            self.rows, self._keys = (), []
            self.table.show_rows([])
            self.blocks.setText("")
            self.checks.clear()
            return
        state = sheet.state
        self.rows = altering.alterations(state)
        self.table.show_rows([(r.event.does, r.event.undo, _standing(r)) for r in self.rows])
        blocks = closing.altered_blocks(state)
        self.blocks.setText(bulleted(blocks) if blocks else tr("Nothing is altered."))
        if self._keys != [c.key for c in state.sheet.check]:
            self._keys = [c.key for c in state.sheet.check]
            self.checks.clear()
            for check in state.sheet.check:
                item = QListWidgetItem(check.title)
                item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
                item.setCheckState(Qt.CheckState.Unchecked)
                self.checks.addItem(item)
            self._suggest()
        self._enable()

    def tick(self, key: str, *, on: bool) -> None:
        """Let a check be read again, or not."""
        item = self.checks.item(self._keys.index(key))
        item.setCheckState(Qt.CheckState.Checked if on else Qt.CheckState.Unchecked)

    def _chosen(self) -> Alteration | None:
        row = self.table.currentRow()
        return self.rows[row] if 0 <= row < len(self.rows) else None

    def _enable(self) -> None:
        chosen = self._chosen()
        is_made = chosen is not None and chosen.standing is Standing.ALTERED
        self.alter_button.setEnabled(chosen is not None and not is_made)
        self.restore_button.setEnabled(is_made)

    def _suggest(self) -> None:
        """The usual words of the kind, and the checks that it commonly moves."""
        kind = ChangeKind(self.kind.currentData())
        _, does, undo = _kinds()[kind]
        for each, text in ((self.does, does), (self.undo, undo)):
            each.setText(text)
            each.setCursorPosition(0)
        if self.job.sheet is not None:
            keys = altering.suggested(self.job.sheet.state.sheet, kind)
            for key in self._keys:
                self.tick(key, on=key in keys)
            if keys:
                self.checks.scrollToItem(
                    self.checks.item(self._keys.index(keys[0])),
                    QListWidget.ScrollHint.PositionAtTop,
                )

    def _alter(self) -> None:
        chosen = self._chosen()
        if chosen is not None:
            self.job.do("change made", **chosen.event.model_dump(exclude={"kind", "at"}))

    def _restore(self) -> None:
        chosen = self._chosen()
        if chosen is not None:
            self.job.do("change restored", change=chosen.event.change)

    def _enter(self) -> None:
        sheet = self.job.sheet
        does, undo = self.does.text().strip(), self.undo.text().strip()
        if sheet is None:
            return
        if not does or not undo:
            self.job.refused.emit(tr("Say what is altered and how it is undone."))
            (self.undo if does else self.does).setFocus()
            return
        kind = ChangeKind(self.kind.currentData())
        items = [self.checks.item(n) for n in range(self.checks.count())]
        ticked = [i.checkState() is Qt.CheckState.Checked for i in items]
        again = tuple(key for key, on in zip(self._keys, ticked, strict=True) if on)
        fields = {"change": altering.free_key(sheet.state, kind), "what": kind, "does": does,
                  "undo": undo, "read_again": again}  # fmt: skip
        if self.job.do("change made", **fields):
            self.table.setCurrentCell(len(self.rows) - 1, 0)

    def _lay_out(self) -> None:
        buttons = QHBoxLayout()
        buttons.addWidget(self.alter_button)
        buttons.addWidget(self.restore_button)
        left = QVBoxLayout()
        left.addWidget(heading(tr("Altered for a check")))
        left.addWidget(self.table, 2)
        left.addLayout(buttons)
        left.addWidget(heading(tr("Before the job can be closed")))
        left.addWidget(Scrolled(self.blocks, tr("Before the job can be closed")), 1)
        form = rows(
            (tr("Kind"), self.kind), (tr("What"), self.does), (tr("Undone by"), self.undo),
        )  # fmt: skip
        side = QWidget()
        right = QVBoxLayout(side)
        right.addWidget(heading(tr("Something that the sheet does not list")))
        right.addLayout(form)
        right.addWidget(heading(tr("Read again once it is put back")))
        right.addWidget(self.checks, 1)
        right.addWidget(self.enter_button)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addLayout(left, 3)
        row.addWidget(side, 2)


def _toggle(item: QListWidgetItem) -> None:
    """Return ticks as a press on the box does."""
    is_on = item.checkState() is Qt.CheckState.Checked
    item.setCheckState(Qt.CheckState.Unchecked if is_on else Qt.CheckState.Checked)


def _kinds() -> dict[ChangeKind, tuple[str, str, str]]:
    """Kinds with their title, and the usual words for what is done and what undoes it."""
    return {
        ChangeKind.RELIEF_RAISED: (
            tr("main relief raised"),
            tr("main relief screwed in, to reach another valve"),
            tr("main relief screwed out again by as much"),
        ),
        ChangeKind.CUT_OFF_RAISED: (
            tr("cut-off raised or disabled"),
            tr("cut-off raised, so that oil goes over the relief"),
            tr("cut-off set back"),
        ),
        ChangeKind.PORT_RELIEF: (
            tr("port relief altered"),
            tr("port relief altered"),
            tr("port relief set back"),
        ),
        ChangeKind.SWAPPED: (
            tr("lines or plugs exchanged"),
            tr("two lines or plugs exchanged"),
            tr("both back to where they were"),
        ),
        ChangeKind.BOOST_OFF: (
            tr("power boost off"),
            tr("power boost switched off"),
            tr("power boost switched on again"),
        ),
    }


def _standing(row: Alteration) -> str:
    match row.standing:
        case Standing.ALTERED:
            return tr("ALTERED: put it back")
        case Standing.TO_READ:
            return tr("put back; to read again: {checks}", checks=", ".join(map(said, row.still)))
        case Standing.DONE:
            return tr("put back and read again")
        case _:
            return tr("in service")
