"""The Live place: what is to be done, readouts, picture, what happened, and the record."""

from __future__ import annotations

import math
from pathlib import Path

from PySide6.QtCore import QTimer, Signal
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QLabel, QSplitter, QStackedWidget, QVBoxLayout, QWidget

from gaugebench.desk.live.bar import LiveBar
from gaugebench.desk.live.feed import Feed
from gaugebench.desk.live.leader import Leader
from gaugebench.desk.live.picture import LivePicture
from gaugebench.desk.live.reader import Reader
from gaugebench.desk.live.readings import Readings
from gaugebench.desk.live.row import ReadoutRow
from gaugebench.desk.live.side import Side
from gaugebench.desk.live.waiting import Waiting
from gaugebench.desk.notice import Notice
from gaugebench.desk.theme import Theme
from gaugebench.desk.units import Units
from gaugebench.desk.words import told, tr
from gaugebench.desk.work import Workers
from gaugebench.errors import GaugebenchError
from gaugebench.model.job import Phase
from gaugebench.model.trace import Particulars

FRAME_MS = 40
DIGITS_EVERY = 5
"""Digits change every so many frames: five times a second, so that they can be read."""
WORK_EVERY = 25
"""The worksheet is asked once a second; its clock runs on by itself."""


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
        self.waiting: Waiting | None = None
        """A reading that was asked for and has not settled yet."""
        self._reader: Reader | None = None
        self._readings = Readings([])
        self._frame = 0
        self.empty = QLabel(
            tr("No kit is open. Choose or add one under Hook-up, or open a kit file (Ctrl+K).")
        )
        self.empty.setProperty("heading", True)  # noqa: FBT003 - Qt takes it so
        self.empty.setWordWrap(True)
        self.notice = Notice()
        self.leader = Leader(theme)
        self.large = self.leader.window
        self.row = ReadoutRow(theme)
        self.picture = LivePicture(units, theme)
        self.picture.setAccessibleName(tr("Live picture of the pressures"))
        self.middle = QStackedWidget()
        self.side = Side(theme, workers)
        self.happenings = self.side.happenings
        self.bar = LiveBar()
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
        self.leader.begin(self._readings.readings)
        self.side.attach(feed)
        self.picture.attach(feed)
        self._show_parts(has_feed=True)
        self.ask()
        self.renew_state()
        if self.isVisible():
            self._timer.start()

    def detach(self) -> None:
        """Let go of the feed."""
        self._timer.stop()
        self.waiting = None
        self.feed = self._reader = None
        self._readings = Readings([])
        self.row.show_readings(self._readings)
        self.leader.begin([])
        self.side.attach(None)
        self.picture.detach()
        self.happenings.show_marks((), self.units.shown)
        self._show_parts(has_feed=False)
        self.renew_state()

    def take_over(self, old: LivePlace) -> None:
        """Go on as another place stood, on the same feed, without a count or an extreme lost."""
        self.leader.take_over(old.leader)
        for mine, before in zip(self._readings.readings, old._readings.readings, strict=True):
            mine.least, mine.greatest = before.least, before.greatest
        self.bar.take_over(old.bar)
        self.large.setGeometry(old.large.geometry())
        self.large.setVisible(old.large.isVisible())
        old.large.close()

    def tick(self) -> None:
        """One frame."""
        if self.feed is None or self._reader is None:
            return
        fresh = self._reader.new()
        readings, shown = self._readings.readings, self.units.shown
        self._readings.take(fresh, self.feed.now_s())
        self.leader.step(self.feed, readings)
        self.picture.take(fresh)
        if self.middle.currentWidget() is self.picture:
            self.picture.draw([r.value for r in readings])
        if self._frame % WORK_EVERY == 0:
            self.ask()
        if self._frame % DIGITS_EVERY == 0:
            self._look()
            self.leader.show(shown)
            self.row.renew(shown, speak=self._frame % (5 * DIGITS_EVERY) == 0)
            self.side.renew(self.leader.work, shown)
            self.happenings.show_marks(self.feed.marks(), shown)
            self.renew_state()
        self._frame += 1

    def ask(self) -> None:
        """Look at the worksheet anew: which check waits, and in which state the work is."""
        self.leader.ask()
        work = self.leader.work
        role, band = (work.role, work.band) if work is not None else (None, None)
        self.row.aim(role, band)
        roles = [r.channel.role for r in self._readings.readings]
        index = roles.index(role) if role in roles and role is not None else None
        limits = None
        if band is not None:
            low = band.low if band.low is not None else -math.inf
            limits = (low, band.high if band.high is not None else math.inf)
        self.picture.set_limits(index, limits)

    def renew_state(self) -> None:
        """Buttons and words for the state of the record."""
        state = self.feed.record_state if self.feed is not None else None
        work = self.leader.work
        self.bar.show_state(
            is_recording=state is not None,
            is_sealing=self.is_sealing,
            has_feed=self.feed is not None,
            phase=work.phase if work is not None else None,
        )
        self.bar.show_waiting(self.waiting.phase if self.waiting is not None else None)
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
            self.notice.say(told(fault))

    def capture(self, phase: Phase) -> None:
        """Read what stands now for the check that waits, and mark the instant.

        What has not settled is read by itself as soon as it has; asked for again, it is not.
        """
        if self.waiting is not None:
            self._stop_waiting(tr("No longer waiting; nothing was read."))
        else:
            self._read(phase)

    def press_button(self) -> None:
        """The mark button was pressed: mark and capture in the phase that stands."""
        self.leader.ask()
        self.capture(self.leader.phase())

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802 - Qt's name
        """Frames are drawn only while someone can see them."""
        super().showEvent(event)
        self.picture.setFocus()  # Space marks; it must not go into whatever line stands first
        self.ask()
        if self.feed is not None:
            self._timer.start()

    def hideEvent(self, event: QHideEvent) -> None:  # noqa: N802 - Qt's name
        """No frames behind another place; recording goes on. Nobody holds a lever there."""
        super().hideEvent(event)
        self.side.let_go()
        if not self.large.isVisible():
            self._timer.stop()

    def _look(self) -> None:
        """Take the reading that waits, where it has settled."""
        if self.waiting is None or self.feed is None:
            return
        why = self.waiting.ended(self.leader.work, self.feed.now_s(), self.leader.coach.over_s)
        if why:
            self._stop_waiting(why)
        else:
            self._read(self.waiting.phase)

    def _stop_waiting(self, why: str) -> None:
        self.waiting = None
        self.notice.say(why)
        self.renew_state()

    def _read(self, phase: Phase) -> None:
        if self.feed is None:
            return
        found = self.leader.capture(self.feed, phase, self.units.shown)
        work = self.leader.work
        if found.waits and work is not None and work.check is not None:
            if self.waiting is None:
                self.waiting = Waiting(phase, work.check.key, self.feed.now_s())
                self.notice.say(found.trouble, is_mild=True)
                self.renew_state()
            return
        self.waiting = None
        typed = self.bar.note.text().strip()
        self.bar.note.clear()
        self.add_mark(f"{found.note}. {typed}" if typed else found.note)
        if found.trouble:
            self.notice.say(found.trouble)
        else:
            self.notice.clear()
        self.ask()

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

    def _huge(self, is_huge: bool) -> None:
        self.middle.setCurrentWidget(self.leader.huge if is_huge else self.picture)
        self.leader.show(self.units.shown)

    def _reset(self) -> None:
        self._readings.reset_extremes()
        self.row.renew(self.units.shown, speak=False)

    def _connect(self) -> None:
        self.bar.record.connect(self.start_record)
        self.bar.stop.connect(self.stop_record)
        self.bar.mark.connect(self.add_mark)
        self.bar.capture.connect(self.capture)
        self.bar.huge.connect(self._huge)
        self.bar.hold.connect(self._hold)
        self.bar.length.connect(self.picture.set_length)
        self.bar.reset.connect(self._reset)
        self.units.changed.connect(self._show_units)

    def _show_units(self) -> None:
        self.row.renew(self.units.shown, speak=True)
        self.leader.show(self.units.shown)
        if self.feed is not None:
            self.happenings.show_marks(self.feed.marks(), self.units.shown)

    def _show_parts(self, *, has_feed: bool) -> None:
        self.empty.setVisible(not has_feed)
        for part in (self.leader.bar, self.row, self._split):
            part.setVisible(has_feed)

    def _lay_out(self) -> None:
        self.middle.addWidget(self.picture)
        self.middle.addWidget(self.leader.huge)
        self._split = QSplitter()
        self._split.addWidget(self.middle)
        self._split.addWidget(self.side)
        self._split.setStretchFactor(0, 1)
        self._split.setSizes([1180, 380])
        column = QVBoxLayout(self)
        column.addWidget(self.notice)
        column.addWidget(self.empty, 1)
        column.addWidget(self.leader.bar)
        column.addWidget(self.row)
        column.addWidget(self._split, 1)
        column.addWidget(self.bar)
