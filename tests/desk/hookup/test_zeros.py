"""Zeros are read with the new zeros in force: never through the kit that was open before."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, cast

import numpy as np
import pytest

from gaugebench.desk.hookup.workbench import SETTLED_S, Workbench
from gaugebench.desk.shown import Shown
from gaugebench.model.arrays import F64, U16
from gaugebench.model.channel import StreamSpec
from gaugebench.model.kit import Kit, kit_from

if TYPE_CHECKING:
    from gaugebench.desk.live.feed import Feed

BAR = 1e5
NOW = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
KIT = {
    "source": [
        {
            "driver": "text-lines",
            "channel": [
                {"input": "P1", "unit": "bar", "role": "pump1.main", "range": ["0 bar", "600 bar"]}
            ],
        }
    ]
}


@dataclass(frozen=True, slots=True, eq=False)
class Window:
    times: F64
    values: F64
    quality: U16


@dataclass(frozen=True, slots=True)
class Still:
    """A kit at rest whose transducer is a little off; what its zero takes off is taken off."""

    kit: Kit
    at_s: float
    off_pa: float = 1.2 * BAR

    @property
    def streams(self) -> tuple[StreamSpec, ...]:
        return (StreamSpec("kit", self.kit.source[0].channels()),)

    def now_s(self) -> float:
        return self.at_s

    def window(self, _stream: int, seconds: float) -> Window:
        noise = np.random.default_rng(5).normal(0.0, 0.02 * BAR, 200)
        zero = self.streams[0].channels[0].chain.zero
        times = self.at_s - seconds + np.arange(200) * seconds / 200
        values = (noise + self.off_pa - zero)[:, None]
        return Window(times, values, np.zeros((200, 1), np.uint16))


def _feed(kit: Kit, at_s: float) -> Feed:
    return cast("Feed", Still(kit, at_s))


@pytest.fixture
def bench() -> Workbench:
    made = Workbench()
    kit = kit_from(KIT)
    made.use(kit)
    made.attach(_feed(kit, 60.0))  # open for a minute before anyone thinks of zeros
    return made


def test_a_zero_is_read_through_the_kit_that_has_it(bench: Workbench) -> None:
    assert bench.take_zeros(Shown(), NOW)
    assert bench.check_taken_zeros(NOW) == ()
    assert not bench.visit.zeros
    bench.attach(None)
    kit = bench.draft.kit
    assert kit is not None
    bench.attach(_feed(kit, 0.5))
    assert bench.check_taken_zeros(NOW) == ()  # it has not settled yet
    bench.attach(_feed(kit, SETTLED_S + 0.5))
    (zero,) = bench.check_taken_zeros(NOW)
    assert zero.moment == "before"
    assert zero.taken_off_pa == pytest.approx(1.2 * BAR, abs=0.01 * BAR)
    assert zero.reading_pa == pytest.approx(0.0, abs=0.01 * BAR)
    assert bench.check_taken_zeros(NOW) == ()


def test_zeros_of_another_kit_are_not_waited_for(bench: Workbench) -> None:
    assert bench.take_zeros(Shown(), NOW)
    bench.attach(None)
    kit = kit_from(KIT)
    bench.use(kit)
    bench.attach(_feed(kit, 9.0))
    assert bench.check_taken_zeros(NOW) == ()
    assert not bench.visit.zeros
