"""The practice machine as a source, on a clock that the test moves."""

import numpy as np
import pytest

from gaugebench.acquire.acquisition import Acquisition
from gaugebench.acquire.clock import SystemClock
from gaugebench.driver import Input
from gaugebench.errors import SourceError
from gaugebench.model.block import Block
from gaugebench.model.event import Event, GapSeen
from gaugebench.model.kit import kit_from
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
    DRIVER.hands.switch("engine", 2050.0)
    for _ in range(30):
        clock.sleep(0.1)
        source.read(0.01)
    DRIVER.hands.lever("bucket", 1.0)
    try:
        clock.sleep(0.4)
        rows = [b.raw for _ in range(6) for b in source.read(0.01).batches]
    finally:
        DRIVER.hands.lever("bucket", 0.0)
    neutral = 0.5 + 4 * 23.4 / 600
    assert rows[-1][-1, 0] > neutral + 1.0


def test_an_input_it_has_not_is_refused_by_name() -> None:
    with pytest.raises(SourceError, match="no input “p3”"):
        DRIVER.open(PracticeOptions(), [Input("p3", "V")], HandClock())


@pytest.mark.parametrize("speed", [0.5, 4.0])
def test_at_another_speed_its_clock_keeps_to_the_hosts(speed: float) -> None:
    clock = HandClock()
    source = DRIVER.open(PracticeOptions(speed=speed), [Input("p1", "V")], clock)
    rate = source.streams[0].rate_hz
    assert rate == 200 * speed
    sent: list[float] = []
    while clock.time < 103.0:
        for batch in source.read(0.05).batches:
            assert batch.device_s is not None
            np.testing.assert_allclose(batch.arrival_s - 100.0, batch.device_s)
            sent += batch.device_s.tolist()
        clock.sleep(0.011)
    np.testing.assert_allclose(np.diff(sent), 1 / rate)
    assert len(sent) == pytest.approx(3 * rate, abs=0.1 * rate)


def test_at_another_speed_the_timing_sees_one_clock_and_no_gap() -> None:
    kit = kit_from(
        {
            "source": [
                {
                    "driver": "practice",
                    "options": {"speed": 4.0},
                    "channel": [{"input": "rpm", "role": "engine.speed", "unit": "rpm"}],
                }
            ]
        }
    )
    events: list[Event] = []
    acquisition = Acquisition(kit, SystemClock(), events.append)
    acquisition.start()
    SystemClock().sleep(1.2)
    acquisition.stop()
    assert acquisition.streams[0].rate_hz == 800.0
    assert not [e for e in events if isinstance(e, GapSeen)]
    times = np.concatenate([e.times for e in events if isinstance(e, Block)])
    np.testing.assert_allclose(np.diff(times), 1 / 800, rtol=0.01)
