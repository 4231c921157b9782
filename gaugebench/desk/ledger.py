"""The strip at the foot of the window: sources, record, disk. Always in sight."""

from __future__ import annotations

import shutil
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QHBoxLayout, QLabel, QWidget

from gaugebench.desk.live.feed import Feed
from gaugebench.desk.live.health import record_words, room, source_words
from gaugebench.desk.words import tr
from gaugebench.desk.work import Workers

EVERY_MS = 500
DISK_EVERY = 10


class Ledger(QWidget):
    """Says how sources, record and disk do, in words."""

    def __init__(self, workers: Workers) -> None:
        super().__init__()
        self.workers = workers
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
        self._free = None
        self._beat = 0
        self.renew()

    def renew(self) -> None:
        """Say it anew."""
        feed = self.feed
        if feed is None:
            self._say(self.sources, tr("No kit open"), is_bad=False)
            self._say(self.record, record_words(None), is_bad=False)
            self._say(self.disk, "", is_bad=False)
            return
        found = source_words(feed.health())
        self._say(
            self.sources, "   ".join(t for t, _ in found), is_bad=not all(ok for _, ok in found)
        )
        state = feed.record_state
        self._say(
            self.record, record_words(state), is_bad=state is not None and bool(state.trouble)
        )
        free = (
            state.free_bytes if state is not None and state.free_bytes is not None else self._free
        )
        words, is_low = room(free, state.hours_left if state is not None else None)
        self._say(self.disk, words, is_bad=is_low)
        if self._beat % DISK_EVERY == 0:
            folder = feed.folder
            self.workers.run(lambda: _free_bytes(folder), self._keep_free, self.disk.setText)
        self._beat += 1

    def _keep_free(self, free: int | None) -> None:
        self._free = free

    def _say(self, label: QLabel, text: str, *, is_bad: bool) -> None:
        if label.text() != text:
            label.setText(text)
            label.setAccessibleName(text)
        if label.property("trouble") != is_bad:
            label.setProperty("trouble", is_bad)
            label.style().unpolish(label)
            label.style().polish(label)


def _free_bytes(folder: Path) -> int | None:
    try:
        return shutil.disk_usage(folder).free
    except OSError:
        return None  # shown as “not known”
