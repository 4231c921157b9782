"""What counts as released: never a channel that is frozen, faulty, silent or not known to work."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np
import pytest

from gaugebench.desk.hookup.checklist import Checklist
from gaugebench.desk.hookup.release import PortState, Seen, conclude, limit_of, look
from gaugebench.desk.hookup.rest import Rest, rest_of
from gaugebench.desk.hookup.visit import Visit
from gaugebench.desk.shown import Shown
from gaugebench.desk.words import catalogue
from gaugebench.model.arrays import F64, U16
from gaugebench.model.channel import Channel, Transducer
from gaugebench.model.conditioning import Chain
from gaugebench.model.job import NoteAdded, ZeroChecked
from gaugebench.model.quality import Quality
from gaugebench.model.role import Role
from gaugebench.procedure import rules
from gaugebench.quantity import Dimension, Reference

BAR = 1e5
SEEN = 300 * BAR
NOISE = np.random.default_rng(3).normal(0.0, 0.1 * BAR, 2000)


@dataclass(frozen=True, slots=True, eq=False)
class Window:
    times: F64
    values: F64
    quality: U16


def _channel(top_bar: float = 600, accuracy: float | None = 0.5, **more: Reference) -> Channel:
    return Channel(
        "P1",
        Role.main(1),
        chain=Chain(range_low=0.0, range_high=top_bar * BAR),
        transducer=Transducer(accuracy_pct_fs=accuracy),
        reference=more.get("reference", Reference.GAUGE),
    )


def _window(values: F64, quality: int = 0) -> Window:
    times: F64 = np.arange(len(values), dtype=np.float64) * 0.01
    return Window(times, values[:, None], np.full((len(values), 1), quality, np.uint16))


def _state(values: F64, *, channel: Channel | None = None, seen: float = SEEN) -> PortState:
    window = _window(values)
    return look(channel or _channel(), window, 0, float(window.times[-1]), seen, Shown()).state


def test_a_live_channel_near_zero_counts_and_says_what_it_cannot_see() -> None:
    window = _window(NOISE)
    found = look(_channel(), window, 0, 20.0, SEEN, Shown())
    assert found.counts
    assert "cannot see below 3.0 bar" in found.words  # 0.5 % of 600 bar


@pytest.mark.parametrize(
    ("values", "state"),
    [
        (NOISE + 5 * BAR, PortState.HOLDS),
        (NOISE - 5 * BAR, PortState.BELOW),
        (np.zeros(2000), PortState.FROZEN),
        (np.full(2000, 0.4 * BAR), PortState.FROZEN),
        (np.where(np.arange(2000) == 1900, np.nan, NOISE), PortState.FAULT),
        # It moved until 16 s ago and stands since then.
        (np.where(np.arange(2000) < 400, NOISE, 0.1 * BAR), PortState.FROZEN),
        # One moment of pressure in the last seconds is pressure.
        (np.where(np.arange(2000) == 1950, 9 * BAR, NOISE), PortState.HOLDS),
    ],
)
def test_what_does_not_count(values: F64, state: PortState) -> None:
    assert _state(values) is state


def test_a_channel_that_never_read_a_pressure_proves_nothing() -> None:
    assert _state(NOISE, seen=1 * BAR) is PortState.UNPROVEN
    assert _state(NOISE, seen=-math.inf) is PortState.UNPROVEN


def test_a_coarse_transducer_is_blind_where_oil_already_pierces_skin() -> None:
    assert _state(NOISE, channel=_channel(1000, 1.0)) is PortState.BLIND
    assert limit_of(_channel(600, None)) == pytest.approx(6 * BAR)  # 1 % where none is stated


def test_no_samples_or_old_ones_are_silence() -> None:
    window = _window(NOISE)
    assert look(_channel(), window, 0, 30.0, SEEN, Shown()).state is PortState.SILENT
    assert look(_channel(), None, 0, 30.0, SEEN, Shown()).state is PortState.SILENT


@pytest.mark.parametrize("fact", [Quality.CLIPPED, Quality.SUSPECT, Quality.UNDER_RANGE])
def test_a_doubtful_signal_is_a_fault(fact: Quality) -> None:
    window = _window(NOISE, int(fact))
    assert look(_channel(), window, 0, 20.0, SEEN, Shown()).state is PortState.FAULT


def test_an_absolute_pressure_shows_no_zero() -> None:
    channel = _channel(reference=Reference.ABSOLUTE)
    assert _state(NOISE, channel=channel) is PortState.FAULT


def test_all_must_count_and_it_is_said_that_only_these_ports_are_proved() -> None:
    good = look(_channel(), _window(NOISE), 0, 20.0, SEEN, Shown())
    bad = look(_channel(), _window(NOISE + 5 * BAR), 0, 20.0, SEEN, Shown())
    released = conclude([good, None, good])
    assert released.is_released
    assert "these ports only" in released.words
    assert not conclude([good, bad]).is_released
    assert "1 of 2" in conclude([good, bad]).words
    assert not conclude([None]).is_released


def test_a_spike_of_one_sample_shows_no_working_channel() -> None:
    seen = Seen(2)
    quality = np.zeros(100, np.uint16)
    spike = np.where(np.arange(100) == 50, 400 * BAR, 0.0)
    seen.take(0, spike, quality)
    seen.take(1, np.full(100, 200 * BAR), quality)
    assert seen.of(0) <= 80 * BAR
    assert seen.of(1) == pytest.approx(200 * BAR)
    seen.take(0, np.full(100, 300 * BAR), np.full(100, int(Quality.WIRE_OFF), np.uint16))
    assert seen.of(0) <= 80 * BAR


def test_zeros_are_kept_for_the_job_with_their_moment() -> None:
    visit, at = Visit(), datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
    rows = [("P1", _channel()), ("n", Channel("n", Role("engine.speed"), Dimension.SPEED))]
    rests = [rest_of(0.2 * BAR + NOISE), Rest(900.0, 1.0, 100)]
    visit.check_zeros(rows, rests, "before", at)
    visit.check_zeros(rows, [rest_of(0.9 * BAR + NOISE), rests[1]], "after", at)
    visit.check_zeros(rows, [rest_of(0.1 * BAR + NOISE), rests[1]], "before", at)
    visit.note("wrong ports", "passed", at)
    zeros = [e for e in visit.events if isinstance(e, ZeroChecked)]
    assert {(z.role, z.moment) for z in zeros} == {
        ("pump1.main", "before"), ("pump1.main", "after"),
    }  # fmt: skip
    before = next(z for z in zeros if z.moment == "before")
    assert before.value.value == pytest.approx(0.1 * BAR, abs=0.01 * BAR)
    assert before.value.expanded is not None
    assert 0 < before.value.expanded < 0.05 * BAR
    assert [e.text for e in visit.events if isinstance(e, NoteAdded)] == ["passed"]


def test_steps_are_done_one_after_the_other() -> None:
    steps = Checklist.of(rules.steps("release"))
    keys = [s.key for s in steps.steps]
    assert keys.index("levers") < keys.index("tank") < keys.index("read") < keys.index("eyes")
    first = steps.tick()
    assert first is steps.steps[0]
    steps.back()
    assert steps.current is first
    for _ in steps.steps:
        steps.tick()
    assert steps.is_done
    steps.restart()
    assert steps.current is first


@pytest.mark.parametrize("which", ["fit", "release"])
def test_every_step_has_its_german(which: str) -> None:
    german = catalogue("de")
    assert all(text in german for s in rules.steps(which) for text in (s.do, s.why))
