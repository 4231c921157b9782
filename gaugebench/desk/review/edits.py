"""Marks edited so that every step can be undone and done again."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtGui import QUndoCommand, QUndoStack

from gaugebench.desk.review.markbook import Marks


class _SetMarks(QUndoCommand):
    """One step: the marks before and after."""

    def __init__(
        self, text: str, before: Marks, after: Marks, show: Callable[[Marks], None]
    ) -> None:
        super().__init__(text)
        self.before, self.after, self.show = before, after, show

    def redo(self) -> None:
        """Do it, or do it again."""
        self.show(self.after)

    def undo(self) -> None:
        """Undo it."""
        self.show(self.before)


class MarkEdits:
    """The marks of the open trace and what was done to them."""

    def __init__(self, show: Callable[[Marks], None]) -> None:
        self._show = show
        self.stack = QUndoStack()
        self.marks: Marks = ()

    def show_with(self, show: Callable[[Marks], None]) -> None:
        """Let another show the marks from now on; every step can still be undone."""
        self._show = show
        show(self.marks)

    def open(self, marks: Marks) -> None:
        """Another trace, or figures taken anew: nothing to undo."""
        self.stack.clear()
        self._set(marks)

    def do(self, text: str, after: Marks) -> None:
        """One step; `text` says what, for the menu."""
        if after != self.marks:
            self.stack.push(_SetMarks(text, self.marks, after, self._set))

    def _set(self, marks: Marks) -> None:
        self.marks = marks
        self._show(marks)
