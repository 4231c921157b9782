"""The practice machine as a source, on a clock that the test moves."""

import numpy as np
import pytest

from gaugebench.driver import Input
from gaugebench.errors import SourceError
from gaugebench.simulate.source import DRIVER, MachineSource, PracticeOptions
from gaugebench.simulate.visit import demo_script


class HandClock:
    def __init__(self) -> None:
        self.time = 100.0

    def now(self) -> float:
        return self.time

    def sleep(self, seconds: float) -> None:
        self.time += seconds


def test_samples_come_due_with_the_clock_and_none_is_left_out() -> None:
    clock = HandClock()
    source = MachineSource(demo_script(), clock)
    times: list[float] = []
    while clock.time < 101.0:
        for batch in source.read(0.05).batches:
            assert batch.raw.shape == (len(batch.arrival_s), 6)
            assert batch.device_s is not None
            assert (batch.arrival_s <= clock.time).all()
            times += batch.device_s.tolist()
        clock.sleep(0.013)
    assert np.allclose(times, np.arange(len(times)) / 200)
    assert len(times) >= 195


def test_inputs_come_in_the_order_they_are_asked_for() -> None:
    clock = HandClock()
    source = DRIVER.open(PracticeOptions(), [Input("rpm", "rpm"), Input("p1", "V")], clock)
    (batch,) = source.read(0.1).batches
    assert 2000 < batch.raw[0, 0] < 2060
    assert 0.5 < batch.raw[0, 1] < 0.8
    assert [i.name for i in source.streams[0].inputs] == ["rpm", "p1"]


def test_hands_move_the_machine_that_the_driver_opened() -> None:
    clock = HandClock()
    source = DRIVER.open(PracticeOptions(script="by hand"), [Input("p1", "V")], clock)
    source.read(0.1)
    DRIVER.hands.lever("bucket", 1.0)
    try:
        clock.sleep(0.4)
        rows = [b.raw for b in source.read(0.1).batches]
    finally:
        DRIVER.hands.lever("bucket", 0.0)
    neutral = 0.5 + 4 * 23.4 / 600
    assert rows[-1][-1, 0] > neutral + 1.0


def test_an_input_it_has_not_is_refused_by_name() -> None:
    with pytest.raises(SourceError, match="no input “p3”"):
        DRIVER.open(PracticeOptions(), [Input("p3", "V")], HandClock())
