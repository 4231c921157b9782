"""Opens whatever is asked for: a trace file at once, a text file after a look at it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from gaugebench.desk.notice import Notice
from gaugebench.desk.review.importpane import ImportPane
from gaugebench.desk.review.opened import Opened, load, prepare
from gaugebench.desk.review.progress import ProgressStrip
from gaugebench.desk.review.recipes import Recipes
from gaugebench.desk.words import tr
from gaugebench.desk.work import Workers
from gaugebench.store.importing.recipe import Recipe
from gaugebench.store.opening import is_trace_file


class Opener(QObject):
    """What stood open before stays until another trace is ready."""

    ready = Signal(object)
    """A trace is open: the `Opened`."""
    began = Signal(str)
    """Something is being opened; what, in words."""
    ended = Signal()
    """Nothing is being opened any more, and nothing came of it."""
    looking = Signal(bool)
    """Whether a text file is being looked at."""

    def __init__(
        self, workers: Workers, notice: Notice, strip: ProgressStrip, recipes: Recipes
    ) -> None:
        super().__init__()
        self.workers, self.notice, self.strip = workers, notice, strip
        self.pane = ImportPane(workers, notice, recipes)
        self._wanted = 0
        self.pane.read_asked.connect(self._read)
        self.pane.file_asked.connect(self._make_file)
        self.pane.left.connect(self._leave)
        self.pane.shown.connect(lambda: self.looking.emit(True))  # noqa: FBT003 - Qt takes it so

    def open(
        self, path: Path, roles: Mapping[str, str] | None = None, *, look_first: bool = False
    ) -> None:
        """Open a trace file off this thread, or look at a text file.

        A text whose headings say everything, as an export's do, is read without being shown
        first, unless `look_first`.
        """
        self.notice.clear()
        if not is_trace_file(path) and path.is_file():
            self._wanted += 1
            self.began.emit(tr("Looking at {name} …", name=path.name))
            said = Recipe(roles=dict(roles)) if roles else None
            self.pane.show_file(path, said, always=look_first)
            return
        self.looking.emit(False)  # noqa: FBT003
        self._run(tr("Opening {name} …", name=path.name), lambda: load(path, roles))

    def _read(self, path: Path, recipe: Recipe) -> None:
        words = tr("Reading {name} …", name=path.name)
        tell = self.strip.begin(words)

        def job() -> Opened:
            from gaugebench.store.importing.importer import import_trace  # brings a CSV engine

            return prepare(import_trace(path, recipe, tell), path)

        self._run(words, job)

    def _make_file(self, path: Path, target: Path, recipe: Recipe) -> None:
        words = tr("Reading {name} …", name=path.name)
        tell = self.strip.begin(words)

        def job() -> Opened:
            from gaugebench.store.importing.importer import import_to_file

            return load(import_to_file(path, target, recipe, tell))

        self._run(words, job)

    def _run(self, words: str, job: Callable[[], Opened]) -> None:
        self._wanted += 1
        wanted = self._wanted
        self.began.emit(words)

        def done(opened: Opened) -> None:
            self.strip.end()
            if wanted == self._wanted:  # another may have been asked for since
                self.looking.emit(False)  # noqa: FBT003
                self.ready.emit(opened)

        def failed(sentence: str) -> None:
            self.strip.end()
            if wanted == self._wanted:
                if not self.strip.is_stopped:
                    self.notice.say(sentence)
                self.ended.emit()

        self.workers.run(job, done, failed)

    def _leave(self) -> None:
        self._wanted += 1
        self.strip.stop()
        self.strip.end()
        self.looking.emit(False)  # noqa: FBT003
        self.ended.emit()
