"""The strip at the foot of the window: sources, record, disk. Always in sight."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QTimer, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QWidget

from gaugebench.desk.live.feed import Feed
from gaugebench.desk.live.health import record_words, room, source_words
from gaugebench.desk.words import tr
from gaugebench.desk.work import Workers

if TYPE_CHECKING:
    from gaugebench.model.channel import StreamSpec

EVERY_MS = 500
DISK_EVERY = 10


class Ledger(QWidget):
    """Says how sources, record and disk do, in words."""

    room_told = Signal(str)
    """What room there is for records, in words."""

    def __init__(self, workers: Workers, folder: Callable[[], Path]) -> None:
        super().__init__()
        self.workers, self.folder = workers, folder
        self._hours: float | None = None
        self._is_ended = False
        self.feed: Feed | None = None
        self._free: int | None = None
        self._beat = 0
        self.sources = QLabel()
        self.record = QLabel()
        self.disk = QLabel()
        row = QHBoxLayout(self)
        row.setContentsMargins(8, 2, 8, 4)
        row.addWidget(self.sources, 1)
        row.addWidget(self.record)
        row.addSpacing(24)
        row.addWidget(self.disk)
        self._timer = QTimer(self)
        self._timer.setInterval(EVERY_MS)
        self._timer.timeout.connect(self.renew)
        self._timer.start()
        self.renew()

    def attach(self, feed: Feed | None) -> None:
        """Tell of this feed, or of none."""
        self.feed = feed
        self._free = self._hours = None
        self._beat = 0
        self.renew()

    def end(self) -> None:
        """Say nothing any more; the window is closing."""
        self._is_ended = True
        self._timer.stop()

    def renew(self) -> None:
        """Say it anew."""
        if self._is_ended:
            return
        feed = self.feed
        if feed is None:
            self._say(self.sources, tr("No kit open"), is_bad=False)
            self._say(self.record, record_words(None), is_bad=False)
            self._tell_room(self._free, None)
        else:
            self._tell_of(feed)
        if self._beat % DISK_EVERY == 0:
            folder = feed.folder if feed is not None else self.folder()
            streams = feed.streams if feed is not None else ()
            self.workers.run(
                lambda: _room_in(folder, streams), self._keep, self.disk.setText, is_aside=True
            )
        self._beat += 1

    def _tell_of(self, feed: Feed) -> None:
        found = source_words(feed.health())
        self._say(
            self.sources, "   ".join(t for t, _ in found), is_bad=not all(ok for _, ok in found)
        )
        state = feed.record_state
        self._say(
            self.record, record_words(state), is_bad=state is not None and bool(state.trouble)
        )
        if state is not None and state.free_bytes is not None:
            self._tell_room(state.free_bytes, state.hours_left)
        else:
            self._tell_room(self._free, self._hours)

    def _tell_room(self, free: int | None, hours: float | None) -> None:
        words, is_low = room(free, hours)
        is_new = self.disk.text() != words
        self._say(self.disk, words, is_bad=is_low)
        if is_new:
            self.room_told.emit(words)

    def _keep(self, found: tuple[int | None, float | None]) -> None:
        self._free, self._hours = found

    def _say(self, label: QLabel, text: str, *, is_bad: bool) -> None:
        if label.text() != text:
            label.setText(text)
            label.setAccessibleName(text)
        if label.property("trouble") != is_bad:
            label.setProperty("trouble", is_bad)
            label.style().unpolish(label)
            label.style().polish(label)


def _room_in(folder: Path, streams: Sequence[StreamSpec]) -> tuple[int | None, float | None]:
    """Free bytes where records go, and the hours that they last at the rate of these streams."""
    from gaugebench.store.room import hours_of_room

    # The folder itself is made when the first kit is opened.
    there = next((f for f in (folder, *folder.parents) if f.is_dir()), folder)
    try:
        free = shutil.disk_usage(there).free
    except OSError:
        return None, None  # shown as “not known”
    return free, hours_of_room(there, streams) if streams else None
