"""The live picture: panes fed from rolling bins, with the right edge at now."""

from __future__ import annotations

import math

from PySide6.QtWidgets import QWidget

from gaugebench.desk.live.feed import Feed
from gaugebench.desk.live.reader import Fresh
from gaugebench.desk.plot.gaps import usual_step
from gaugebench.desk.plot.panes import Panes
from gaugebench.desk.plot.rolling import Rolling
from gaugebench.desk.theme import Theme
from gaugebench.desk.units import Units
from gaugebench.model.arrays import F64
from gaugebench.model.channel import StreamSpec

LENGTHS_S = (5.0, 10.0, 20.0, 30.0, 60.0, 120.0, 300.0, 600.0)
"""The lengths of window offered."""


class LivePicture(Panes):
    """Panes of a feed. Curves are built once; a frame costs what is new and what is seen."""

    def __init__(self, units: Units, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(units, theme, parent)
        self.length_s = 30.0
        self.is_held = False
        self._feed: Feed | None = None
        self._streams: tuple[StreamSpec, ...] = ()
        self._bins: list[Rolling | None] = []
        self._built_for: tuple[float, int] = (0.0, 0)

    def attach(self, feed: Feed) -> None:
        """Show this feed."""
        self._feed = feed
        self._streams = feed.streams
        self.is_held = False
        self.lay_out([channel for stream in feed.streams for channel in stream.channels])
        for pane in self.panes:
            pane.time.from_zero = True
        self._bins = [None] * len(feed.streams)
        self._built_for = (0.0, 0)

    def detach(self) -> None:
        """Show nothing any more."""
        self._feed = None
        self._streams, self._bins = (), []
        self.lay_out([])

    def set_length(self, seconds: float) -> None:
        """How much is shown, s."""
        self.length_s = seconds

    def take(self, fresh: list[Fresh]) -> None:
        """Take in what is new; also while the picture is held."""
        if self._feed is None:
            return
        if self._built_for != (self.length_s, self.columns) and not self.is_held:
            self._rebuild(self._feed)
            return
        for bins, new in zip(self._bins, fresh, strict=True):
            if bins is not None and len(new.times):
                first = int((new.times > bins.last_s).argmax()) if bins.last_s > -math.inf else 0
                if new.times[-1] > bins.last_s:
                    bins.add(new.times[first:], new.values[first:], new.quality[first:])
        if any(b is None and len(f.times) for b, f in zip(self._bins, fresh, strict=True)):
            self._built_for = (0.0, 0)  # a stream that was silent until now: build its bins

    def draw(self, values: list[float]) -> None:
        """Show the newest; nothing moves while the picture is held."""
        if self._feed is None or self.is_held:
            return
        now = self._feed.now_s()
        start = now - self.length_s
        index = 0
        for stream, bins in zip(self._streams, self._bins, strict=True):
            for column in range(len(stream.channels)):
                if bins is not None:
                    self.set_line(index, bins.line(column, start))
                index += 1
        self.set_view(start, now)
        self.fit()
        self.set_values(values)
        self.set_marks(self._feed.marks())

    def _rebuild(self, feed: Feed) -> None:
        """Bins for another length or width, from the ring."""
        self._built_for = (self.length_s, self.columns)
        self._bins = []
        for index, stream in enumerate(self._streams):
            window = feed.window(index, self.length_s)
            step = _step(stream, window.times)
            if not math.isfinite(step):
                self._bins.append(None)
                continue
            per_column = self.length_s / step / self.columns
            per_bin = 1 if per_column <= 2.0 else int(per_column)
            most = math.ceil(self.length_s / step / per_bin) + 64
            bins = Rolling(len(stream.channels), per_bin, most, step)
            bins.add(window.times, window.values, window.quality)
            self._bins.append(bins)


def _step(stream: StreamSpec, times: F64) -> float:
    """The usual step of a stream, s, as seen or else as stated."""
    seen = usual_step(times)
    if math.isfinite(seen) and seen > 0:
        return seen
    return 1.0 / stream.rate_hz if stream.rate_hz else math.inf
