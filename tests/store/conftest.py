"""Small traces and set-ups that the tests of the store share."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime

import numpy as np
import pytest

from gaugebench.errors import GaugebenchError
from gaugebench.model.block import Block
from gaugebench.model.channel import Channel, StreamSpec
from gaugebench.model.conditioning import Chain, Wiring
from gaugebench.model.event import Setup
from gaugebench.model.mark import Mark, MarkKind, Standing
from gaugebench.model.role import Role
from gaugebench.model.trace import Gap, Particulars, Series, Trace
from gaugebench.quantity import Dimension, Reference

CHAIN = Chain(Wiring.RATIOMETRIC, range_low=0.0, range_high=6e7)
PRESSURES = tuple(
    Channel(f"P{n}", Role.main(n), reference=Reference.GAUGE, raw_unit="V", chain=CHAIN)
    for n in (1, 2)
)
SPEED = Channel("rpm", Role("engine.speed"), Dimension.SPEED, raw_unit="rpm")


@pytest.fixture(autouse=True)
def _every_error_is_a_sentence(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Whatever a test provokes, a person could read: checked where an error is made."""
    made: set[str] = set()

    def begin(self: GaugebenchError, *said: object) -> None:
        assert len(said) == 1
        made.add(said[0] if isinstance(said[0], str) else f"{said[0]!r}, which is no text")
        Exception.__init__(self, *said)

    monkeypatch.setattr(GaugebenchError, "__init__", begin)
    yield
    unfit = {text for text in made if not text.endswith((".", "?")) or "\n" in text}
    assert not unfit


@pytest.fixture
def setup() -> Setup:
    """A kit with two streams: two main pressures at 1 kHz, engine speed at 10 Hz."""
    return Setup(
        (StreamSpec("kit", PRESSURES, 1000.0), StreamSpec("engine", (SPEED,), 10.0)),
        datetime(2026, 3, 4, 10, 0, tzinfo=UTC),
        kit={"name": "kit", "source": [{"driver": "text-lines", "channel": [{"input": "P1"}]}]},
        particulars=Particulars(machine="Harrow 210", serial="HX-7", hour_meter_h=5120.5),
        origin="recorded through the kit “kit”",
    )


@pytest.fixture
def small_trace(setup: Setup) -> Trace:
    """Two pressures at 1 kHz for 2 s with a missing sample, engine speed at 10 Hz, one gap."""
    random = np.random.default_rng(11)
    times = np.arange(2000, dtype=np.float64) * 1e-3
    slow = np.arange(20, dtype=np.float64) * 0.1
    series = []
    for channel in PRESSURES:
        raw = np.round(random.uniform(0.5, 4.5, 2000), 4)
        raw[7] = np.nan
        values, quality = CHAIN.apply(raw, np.zeros(2000, np.uint16))
        series.append(Series(channel, times, values, quality, "kit", raw))
    speed = np.full(20, 1850.0)
    series.append(Series(SPEED, slow, speed, np.zeros(20, np.uint16), "engine", speed))
    return Trace(
        tuple(series),
        started=setup.started,
        origin=setup.origin,
        particulars=setup.particulars,
        marks=(Mark("note/1", MarkKind.NOTE, 0.5, Standing.BY_HAND, note="boom up"),),
        gaps=(Gap("kit", 1.0, 1.001, 3, "overrun"),),
        rejects={"garbled": 2},
        remarks=("A remark.",),
        kit=setup.kit,
    )


def _blocks(seed: int, count: int, rows: int) -> list[Block]:
    random = np.random.default_rng(seed)
    found = []
    for index in range(count):
        times = np.arange(index * rows, (index + 1) * rows, dtype=np.float64) * 1e-3
        raw = np.round(random.uniform(0.5, 4.5, (rows, 2)), 4)
        found.append(Block(0, index * rows, times, raw, np.zeros((rows, 2), np.uint16)))
    return found


@pytest.fixture
def blocks() -> Callable[..., list[Block]]:
    """Consecutive blocks of the first stream of `setup`: call with seed, count, rows."""
    return _blocks
