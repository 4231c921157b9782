"""Live marks: early, refined at most once, and in the end those of a review."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable

import numpy as np
import pytest

from gaugebench.analyse.figures import analyse
from gaugebench.analyse.live import LiveMarks
from gaugebench.model.channel import StreamSpec
from gaugebench.model.figures import FigureSet
from gaugebench.model.mark import Mark, MarkKind, Standing
from gaugebench.model.trace import Trace
from tests.analyse.conftest import Labelled

Told = dict[str, list[tuple[float, Mark]]]


def feed(trace: Trace, seed: int, longest_s: float) -> tuple[LiveMarks, Told]:
    """Feed a trace in blocks of random size; every mark told, with the time it was told at."""
    live = LiveMarks((StreamSpec("kit", tuple(s.channel for s in trace.series)),))
    times = trace.series[0].times
    values = np.column_stack([s.values for s in trace.series])
    quality = np.column_stack([s.quality for s in trace.series])
    random = np.random.default_rng(seed)
    most = max(2, round(longest_s / float(np.median(np.diff(times)))))
    told: Told = defaultdict(list)
    start = 0
    while start < len(times):
        stop = min(len(times), start + int(random.integers(1, most)))
        for mark in live.feed(0, times[start:stop], values[start:stop], quality[start:stop]):
            told[mark.key].append((float(times[stop - 1]), mark))
        start = stop
    for mark in live.finish():
        told[mark.key].append((float(times[-1]), mark))
    return live, told


def finals(marks: tuple[Mark, ...]) -> dict[str, Mark]:
    return {m.key: m for m in marks if m.kind is not MarkKind.NOTE}


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("name", ["trace010", "trace023", "trace025", "visit004"])
def test_final_marks_are_those_of_a_review_whatever_the_blocks(
    labelled: Callable[[str], Labelled],
    reviewed: Callable[[str], FigureSet],
    name: str,
    seed: int,
) -> None:
    live, _ = feed(labelled(name).trace, seed, longest_s=[0.1, 0.7, 6.0][seed - 1])
    assert finals(live.marks) == finals(reviewed(name).marks)
    assert all(m.standing is Standing.FINAL for m in live.marks)


@pytest.mark.parametrize("name", ["trace002", "trace010", "trace017", "trace029", "visit004"])
def test_marks_come_early_are_refined_at_most_once_and_never_after_they_are_final(
    labelled: Callable[[str], Labelled], name: str
) -> None:
    live, told = feed(labelled(name).trace, 5, longest_s=0.05)
    # A crack needs the control pressure to have settled before it can be told from a cut-off, so
    # it may come with the end of the loading only.
    early = {MarkKind.LOADING_START, MarkKind.SETTLED, MarkKind.LOADING_END}
    events = {MarkKind.RELIEF_CRACK, MarkKind.DESTROKE_ONSET}
    for key, mark in finals(live.marks).items():
        history = told[key]
        provisional = [m for _, m in history if m.standing is Standing.PROVISIONAL]
        assert len(provisional) <= 2
        assert [m.standing for _, m in history].count(Standing.FINAL) == 1
        assert history[-1][1].standing is Standing.FINAL
        if mark.kind in early or (mark.kind in events and provisional):
            assert history[0][0] - mark.time_s < 0.5, key


def test_a_neutral_trace_sets_no_mark(labelled: Callable[[str], Labelled]) -> None:
    live, told = feed(labelled("trace009").trace, 1, longest_s=0.2)
    assert not told
    assert live.marks == ()


def test_a_jolt_that_is_not_held_is_taken_back(made_up: Callable[..., Trace]) -> None:
    times = np.arange(0, 8, 0.005)
    bump = np.interp(times, [3, 3.1, 3.35, 3.45, 3.7], [0, 12e6, 25e6, 12e6, 0])
    trace = made_up(times, {"pump1.main": 2.5e6 + bump})
    live, told = feed(trace, 1, longest_s=0.05)
    assert analyse(trace).loadings == ()
    assert {m.kind for m in live.marks} <= {MarkKind.NOTE}
    assert all("Taken back" in m.note for m in live.marks)
    assert told


def test_the_stall_signal_waits_until_the_pressure_stands(made_up: Callable[..., Trace]) -> None:
    times = np.arange(0, 6, 0.005)
    main = np.interp(times, [2, 2.4, 3.4], [2.5e6, 28e6, 30e6])  # creeps by 6.7 %/s until 3.4 s
    live = LiveMarks(
        (StreamSpec("kit", (made_up(times, {"pump1.main": main}).series[0].channel,)),)
    )
    stood = []
    for i in range(0, len(times), 10):
        part = main[i : i + 10]
        live.feed(0, times[i : i + 10], part[:, None], np.zeros((len(part), 1), np.uint16))
        if live.stall.held_long_enough:
            stood.append(float(times[i]))
    assert 3.8 < stood[0] < 4.2
    assert live.stall.held_s == pytest.approx(6.0 - 3.4, abs=0.3)
