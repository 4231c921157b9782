"""Marks while the samples arrive, with the same segmenter and the same figures as a review.

A mark is first provisional, may be refined once, and is final once its loading has ended. A
provisional mark that the finished loading does not bear out is taken back: it comes again under
its key as a note that says so, so that nothing doubles and nothing vanishes unsaid.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from gaugebench.analyse.kept import Kept
from gaugebench.analyse.loading import figures_of_loading, look_at_loading
from gaugebench.analyse.marks import key
from gaugebench.analyse.segmenter import BIN_S, LoadingSpan, Segmenter
from gaugebench.analyse.settings import Settings
from gaugebench.analyse.stall import Stall
from gaugebench.analyse.watch import Cue, Look, PumpWatch
from gaugebench.model.arrays import F64, U16
from gaugebench.model.channel import StreamSpec
from gaugebench.model.mark import Mark, MarkKind, Standing
from gaugebench.model.role import Port, Role
from gaugebench.model.saying import Saying
from gaugebench.model.trace import Series
from gaugebench.quantity import Reference

TRAVEL_SHARE = 0.85
_SHOWN_EARLY = {
    Cue.STANDS: {
        MarkKind.RELIEF_CRACK,
        MarkKind.DESTROKE_ONSET,
        MarkKind.SETTLED,
        MarkKind.IN_SYNC,
        MarkKind.PEAK,
    },
    Cue.DROPS: {MarkKind.LOADING_END},
}


class LiveMarks:
    """Fed block by block; hands back the marks that were set or changed.

    Only channels that play a role and are not absolute or sealed pressures are looked at.
    """

    MAX_WAIT_S = 1.0
    """A stream that lags further than this behind the others is no longer waited for."""

    def __init__(self, streams: tuple[StreamSpec, ...], settings: Settings | None = None) -> None:
        self.settings = settings or Settings()
        """May be changed; it holds for what is looked at from then on."""
        self._kept: dict[Role, Kept] = {}
        for number, stream in enumerate(streams):
            for column, channel in enumerate(stream.channels):
                if channel.role is None or channel.role in self._kept:
                    continue
                if channel.reference not in (Reference.ABSOLUTE, Reference.SEALED):
                    self._kept[channel.role] = Kept(channel, number, stream.name, column)
        pumps = sorted(
            role.pump for role in self._kept if role.port is Port.MAIN and role.pump is not None
        )
        many = len({self._kept[Role.main(p)].stream for p in pumps}) > 1
        self._segmenter = Segmenter(pumps, self.MAX_WAIT_S if many else math.inf)
        self._segmenter.on_bin = self._see
        self._segmenter.on_discard = self._discard
        self.stall = Stall(BIN_S)
        """Whether the present hold has been held long enough, and for how long it has stood."""
        self._watches = {pump: PumpWatch() for pump in pumps}
        self._looks: list[Look] = []
        self._discarded: set[int] = set()
        self._marks: dict[str, Mark] = {}
        self._changes: dict[str, int] = {}
        self._highest = 0.0

    @property
    def marks(self) -> tuple[Mark, ...]:
        """All marks as they stand, in order of time."""
        return tuple(sorted(self._marks.values(), key=lambda m: (m.time_s, m.key)))

    @property
    def highest_pa(self) -> float:
        """The highest pressure that was held in a loading that has ended; 0 where none was."""
        return self._highest

    def feed(self, stream: int, times: F64, values: F64, quality: U16) -> tuple[Mark, ...]:
        """Take rows of a stream: times (n,), s; values (n, channels) in the unit used inside; and
        quality (n, channels). The marks that were thereby set or changed."""
        if len(times) == 0:
            return ()
        for role, kept in self._kept.items():
            if kept.stream != stream:
                continue
            column = np.ascontiguousarray(values[:, kept.column])
            kept.add(times.copy(), column, quality[:, kept.column].copy())
            if role.port is Port.MAIN and role.pump is not None:
                self._segmenter.feed(role.pump, times, column)
        changed = self._work_off(self._segmenter.advance())
        needed = self._segmenter.needed_from_s
        for kept in self._kept.values():
            kept.forget(needed)
        return changed

    def finish(self) -> tuple[Mark, ...]:
        """No more samples come: the marks that were thereby set or changed."""
        return self._work_off(self._segmenter.finish())

    def _see(self, pump: int, level: float, /, *, is_up: bool) -> None:
        self.stall.step(pump, level, is_up=is_up)
        watch, track = self._watches[pump], self._segmenter.tracks[pump]
        if not is_up:
            watch.reset()
            return
        cue = watch.step(level - track.base)
        if cue is not None:
            number, now = self._segmenter.count, self._segmenter.now_s
            start = track.start * BIN_S
            self._looks.append(Look(cue, number, pump, now, start, track.base))

    def _discard(self, number: int) -> None:
        self._looks = [look for look in self._looks if look.number != number]
        self._discarded.add(number)

    def _work_off(self, ended: tuple[LoadingSpan, ...]) -> tuple[Mark, ...]:
        """Finals of the loadings that ended, then looks at what is open."""
        changed: list[Mark] = []
        for number in sorted(self._discarded):
            changed += self._take_back(number, set(), "It was not held: not a loading.")
        self._discarded.clear()
        series = {role: kept.series() for role, kept in self._kept.items()} if (
            ended or self._looks
        ) else {}  # fmt: skip
        done = {span.number for span in ended}
        for look in self._looks:
            if look.number not in done:
                changed += self._provisional(look, series)
        self._looks.clear()
        for span in ended:
            _, marks = figures_of_loading(series, span, self.settings)
            keys = {mark.key for mark in marks}
            changed += self._take_back(span.number, keys, "It was not borne out in the end.")
            changed += marks
            self._marks.update((mark.key, mark) for mark in marks)
            held = [m.pressure_pa for m in marks if m.kind is MarkKind.SETTLED and m.pressure_pa]
            self._highest = max([self._highest, *held])
        return tuple(changed)

    def _provisional(self, look: Look, series: dict[Role, Series]) -> list[Mark]:
        if look.cue is Cue.STARTED:
            return self._show(
                [
                    Mark(
                        key(look.number, None, MarkKind.LOADING_START),
                        MarkKind.LOADING_START,
                        look.start_s,
                        Standing.PROVISIONAL,
                    )
                ]
            )
        open_pumps = {
            pump: track
            for pump, track in self._segmenter.tracks.items()
            if track.is_up and track.start * BIN_S < look.until_s
        }
        if look.pump not in open_pumps:
            return []
        marks = look_at_loading(series, look, open_pumps, self.settings)
        early = _SHOWN_EARLY[look.cue]
        return self._show(
            [
                m
                for m in marks
                if m.kind in early and m.pump in (None, look.pump) and not self._is_travel(m)
            ]
        )

    def _is_travel(self, mark: Mark) -> bool:
        """Whether a knee lies so far below what was held before that an actuator travels there."""
        if mark.kind is not MarkKind.RELIEF_CRACK or mark.pressure_pa is None:
            return False
        return mark.pressure_pa < TRAVEL_SHARE * self._highest

    def _show(self, marks: list[Mark]) -> list[Mark]:
        """Of provisional marks, those that are new or change one for the first time."""
        shown = []
        for mark in marks:
            known = self._marks.get(mark.key)
            if known is not None and known.standing is Standing.PROVISIONAL:
                if known == mark or self._changes.get(mark.key, 0) >= 1:
                    continue
                self._changes[mark.key] = self._changes.get(mark.key, 0) + 1
            else:
                self._changes[mark.key] = 0
            self._marks[mark.key] = mark
            shown.append(mark)
        return shown

    def _take_back(self, number: int, keep: set[str], why: str) -> list[Mark]:
        """Turn the loading's provisional marks that are not in `keep` into notes."""
        taken = []
        for name, mark in list(self._marks.items()):
            if mark.standing is not Standing.PROVISIONAL or name in keep:
                continue
            if not name.startswith(f"{number}/"):
                continue
            note = replace(
                mark,
                kind=MarkKind.NOTE,
                standing=Standing.FINAL,
                note=Saying("Taken back: {kind}. {why}", kind=mark.kind.value, why=why),
            )
            self._marks[name] = note
            taken.append(note)
        return taken
