"""A text file before it is read: its first rows, what was found in it, and what it must be asked.

Every answer gives another look at the file, off the window's thread; nothing is read until the
user says so, and what stands open in Review stays open until then.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QPlainTextEdit,
    QScrollArea,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from gaugebench.desk.buttons import button
from gaugebench.desk.notice import Notice
from gaugebench.desk.review.asking import Asking
from gaugebench.desk.review.columnstable import ColumnsTable
from gaugebench.desk.review.facts import Facts
from gaugebench.desk.review.reading import Look, answered, look, with_reference
from gaugebench.desk.review.recipes import Recipes
from gaugebench.desk.words import told, tr
from gaugebench.desk.work import Workers
from gaugebench.errors import GaugebenchError
from gaugebench.store.importing.recipe import Recipe, load_recipe, save_recipe

LONG_BYTES = 400_000_000
"""A longer text is only turned into a trace file, which is then opened without being read whole."""


class ImportPane(QWidget):
    """Shown in Review in place of the trace."""

    read_asked = Signal(Path, object)
    """Read the file with this `Recipe`."""
    file_asked = Signal(Path, Path, object)
    """Turn the file into a trace file of this name, with this `Recipe`."""
    left = Signal()
    """The user wants none of it."""
    shown = Signal()
    """There is something to look at, or to be asked."""

    def __init__(self, workers: Workers, notice: Notice, recipes: Recipes) -> None:
        super().__init__()
        self.workers, self.notice, self.recipes = workers, notice, recipes
        self.seen: Look | None = None
        self._wanted = 0
        self.title = QLabel()
        self.title.setProperty("heading", True)  # noqa: FBT003 - Qt takes it so
        self.title.setWordWrap(True)
        self.state = QLabel()
        self.state.setWordWrap(True)
        self.asking = Asking()
        self.facts = Facts()
        self.table = ColumnsTable()
        self.raw = QPlainTextEdit()
        self.raw.setAccessibleName(tr("First lines of the file, as written"))
        self.raw.setReadOnly(True)
        self.raw.setLineWrapMode(QPlainTextEdit.LineWrapMode.NoWrap)
        self.raw.setTabChangesFocus(True)
        self.read_button = button(tr("Read it so"), tr("Read the file as shown"))
        self.file_button = button(
            tr("Make a trace file…"), tr("Turn the file into a trace file of any length")
        )
        self.use_button = button(tr("Use a recipe…"), tr("Read as a saved recipe says"))
        self.save_button = button(
            tr("Save the recipe…"), tr("Keep how this file is read for the next of its logger")
        )
        self.leave_button = button(tr("Not now"), tr("Leave the file unread"))
        for each in (self.read_button, self.file_button, self.save_button):
            each.setEnabled(False)
        self._lay_out()
        self._connect()

    def show_file(self, path: Path, recipe: Recipe | None = None, *, always: bool = False) -> None:
        """Look at a file; as the last one alike was read, unless a recipe is given.

        One that says everything itself is read at once, unless it is `always` to be shown.
        """

        def first(seen: Look) -> None:
            kept = self.recipes.find(seen) if recipe is None else None
            plain = kept is None and recipe is None and seen.size <= LONG_BYTES
            if plain and seen.is_decided and not always:
                self.read_asked.emit(seen.path, seen.said)
            elif kept is None:
                self._show(seen)
            else:
                self._look(path, kept, lambda again: self._show_remembered(again, seen))

        self._look(path, recipe or Recipe(), first)

    def say(self, field: str, value: Any, columns: Sequence[str] = ()) -> None:
        """Answer a question, or set a fact otherwise."""
        if self.seen is None:
            return
        try:
            recipe = self.seen.said
            for column in columns or ("",):
                recipe = answered(recipe, field, value, column)
        except GaugebenchError as fault:
            self.notice.say(told(fault))
        else:
            self._look(self.seen.path, recipe)

    def _look(self, path: Path, recipe: Recipe, then: Callable[[Look], None] | None = None) -> None:
        self._wanted += 1
        wanted = self._wanted
        self.notice.clear()
        self.state.setText(tr("Looking at {name} …", name=path.name))
        self.read_button.setEnabled(False)
        self.file_button.setEnabled(False)

        def done(seen: Look) -> None:
            if wanted == self._wanted:  # another may have been asked for since
                (then or self._show)(seen)

        def failed(sentence: str) -> None:
            if wanted != self._wanted:
                return
            if self.seen is not None and self.seen.path == path:
                self._show(self.seen)
            else:
                self.left.emit()
            self.notice.say(sentence)

        self.workers.run(lambda: look(path, recipe), done, failed)

    def _show_remembered(self, seen: Look, plain: Look) -> None:
        if seen.trouble:
            self._show(plain)
            return
        self._show(seen)
        if seen.is_ready:
            self.state.setText(
                tr("Read as the last file with these headings was; change what differs.")
            )

    def _show(self, seen: Look) -> None:
        self.seen = seen
        self.shown.emit()
        self.title.setText(tr("How is {name} to be read?", name=seen.path.name))
        self.asking.show_look(seen)
        self.facts.show_look(seen)
        self.table.show_look(seen)
        self.raw.setPlainText("\n".join(seen.lines))
        self.table.setVisible(bool(seen.columns))
        if seen.trouble:
            self.state.setText(seen.trouble)
        elif seen.questions:
            self.state.setText(tr("Please answer first: {count} open.", count=len(seen.questions)))
        else:
            self.state.setText(tr("This is how it will be read; change what is wrong."))
            if not seen.has_main:
                self.state.setText(
                    tr("Figures need a main pressure: say in the row “Role” which column is one.")
                )
        self.read_button.setEnabled(seen.is_ready and seen.size <= LONG_BYTES)
        self.file_button.setEnabled(seen.is_ready)
        self.save_button.setEnabled(seen.is_ready)
        if seen.size > LONG_BYTES and seen.is_ready:
            self.state.setText(
                tr("The file is long: make a trace file of it, which opens without being read.")
            )
        ready = self.read_button if self.read_button.isEnabled() else self.file_button
        answer = self.asking.first
        if ready.isEnabled():
            ready.setFocus()
        elif answer is not None:
            answer.setFocus()

    def _read(self) -> None:
        if self.seen is not None:
            self.recipes.keep(self.seen)
            self.read_asked.emit(self.seen.path, self.seen.said)

    def _make_file(self) -> None:
        seen = self.seen
        if seen is None:
            return
        beside = seen.path.with_name(seen.path.name.split(".")[0] + ".h5")
        chosen, _ = QFileDialog.getSaveFileName(
            self, tr("Make a trace file"), str(beside), "HDF5 (*.h5)"
        )
        if chosen:
            target = Path(chosen).with_suffix(".h5")
            self.recipes.keep(seen)
            self.file_asked.emit(seen.path, target, seen.said)

    def _use(self) -> None:
        chosen, _ = QFileDialog.getOpenFileName(
            self, tr("Use a recipe"), str(Path.home()), tr("Recipes") + " (*.json *.toml)"
        )
        if chosen and self.seen is not None:
            try:
                self._look(self.seen.path, load_recipe(Path(chosen)))
            except GaugebenchError as fault:
                self.notice.say(told(fault))

    def _save(self) -> None:
        if self.seen is None:
            return
        chosen, _ = QFileDialog.getSaveFileName(
            self, tr("Save the recipe"), str(self.seen.path.with_suffix(".recipe.json")), "*.json"
        )
        if not chosen:
            return
        try:
            save_recipe(self.seen.facts, Path(chosen))
        except GaugebenchError as fault:
            self.notice.say(told(fault))

    def _refer(self, letter: str) -> None:
        if self.seen is not None:
            self._look(self.seen.path, with_reference(self.seen, letter))

    def _connect(self) -> None:
        self.asking.answered.connect(self.say)
        self.asking.referred.connect(self._refer)
        self.facts.said.connect(self.say)
        self.table.set_column.connect(lambda field, value, name: self.say(field, value, (name,)))
        self.read_button.clicked.connect(self._read)
        self.file_button.clicked.connect(self._make_file)
        self.use_button.clicked.connect(self._use)
        self.save_button.clicked.connect(self._save)
        self.leave_button.clicked.connect(self.left)

    def _lay_out(self) -> None:
        left = QScrollArea()
        left.setWidgetResizable(True)
        left.setWidget(self.facts)
        right = QSplitter()
        right.setOrientation(right.orientation().Vertical)
        right.addWidget(self.table)
        right.addWidget(self.raw)
        right.setStretchFactor(0, 1)
        right.setSizes([420, 160])
        split = QSplitter()
        split.addWidget(left)
        split.addWidget(right)
        split.setStretchFactor(1, 1)
        split.setSizes([430, 1150])
        row = QHBoxLayout()
        for each in (self.read_button, self.file_button):
            row.addWidget(each)
        row.addStretch(1)
        for each in (self.use_button, self.save_button, self.leave_button):
            row.addWidget(each)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.title)
        column.addWidget(self.state)
        column.addWidget(self.asking)
        column.addWidget(split, 1)
        column.addLayout(row)
