"""The reading of the present check, taken from the last moment: as found or as left. No Qt."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from gaugebench.desk.live.feed import Feed
from gaugebench.desk.live.work import READ_AT_ONCE, Job, Work
from gaugebench.desk.names import role_title
from gaugebench.desk.shown import Shown
from gaugebench.desk.words import said, tr
from gaugebench.model.figures import Absent
from gaugebench.model.job import How, Phase, Source, Value
from gaugebench.model.role import Port, Role
from gaugebench.model.trace import Series, Trace
from gaugebench.procedure.steady import mean_over
from gaugebench.quantity import Dimension

HELD_S = 0.5
"""A reading is the mean of so much, as the live analysis's own “settled” spans it."""
MOVING_SHARE = 0.01
"""A pressure that moves by more than this share of itself in that time is not read."""
LEAST_PA = 5e4
"""So much movement of a low pressure is noise."""


@dataclass(frozen=True, slots=True)
class Captured:
    """note: what the mark says. trouble: why the worksheet did not take it, "" where it did or
    where there was nothing to take. waits: it can be taken as soon as it has settled."""

    note: str
    trouble: str = ""
    waits: bool = False


class Moves(str):
    """A sentence: the value does not stand yet."""

    __slots__ = ()


def phase_title(phase: Phase) -> str:
    """The phase in words."""
    return tr("As found") if phase is Phase.AS_FOUND else tr("As left")


def capture(
    feed: Feed, phase: Phase, shown: Shown, work: Work | None = None, job: Job | None = None
) -> Captured:
    """Read what stands now. With a job the check's reading is entered; else the mark says all
    main and control pressures."""
    if work is None or job is None:
        return Captured(f"{phase_title(phase)}: {pressures(feed, shown)}")
    check = work.check
    if check is None:
        note = f"{phase_title(phase)}: {pressures(feed, shown)}"
        return Captured(note, tr("No check waits for a reading; only a mark was set."))
    head = f"{phase_title(phase)}, {check.title}"
    if check.figure not in READ_AT_ONCE:
        sentence = tr(
            "“{check}” is not read off a gauge; only a mark was set. Record it, and the worksheet "
            "takes it from the trace.",
            check=check.title,
        )
        return Captured(f"{head}: {pressures(feed, shown)}", sentence)
    found, source = _mean(feed, check.role), _where(feed)
    if isinstance(found, Moves) or (check.loads and not feed.stall.is_settled):
        sentence = tr(
            "Waits for “{check}”: it is read by itself once it has been held long enough. Press "
            "again to stop waiting.",
            check=check.title,
        )
        return Captured(head, sentence, waits=True)
    if isinstance(found, str):
        return Captured(f"{head}: {pressures(feed, shown)}", found)
    text = shown.text(found.value, check.dimension)
    entry = {
        "check": check.key, "phase": phase, "value": found, "how": How.BY_HAND, "source": source,
    }  # fmt: skip
    refused = job.may("reading", **entry)
    if refused is None and not job.do("reading", **entry):
        refused = tr("The worksheet did not take the reading; see there.")
    return Captured(f"{head}: {text}", refused or "")


def pressures(feed: Feed, shown: Shown) -> str:
    """All main and control pressures of the last moment in one line."""
    parts = []
    for index, stream in enumerate(feed.streams):
        window = feed.window(index, HELD_S)
        for column, channel in enumerate(stream.channels):
            role = channel.role
            if role is None or role.port not in (Port.MAIN, Port.CONTROL):
                continue
            values = window.values[:, column]
            good = values[np.isfinite(values)]
            value = float(good.mean()) if len(good) else math.nan
            parts.append(f"{role_title(role)} {shown.text(value, Dimension.PRESSURE)}")
    return ", ".join(parts)


def _where(feed: Feed) -> Source:
    """Where the reading will be found in the record that runs; nowhere without one."""
    state = feed.record_state
    if state is None:
        return Source()
    now = feed.now_s()
    return Source(trace=state.path.name, start_s=now - HELD_S, end_s=now)


def _mean(feed: Feed, role: Role) -> Value | str:
    """The mean of the last moment with its uncertainty, or why there is none."""
    is_pressure = role.dimension is Dimension.PRESSURE
    for index, stream in enumerate(feed.streams):
        for column, channel in enumerate(stream.channels):
            if channel.role != role:
                continue
            window = feed.window(index, HELD_S)
            values = window.values[:, column].copy()
            good = values[np.isfinite(values)]
            if len(good) < 4:
                return tr("{channel} has no new samples.", channel=role_title(role))
            early, late = np.array_split(good, 2)
            moved = abs(float(late.mean()) - float(early.mean()))
            if moved > MOVING_SHARE * abs(float(good.mean())) + LEAST_PA * is_pressure:
                return Moves(tr("{channel} still moves.", channel=role_title(role)))
            quality = window.quality[:, column].copy()
            series = Series(channel, window.times, values, quality)
            times = window.times
            answer = mean_over(Trace((series,)), role, float(times[0]), float(times[-1]) + 1e-9)
            if isinstance(answer, Absent):
                return said(answer.reason)
            return Value(value=answer.value, unit=answer.unit, expanded=answer.expanded)
    return tr("The kit has no channel for {channel}.", channel=role_title(role))
