"""The Live place: readouts, picture, what happened, and the record."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QTimer, Signal
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QLabel, QSplitter, QVBoxLayout, QWidget

from gaugebench.desk.live.bar import LiveBar
from gaugebench.desk.live.feed import Feed
from gaugebench.desk.live.happenings import Happenings
from gaugebench.desk.live.large import LargeWindow
from gaugebench.desk.live.picture import LivePicture
from gaugebench.desk.live.reader import Reader
from gaugebench.desk.live.readings import Readings
from gaugebench.desk.live.row import ReadoutRow
from gaugebench.desk.notice import Notice
from gaugebench.desk.theme import Theme
from gaugebench.desk.units import Units
from gaugebench.desk.words import tr
from gaugebench.desk.work import Workers
from gaugebench.errors import GaugebenchError
from gaugebench.model.trace import Particulars

FRAME_MS = 40
DIGITS_EVERY = 5
"""Digits change every so many frames: five times a second, so that they can be read."""


class LivePlace(QWidget):
    """What the kit says now."""

    recorded = Signal(Path)
    """A record was sealed; where it is."""

    def __init__(self, units: Units, theme: Theme, workers: Workers) -> None:
        super().__init__()
        self.units, self.workers = units, workers
        self.feed: Feed | None = None
        self.particulars = Particulars()
        self.is_sealing = False
        self._reader: Reader | None = None
        self._readings = Readings([])
        self._frame = 0
        self.empty = QLabel(
            tr("No kit is open. Choose or add one under Hook-up, or open a kit file (Ctrl+K).")
        )
        self.empty.setProperty("heading", True)  # noqa: FBT003 - Qt takes it so
        self.empty.setWordWrap(True)
        self.notice = Notice()
        self.row = ReadoutRow(theme)
        self.picture = LivePicture(units, theme)
        self.picture.setAccessibleName(tr("Live picture of the pressures"))
        self.happenings = Happenings()
        self.bar = LiveBar()
        self.large = LargeWindow(theme)
        self._timer = QTimer(self)
        self._timer.setInterval(FRAME_MS)
        self._timer.timeout.connect(self.tick)
        self._lay_out()
        self._connect()
        self.detach()

    def attach(self, feed: Feed) -> None:
        """Show a feed that is open."""
        self.feed = feed
        self._reader = Reader(feed, look_back_s=2.0)
        self._readings = Readings([list(stream.channels) for stream in feed.streams])
        self.row.show_readings(self._readings)
        self.large.show_readings(self._readings.readings)
        self.picture.attach(feed)
        self._show_parts(has_feed=True)
        self.renew_state()
        if self.isVisible():
            self._timer.start()

    def detach(self) -> None:
        """Let go of the feed."""
        self._timer.stop()
        self.feed = self._reader = None
        self._readings = Readings([])
        self.row.show_readings(self._readings)
        self.picture.detach()
        self.happenings.show_marks((), self.units.shown)
        self._show_parts(has_feed=False)
        self.renew_state()

    def tick(self) -> None:
        """One frame."""
        if self.feed is None or self._reader is None:
            return
        fresh = self._reader.new()
        self._readings.take(fresh, self.feed.now_s())
        self.picture.take(fresh)
        self.picture.draw([r.value for r in self._readings.readings])
        if self._frame % DIGITS_EVERY == 0:
            self.large.renew(self.units.shown)
            self.row.renew(self.units.shown, speak=self._frame % (5 * DIGITS_EVERY) == 0)
            self.happenings.show_marks(self.feed.marks(), self.units.shown)
            self.renew_state()
        self._frame += 1

    def renew_state(self) -> None:
        """Buttons and words for the state of the record."""
        state = self.feed.record_state if self.feed is not None else None
        self.bar.show_state(
            is_recording=state is not None,
            is_sealing=self.is_sealing,
            has_feed=self.feed is not None,
        )
        if state is not None and state.trouble:
            self.notice.say(state.trouble)

    def start_record(self) -> None:
        """Begin a record; the seconds before are part of it."""
        if self.feed is None or self.feed.record_state is not None or self.is_sealing:
            return
        feed, particulars = self.feed, self.particulars
        self.notice.clear()
        self.workers.run(
            lambda: feed.start_recording(particulars), lambda _: self.renew_state(), self.notice.say
        )

    def stop_record(self) -> None:
        """End and seal the record off this thread; then it is handed to Review."""
        if self.feed is None or self.feed.record_state is None or self.is_sealing:
            return
        self.is_sealing = True
        self.workers.run(self.feed.stop_recording, self._sealed, self._not_sealed)
        self.renew_state()

    def add_mark(self, note: str) -> None:
        """Set a mark by hand."""
        if self.feed is None:
            return
        try:
            self.feed.add_mark(note)
        except GaugebenchError as fault:
            self.notice.say(str(fault))

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802 - Qt's name
        """Frames are drawn only while someone can see them."""
        super().showEvent(event)
        if self.feed is not None:
            self._timer.start()

    def hideEvent(self, event: QHideEvent) -> None:  # noqa: N802 - Qt's name
        """No frames behind another place; recording goes on."""
        super().hideEvent(event)
        self._timer.stop()

    def _sealed(self, path: Path) -> None:
        self.is_sealing = False
        self.renew_state()
        self.recorded.emit(path)

    def _not_sealed(self, sentence: str) -> None:
        self.is_sealing = False
        self.notice.say(sentence)
        self.renew_state()

    def _hold(self, is_held: bool) -> None:
        self.picture.is_held = is_held
        self.picture.set_moving(is_held)

    def _reset(self) -> None:
        self._readings.reset_extremes()
        self.row.renew(self.units.shown, speak=False)

    def _connect(self) -> None:
        self.bar.record.connect(self.start_record)
        self.bar.stop.connect(self.stop_record)
        self.bar.mark.connect(self.add_mark)
        self.bar.hold.connect(self._hold)
        self.bar.length.connect(self.picture.set_length)
        self.bar.reset.connect(self._reset)
        self.units.changed.connect(self._show_units)

    def _show_units(self) -> None:
        self.row.renew(self.units.shown, speak=True)
        if self.feed is not None:
            self.happenings.show_marks(self.feed.marks(), self.units.shown)

    def _show_parts(self, *, has_feed: bool) -> None:
        self.empty.setVisible(not has_feed)
        self.row.setVisible(has_feed)
        self._split.setVisible(has_feed)

    def _lay_out(self) -> None:
        self._split = QSplitter()
        self._split.addWidget(self.picture)
        self._split.addWidget(self.happenings)
        self._split.setStretchFactor(0, 1)
        self._split.setSizes([1200, 300])
        column = QVBoxLayout(self)
        column.addWidget(self.notice)
        column.addWidget(self.empty, 1)
        column.addWidget(self.row)
        column.addWidget(self._split, 1)
        column.addWidget(self.bar)
