from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from gaugebench.model.channel import Channel, StreamSpec
from gaugebench.model.kit import kit_from
from gaugebench.model.mark import MarkKind
from gaugebench.model.role import Role
from gaugebench.session.alarms import Alarms

BAR = 1e5


def alarms() -> Alarms:
    watched = Channel("p1", Role.main(1), alarm=350 * BAR)
    return Alarms((StreamSpec("kit", (Channel("pilot"), watched)),))


def rows(*bar: float) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    return np.column_stack([np.zeros(len(bar)), np.array(bar) * BAR])


def test_passing_the_limit_is_one_mark_with_its_instant_and_pressure() -> None:
    (mark,) = alarms().look(0, np.arange(5.0), rows(300, 349, 352, 360, 351))
    assert (mark.kind, mark.time_s, mark.pressure_pa) == (MarkKind.ALARM, 2.0, 352 * BAR)
    assert mark.pump == 1
    assert "pump1.main" in mark.note


def test_noise_at_the_limit_is_one_alarm_and_a_real_return_another() -> None:
    found = alarms().look(0, np.arange(8.0), rows(351, 349, 351, 348, 352, 300, 200, 355))
    assert [m.time_s for m in found] == [0.0, 7.0]
    assert len({m.key for m in found}) == 2


def test_what_is_missing_neither_alarms_nor_arms_again() -> None:
    found = alarms().look(0, np.arange(4.0), rows(351, np.nan, np.nan, 352))
    assert [m.time_s for m in found] == [0.0]


@given(st.lists(st.floats(0, 700), min_size=1, max_size=60), st.integers(1, 7))
def test_the_size_of_the_blocks_makes_no_difference(bar: list[float], size: int) -> None:
    times, values = np.arange(float(len(bar))), rows(*bar)
    whole = alarms().look(0, times, values)
    pieces = alarms()
    split = [
        mark
        for start in range(0, len(bar), size)
        for mark in pieces.look(0, times[start : start + size], values[start : start + size])
    ]
    assert tuple(split) == whole


def test_a_kit_states_the_limit_with_its_unit() -> None:
    entry = {"input": "p1", "role": "pump1.main", "unit": "bar", "alarm": "35 MPa"}
    kit = kit_from({"source": [{"driver": "x", "channel": [entry]}]})
    assert kit.source[0].channel[0].to_channel().alarm == 350 * BAR
