"""Coverage: do the k = 2 intervals hold the truth as often as they claim?

Simulated holds over a relief, seen through transducers whose zero, gain and linearity errors are
drawn from their accuracy class. An interval of k = 2 should hold the truth in about 95 % of cases
(JCGM 100:2008 G.1.3); 94 to 99 % is asked for.

The model knows three things: a pump fills a trapped volume (dp/dt = B Q / V), a relief valve passes
oil in proportion to how far the pressure is above its crack, and its spool follows with a lag. All
holds are worked out at once. Hoses and transducers lag 0.8 to 3 ms (common practice, no source). It
shares no code with the program's own simulation.

Four kinds of valve share the holds alike: stiff and prompt ones, soft ones, slow ones whose spool
lags 2 to 6 ms, and wide ones whose override is up to a quarter of the crack. Nothing in a record
tells how late a valve opened, so the interval of the crack is as wide as the kinds together need:
all in all it is held to its claim, and each kind to little less.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np
import pytest
from scipy.signal import lfilter

from gaugebench.analyse.figures import analyse
from gaugebench.model.arrays import F64
from gaugebench.model.channel import Channel, Transducer
from gaugebench.model.conditioning import Chain
from gaugebench.model.figures import Absent, Answer, Event, LoadingFigures
from gaugebench.model.role import ControlPort, Role
from gaugebench.model.trace import Series, Trace
from gaugebench.quantity import Dimension, Reference

pytestmark = [pytest.mark.bench, pytest.mark.timeout(600)]

COUNT = 150
"""Holds of each kind of valve."""
SEED = 20_251_125
TICK_S = 1e-4
BAR = 1e5
LENGTH_S, LEVER_S, DROP_S = 5.2, 1.2, 4.6


@dataclass(frozen=True, slots=True)
class Valves:
    """override: share of crack at the pump's full flow, from and to; lag_s: of the spool, too."""

    override: tuple[float, float]
    lag_s: tuple[float, float]


VALVES = {
    "stiff": Valves((0.01, 0.025), (0.0003, 0.0015)),
    "soft": Valves((0.025, 0.05), (0.001, 0.004)),
    "slow": Valves((0.02, 0.08), (0.002, 0.006)),
    "wide": Valves((0.08, 0.25), (0.001, 0.006)),
}


@dataclass(frozen=True, slots=True, eq=False)
class Holds:
    """Clean pressures, bar, (ticks, holds, pumps), and the truth of each, (holds, pumps).

    t50, settle, opens: s, of the clean pressure, by the definitions of the figures.
    """

    times: F64
    mains: np.ndarray[tuple[int, ...], np.dtype[np.float32]]
    initial: F64
    settled: F64
    peak: F64
    crack: F64
    t50: F64
    settle: F64
    opens: F64


def simulate(count: int, valves: Valves, rng: np.random.Generator) -> Holds:
    """`count` holds by two pumps, each with its own relief of 250 to 400 bar."""
    shape = (count, 2)
    crack = rng.uniform(250, 400, (count, 1)) + rng.uniform(-6, 6, shape)
    rate = rng.uniform(350, 1500, (count, 1)) * rng.uniform(0.95, 1.05, shape)  # bar/s
    override = crack * rng.uniform(*valves.override, shape)
    spool_s = rng.uniform(*valves.lag_s, shape)
    opens_s = rng.uniform(0.05, 0.3, (count, 1))
    idle = rng.uniform(18, 32, (count, 1)) * np.ones(shape)
    ticks = int(LENGTH_S / TICK_S)
    mains = np.empty((ticks, *shape), np.float32)
    pressure, passing = idle.copy(), np.zeros(shape)
    for k in range(ticks):
        t = k * TICK_S
        if t < DROP_S:
            pushed = np.clip((t - LEVER_S) / opens_s, 0.0, 1.0)
            slope = rate * (pushed - passing)
        else:
            slope = (idle - pressure) / 0.04
        passing += TICK_S / spool_s * (np.maximum(pressure - crack, 0.0) / override - passing)
        pressure = pressure + TICK_S * slope
        mains[k] = pressure
    times: F64 = np.arange(ticks, dtype=np.float64) * TICK_S
    held = (times >= DROP_S - 1.0) & (times < DROP_S)
    driven = times < DROP_S
    settled = mains[held].mean(axis=0, dtype=np.float64)
    t50 = _last(mains[driven] < idle + 0.5 * (settled - idle))
    inside = _last(np.abs(mains[driven] - settled) > 0.02 * settled)
    return Holds(
        times=times,
        mains=mains,
        initial=idle,
        settled=settled,
        peak=mains[driven].max(axis=0).astype(np.float64),
        crack=crack,
        t50=t50,
        settle=inside - t50,
        opens=np.asarray(np.argmax(mains > crack, axis=0) * TICK_S),
    )


def _last(is_so: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]) -> F64:
    """When something is so for the last time, s, (holds, pumps), between two ticks."""
    return np.asarray((len(is_so) - np.argmax(is_so[::-1], axis=0) - 0.5) * TICK_S)


@dataclass(frozen=True, slots=True)
class Kit:
    """rate: Hz. accuracy: % of full scale, k = 2. full_scale: bar. bits: of the converter.

    lag: of hose, transducer and filter together, as one first order, s.
    """

    rate: float
    accuracy: float
    full_scale: float
    bits: int
    lag: float


def draw_kit(rng: np.random.Generator) -> Kit:
    """A kit as one might carry it."""
    return Kit(
        rate=float(rng.choice([100.0, 200.0, 500.0, 1000.0])),
        accuracy=float(rng.choice([0.25, 0.5, 1.0])),
        full_scale=float(rng.choice([500.0, 600.0])),
        bits=int(rng.choice([12, 14, 16])),
        lag=float(rng.uniform(0.0008, 0.003)),
    )


def through_transducer(bars: F64, kit: Kit, rng: np.random.Generator) -> F64:
    """What a transducer makes of a pressure: zero, gain and linearity share its class alike.

    Each is normal, and at full scale the three together have the class as their k = 2.
    """
    each = kit.accuracy / 100 * kit.full_scale / 2 / np.sqrt(3)
    zero, gain, bow = each * rng.standard_normal(3)
    x = bars / kit.full_scale
    return np.asarray(bars + zero + gain * x + bow * 4 * x * (1 - x))


def trace_of(holds: Holds, hold: int, kit: Kit, rng: np.random.Generator) -> Trace:
    """One hold as a kit would have logged it: pump ripple, errors, noise, converter."""
    first = rng.uniform(0, 1 / kit.rate)
    times = np.arange(first, LENGTH_S - 0.01, 1 / kit.rate)
    rpm = rng.uniform(1700, 2200)
    series = []
    for pump in (0, 1):
        clean = np.interp(times, holds.times, _lagged(holds.mains[:, hold, pump], kit.lag))
        swing = rng.uniform(0.003, 0.01) * clean
        turn = 2 * np.pi * 9 * rpm / 60 * times + rng.uniform(0, 2 * np.pi)
        noise = rng.uniform(0.1, 0.6) * rng.standard_normal(len(times))
        noisy = clean + swing * np.sin(turn) + noise
        series.append(_series(Role.main(pump + 1), times, noisy, kit, rng))
        lever = (times > LEVER_S - 0.05) & (times < DROP_S)
        control = np.where(lever, 4.0, 33.0) + 0.05 * rng.standard_normal(len(times))
        small = replace(kit, full_scale=60.0)
        series.append(_series(Role.control(pump + 1), times, control, small, rng))
    return Trace(tuple(series))


def _lagged(bars: np.ndarray[tuple[int, ...], np.dtype[np.float32]], lag_s: float) -> F64:
    """Through a first-order lag: the exact response to straight pieces between ticks."""
    share = 1 - np.exp(-TICK_S / lag_s)
    return np.asarray(lfilter([share], [1, share - 1], bars, zi=[(1 - share) * bars[0]])[0])


def _series(role: Role, times: F64, bars: F64, kit: Kit, rng: np.random.Generator) -> Series:
    step = kit.full_scale * BAR / 2**kit.bits
    seen = np.round(through_transducer(bars, kit, rng) * BAR / step) * step
    channel = Channel(
        name=str(role),
        role=role,
        dimension=Dimension.PRESSURE,
        reference=Reference.GAUGE,
        raw_unit="Pa",
        chain=Chain(range_low=0.0, range_high=kit.full_scale * BAR),
        transducer=Transducer(accuracy_pct_fs=kit.accuracy),
        control_port=ControlPort.REGULATED,
        step=step,
    )
    return Series(channel, times, seen, np.zeros(len(times), np.uint16))


FIGURES = ("settled", "peak", "t50", "settle", "overshoot", "crack", "crack time", "imbalance")


@dataclass
class Tally:
    """How often an interval held its truth; how wide they are; and why figures were absent."""

    held: int = 0
    given: int = 0
    widths: list[float] = field(default_factory=list)
    absent: Counter[str] = field(default_factory=Counter)

    def note(self, answer: Answer, truth: float) -> None:
        """One figure against its truth, in its unit."""
        if isinstance(answer, Absent):
            self.absent[answer.reason] += 1
            return
        assert answer.expanded is not None
        self.given += 1
        self.widths.append(answer.expanded)
        self.held += abs(answer.value - truth) <= answer.expanded

    @property
    def share(self) -> float:
        """Coverage in %."""
        return 100 * self.held / max(1, self.given)


def _figures(trace: Trace) -> LoadingFigures:
    found = analyse(trace)
    assert len(found.loadings) == 1
    return found.loadings[0]


def tallies(count: int, valves: Valves, seed: int) -> dict[str, Tally]:
    """The coverage of each figure over all holds."""
    rng = np.random.default_rng(seed)
    holds = simulate(count, valves, rng)
    tally = {name: Tally() for name in FIGURES}
    for hold in range(count):
        kit = draw_kit(rng)
        loading = _figures(trace_of(holds, hold, kit, rng))
        settled = holds.settled[hold]
        for number, pump in loading.pumps.items():
            at = hold, number - 1
            crack = pump.relief_crack
            tally["settled"].note(pump.settled, holds.settled[at] * BAR)
            tally["peak"].note(pump.peak, holds.peak[at] * BAR)
            pressure = crack.pressure if isinstance(crack, Event) else crack
            tally["crack"].note(pressure, holds.crack[at] * BAR)
            opens = crack.time if isinstance(crack, Event) else crack
            tally["crack time"].note(opens, holds.opens[at])
            tally["t50"].note(pump.t50, holds.t50[at])
            tally["settle"].note(pump.settle, holds.settle[at])
            over = (holds.peak[at] - holds.settled[at]) / (holds.settled[at] - holds.initial[at])
            tally["overshoot"].note(pump.overshoot, 100 * over)
        truth = 200 * float(settled[0] - settled[1]) / float(settled[0] + settled[1])
        tally["imbalance"].note(loading.imbalance, truth)
    return tally


def report(found: dict[str, Tally], valves: str, measured: Callable[..., None]) -> None:
    """One row a figure, with why figures were absent."""
    for name, tally in found.items():
        why = "; ".join(f"{n} × {reason}" for reason, n in tally.absent.most_common(2))
        measured(
            f"{name}, {valves} valves: k = 2 intervals that hold the truth",
            tally.share,
            "%",
            note=f"of {tally.given} figures, median ± {np.median(tally.widths):.3g}"
            + (f"; absent: {why}" if why else ""),
        )


LEAST, MOST = 94.0, 99.0
WIDEST = {"peak": 4e5, "t50": 0.006, "settle": 0.010, "overshoot": 0.9, "crack time": 0.025}
"""Where what is not known is only bounded (a lag, how a pressure creeps into its band, an overshoot
that would not stand out, how far a relief opens before it shows), nearly all intervals hold; what
is asked of them is to be no wider than this in the median (Pa, s, points). The transducers here
have no hysteresis, for which an overshoot's interval leaves room."""


def test_coverage(measured: Callable[..., None]) -> None:
    """94 to 99 % of the intervals hold the truth, or more where they are narrow all the same."""
    whole: dict[str, Tally] = {}
    for number, (kind, valves) in enumerate(VALVES.items()):
        found = tallies(COUNT, valves, SEED + number)
        report(found, kind, measured)
        for name, tally in found.items():
            assert tally.share >= 92.0, (kind, name)
            into = whole.setdefault(name, Tally())
            into.held, into.given = into.held + tally.held, into.given + tally.given
            into.widths += tally.widths
    report(whole, "all", measured)
    for name, tally in whole.items():
        assert tally.given >= 2 * COUNT, name
        assert tally.share >= LEAST, name
        assert tally.share <= MOST or np.median(tally.widths) <= WIDEST.get(name, 0.0), name
