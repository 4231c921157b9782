"""Records that were never finished: said at the start, in a strip, and finished when asked for."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QProgressBar, QSizePolicy, QWidget

from gaugebench.desk.buttons import button
from gaugebench.desk.scale import touch
from gaugebench.desk.shown import duration
from gaugebench.desk.words import tr
from gaugebench.desk.work import Workers

if TYPE_CHECKING:
    from gaugebench.store.recover import Leftover

MOST_NAMED = 3


class Leftovers(QWidget):
    """Hidden where there is nothing to tell. Nothing is finished without being asked for."""

    open_asked = Signal(Path)
    """Show this trace, which a left-over record became."""

    def __init__(self, workers: Workers) -> None:
        super().__init__()
        self.workers = workers
        self._waiting: list[Leftover] = []
        self._said: list[str] = []
        self._count = 0
        self._is_stopped = False
        self._newest: Path | None = None
        self.text = QLabel()
        self.text.setWordWrap(True)
        self.text.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.progress = QProgressBar()
        self.progress.setAccessibleName(tr("How many records are finished"))
        self.progress.setFixedHeight(touch())
        self.finish_button = button(tr("Finish them"), tr("Make traces of the left-over records"))
        self.stop_button = button(tr("Stop after this one"), tr("Leave the others as they are"))
        self.open_button = button(tr("Open it"), tr("Open the trace that was finished last"))
        self.later_button = button(tr("Later"), tr("Put this away; it is said again at a start"))
        row = QHBoxLayout(self)
        row.setContentsMargins(8, 4, 8, 4)
        row.addWidget(self.text, 1)
        for part in (
            self.progress, self.stop_button, self.open_button, self.finish_button,
            self.later_button,
        ):  # fmt: skip
            row.addWidget(part)
        self.finish_button.clicked.connect(self.finish)
        self.stop_button.clicked.connect(self._stop)
        self.open_button.clicked.connect(self._open)
        self.later_button.clicked.connect(self.hide)
        self.hide()

    def look(self, folder: Path) -> None:
        """Look for left-over records in a folder, off this thread."""
        self.workers.run(_finder(folder), self._found, self._trouble, is_aside=True)

    def finish(self) -> None:
        """Finish one after the other, off this thread; the window stays usable."""
        self._count, self._is_stopped = len(self._waiting), False
        self.progress.setRange(0, self._count)
        self._next()

    def _found(self, found: Sequence[Leftover]) -> None:
        if not found:
            return
        self._waiting = [one for one in found if one.held_by is None and one.trouble is None]
        named = [in_words(one) for one in found[:MOST_NAMED]]
        if len(found) > MOST_NAMED:
            named.append(tr("and {count} more", count=len(found) - MOST_NAMED))
        head = tr("{count} records were never finished:", count=len(found))
        self._show("\n".join([head, *named]))

    def _next(self) -> None:
        done = self._count - len(self._waiting)
        self.progress.setValue(done)
        if not self._waiting or self._is_stopped:
            left = len(self._waiting)
            more = [tr("{count} are left for another time.", count=left)] if left else []
            self._show("\n".join([*self._said, *more]))
            return
        one = self._waiting.pop(0)
        said = tr("Finishing {number} of {count}: {what}", number=done + 1, count=self._count,
                  what=in_words(one))  # fmt: skip
        self._show(said, is_busy=True)
        self.workers.run(_finisher(one), self._finished, self._failed)

    def _finished(self, path: Path) -> None:
        self._newest = path
        self._said.append(tr("{name} is whole again.", name=path.name))
        self._next()

    def _failed(self, sentence: str) -> None:
        self._said.append(sentence)
        self._next()

    def _trouble(self, sentence: str) -> None:
        self._show(sentence)

    def _stop(self) -> None:
        self._is_stopped = True
        self.stop_button.setEnabled(False)

    def _open(self) -> None:
        if self._newest is not None:
            self.open_asked.emit(self._newest)
            self.hide()

    def _show(self, words: str, *, is_busy: bool = False) -> None:
        self.text.setText(words)
        self.text.setAccessibleName(words)
        self.progress.setVisible(is_busy)
        self.stop_button.setVisible(is_busy)
        self.stop_button.setEnabled(not self._is_stopped)
        self.finish_button.setVisible(bool(self._waiting) and not is_busy)
        self.later_button.setVisible(not is_busy)
        self.open_button.setVisible(self._newest is not None and not is_busy)
        self.show()


def in_words(one: Leftover) -> str:
    """One left-over record: machine, when, how long, and what stands in its way."""
    when = f"{one.started:%Y-%m-%d %H:%M}" if one.started else tr("time not known")
    text = tr(
        "{name}: {machine}, {when}, {length}",
        name=one.folder.stem,
        machine=one.machine or tr("machine not named"),
        when=when,
        length=duration(one.seconds),
    )
    if one.trouble is not None:
        return f"{one.folder.stem}: {one.trouble}"
    return tr("{text}, held by {who}", text=text, who=one.held_by) if one.held_by else text


def _finder(folder: Path) -> Callable[[], tuple[Leftover, ...]]:
    def job() -> tuple[Leftover, ...]:
        from gaugebench.store.recover import find

        return find(folder) if folder.is_dir() else ()

    return job


def _finisher(one: Leftover) -> Callable[[], Path]:
    def job() -> Path:
        from gaugebench.session.finish import add_figures
        from gaugebench.store.recover import recover

        path = recover(one)
        add_figures(path)
        return path

    return job
