"""Nothing is a loading while nothing is pumped: not live, and not in the finished analysis.

The traces are made up. That neutral is 10 to 45 bar, and what a coarse transducer does at zero, is
common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from gaugebench.analyse.figures import analyse
from gaugebench.analyse.live import LiveMarks
from gaugebench.model.arrays import F64
from gaugebench.model.channel import StreamSpec
from gaugebench.model.mark import Mark
from gaugebench.model.trace import Trace

BAR = 1e5
LASTS_S = 40.0


def _wander(random: np.random.Generator, count: int, size: float) -> F64:
    """Slow noise that comes back to where it began."""
    walk = np.cumsum(random.standard_normal(count))
    walk -= np.linspace(walk[0], walk[-1], count)
    wander: F64 = size * walk / np.std(walk)
    return wander


def _ramp(times: F64, start_s: float, takes_s: float) -> F64:
    return np.clip((times - start_s) / takes_s, 0.0, 1.0)


def at_rest(name: str, rate_hz: float) -> tuple[F64, F64]:
    """Instants and main pressure of a machine on which nothing is held."""
    times = np.arange(0, LASTS_S, 1 / rate_hz)
    random = np.random.default_rng(len(name))
    noise = 0.2 * BAR * random.standard_normal(len(times))
    step = 0.15 * BAR
    neutral = 25 * BAR
    match name:
        case "all zero":
            values = np.zeros(len(times))
        case "noise":
            values = noise
        case "wandering zero":
            values = noise + _wander(random, len(times), 0.8 * BAR)
        case "last digit":
            values = np.round(_wander(random, len(times), 0.6 * step) / step) * step
        case "mains hum":
            values = noise / 4 + 0.2 * BAR * np.sin(2 * np.pi * 50.3 * times)
        case "zero off":
            values = noise - BAR
        case "engine starts":
            values = noise + neutral * _ramp(times, 12, 1.5)
        case "engine starts slowly":
            values = noise + neutral * _ramp(times, 12, 3.5)
        case "engine stops":
            values = noise + neutral * (1 - _ramp(times, 25, 1.5))
        case _:
            values = noise + neutral * _ramp(times, 12, 1.5) * (1 - _ramp(times, 25, 1.5))
    return times, np.asarray(values, np.float64)


NAMES = (
    "all zero", "noise", "wandering zero", "last digit", "mains hum", "zero off", "engine starts",
    "engine starts slowly", "engine stops", "engine runs for a while",
)  # fmt: skip


def told_live(trace: Trace) -> list[Mark]:
    """Every mark that is told while the trace comes in by twentieths of a second."""
    live = LiveMarks((StreamSpec("kit", tuple(s.channel for s in trace.series)),))
    times = trace.series[0].times
    values = np.column_stack([s.values for s in trace.series])
    quality = np.column_stack([s.quality for s in trace.series])
    block = max(1, round(0.05 / float(times[1] - times[0])))
    told: list[Mark] = []
    for at in range(0, len(times), block):
        part = slice(at, at + block)
        told += live.feed(0, times[part], values[part], quality[part])
    return [*told, *live.finish()]


@pytest.mark.parametrize("rate_hz", [50.0, 500.0])
@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_a_loading_at_rest(
    made_up: Callable[..., Trace], name: str, rate_hz: float
) -> None:
    times, values = at_rest(name, rate_hz)
    trace = made_up(times, {"pump1.main": values, "pump2.main": np.roll(values, 1)})
    assert analyse(trace).loadings == ()
    assert told_live(trace) == []


def test_the_first_push_after_the_engine_is_started_is_one(made_up: Callable[..., Trace]) -> None:
    times, values = at_rest("engine starts", 200.0)
    push = np.interp(times, [20, 20.4, 24, 24.3], [0, 200 * BAR, 200 * BAR, 0])
    trace = made_up(times, {"pump1.main": values + push})
    (loading,) = analyse(trace).loadings
    assert loading.start_s == pytest.approx(20.0, abs=0.1)
    assert loading.end_s == pytest.approx(24.0, abs=0.1)
