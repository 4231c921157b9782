"""One reader, step by step on a clock moved by hand, with a driver that does as it is told."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence

import numpy as np
import pytest

from gaugebench.acquire.acquisition import Acquisition
from gaugebench.acquire.clock import ManualClock, SystemClock
from gaugebench.acquire.ports import PortInfo
from gaugebench.driver import (
    Batch,
    Clock,
    Driver,
    Input,
    Notice,
    PortOptions,
    Reading,
    Reject,
    Source,
    Stream,
)
from gaugebench.errors import DriverError, KitError, SourceError, SourceLost
from gaugebench.model.block import Block
from gaugebench.model.event import Event, GapSeen, Rejected, SourceSaid
from gaugebench.model.kit import kit_from
from gaugebench.model.quality import Quality

STREAMS = (
    Stream("fast", (Input("A", "bar"), Input("B", "bar")), 100.0),
    Stream("slow", (Input("C", "°C"),), 1.0),
)


class FakeSource(Source):
    def __init__(self, driver: FakeDriver) -> None:
        self._driver = driver
        self.is_open = True

    @property
    def streams(self) -> tuple[Stream, ...]:
        return self._driver.streams

    def read(self, timeout_s: float) -> Reading:
        if not self._driver.script:
            return Reading()
        step = self._driver.script.pop(0)
        if isinstance(step, Exception):
            raise step
        return step() if callable(step) else step

    def close(self) -> Reading:
        if not self.is_open:
            return Reading()
        self.is_open = False
        return Reading(rejects=[Reject("cut off", b"half", 0.0)])


class FakeDriver(Driver[PortOptions]):
    name = "fake"
    summary = "does as it is told"
    options = PortOptions

    def __init__(self) -> None:
        self.streams: tuple[Stream, ...] = STREAMS
        self.script: list[Reading | Exception | Callable[[], Reading]] = []
        self.refusals: list[Exception] = []
        self.opened: list[str] = []
        self.sources: list[FakeSource] = []

    def open(self, options: PortOptions, inputs: Sequence[Input], clock: Clock) -> Source:
        self.opened.append(options.port)
        if self.refusals:
            raise self.refusals.pop(0)
        self.sources.append(FakeSource(self))
        return self.sources[-1]


class Rig:
    """An acquisition of one fake source that is stepped by hand."""

    def __init__(self, *channels: tuple[str, str], fed: str = "") -> None:
        self.clock = ManualClock(1000.0)
        self.driver = FakeDriver()
        self.events: list[Event] = []
        self.ports: list[PortInfo] = []
        entries: list[dict[str, object]] = [
            {"input": n, "unit": u} for n, u in channels or (("B", "bar"), ("C", "°C"))
        ]
        if fed:
            span = ["0 bar", "600 bar"]
            entries.append({"input": "P", "signal": "0.5-4.5 V", "range": span, "supply": fed})
        source = {
            "driver": "fake",
            "name": "kit",
            "options": {"port": "/dev/x"},
            "channel": entries,
        }
        self.acquisition = Acquisition(
            kit_from({"schema": 1, "source": [source]}),
            self.clock,
            self.events.append,
            loader=lambda _: self.driver,
            lister=lambda: self.ports,
        )

    def step(self, *script: Reading | Exception) -> None:
        self.driver.script += script
        for _ in script or (None,):
            self.acquisition.readers[0].step()

    def of(self, kind: type[Event]) -> list[Event]:
        return [e for e in self.events if isinstance(e, kind)]

    @property
    def said(self) -> list[tuple[str, bool]]:
        return [(e.text, e.alive) for e in self.events if isinstance(e, SourceSaid)]

    def fast(self, *values: float) -> Reading:
        rows = np.array([[v, 10 * v] for v in values])
        return Reading([Batch(0, rows, np.full(len(rows), self.clock.now()))])


def test_streams_hold_what_the_kit_names_in_its_order() -> None:
    rig = Rig(("C", "degC"), ("B", "bar"))
    rig.acquisition.open()
    assert [s.name for s in rig.acquisition.streams] == ["kit/fast", "kit/slow"]
    assert [[c.name for c in s.channels] for s in rig.acquisition.streams] == [["B"], ["C"]]
    assert all(s.time_estimated for s in rig.acquisition.streams)
    rig.clock.sleep(2.0)
    rig.step(rig.fast(1.0))
    (block,) = [e for e in rig.events if isinstance(e, Block)]
    assert (block.stream, block.raw.tolist(), block.times.tolist()) == (0, [[10.0]], [2.0])
    rig.acquisition.stop()


@pytest.mark.parametrize(
    ("channel", "said"),
    [
        (("D", "bar"), "no input “D”; its inputs are A, B, C"),
        (("C", "°F"), "is in °C; the kit says °F"),
    ],
)
def test_a_kit_that_does_not_fit_is_refused_and_the_source_let_go(
    channel: tuple[str, str], said: str
) -> None:
    rig = Rig(channel)
    with pytest.raises(KitError, match=said):
        rig.acquisition.open()
    assert not rig.driver.sources[0].is_open


def test_a_supply_must_be_sampled_together_with_its_signal() -> None:
    volts = Input("V5", "V")
    for streams, fits in (
        ((Stream("all", (volts, Input("P", "V"))),), True),
        ((Stream("fast", (Input("P", "V"),)), Stream("slow", (volts,))), False),
    ):
        rig = Rig(("V5", "V"), fed="V5")
        rig.driver.streams = streams
        if fits:
            rig.acquisition.open()
            (spec,) = rig.acquisition.streams
            assert [c.chain.supply for c in spec.channels] == ["", "V5"]
            rig.acquisition.stop()
            continue
        with pytest.raises(KitError, match="“V5” of “P” is not sampled together"):
            rig.acquisition.open()
        assert not rig.driver.sources[0].is_open


def test_a_lost_source_is_tried_again_less_and_less_often() -> None:
    rig = Rig()
    rig.acquisition.open()
    rig.step(rig.fast(1.0))
    rig.driver.refusals = [SourceError("Not yet.") for _ in range(100)]
    rig.step(SourceLost("The plug was pulled."))
    assert rig.said == [("The plug was pulled.", False)]
    for _ in range(1000):
        rig.clock.sleep(0.01)
        rig.step()
    assert 5 <= len(rig.driver.opened) - 1 <= 9, "in ten seconds"
    ((text, alive),) = rig.said[1:]
    assert text.startswith("There is no /dev/x; check that the kit is plugged in"), "said once"
    assert not alive
    rig.driver.refusals = []
    rig.clock.sleep(2.1)
    rig.step()
    assert rig.acquisition.health()[0].alive
    rig.step(rig.fast(2.0))
    (gap,) = [e.gap for e in rig.events if isinstance(e, GapSeen)]
    assert (gap.why, gap.stream) == ("the source was lost", "kit/fast")
    last = [e for e in rig.events if isinstance(e, Block)][-1]
    assert last.quality[0, 0] & Quality.AFTER_GAP
    assert last.first == 1
    rig.acquisition.stop()
    rejects = [e for e in rig.events if isinstance(e, Rejected)]
    assert [(r.kind, r.samples) for r in rejects] == [("cut off", (b"half",))] * 2


def test_it_is_found_again_by_its_serial_number() -> None:
    rig = Rig()
    port = PortInfo("/dev/x", "", 0x1209, 1, "K-7", "1-2")
    rig.ports = [port]
    rig.acquisition.open()
    rig.ports = []
    rig.step(SourceLost("Gone."))
    rig.clock.sleep(1.0)
    rig.step()
    assert rig.said[-1] == ("/dev/x is not plugged in.", False)
    rig.ports = [PortInfo("/dev/y", "", 0x1209, 1, "K-7", "1-4")]
    rig.clock.sleep(2.0)
    rig.step()
    assert rig.driver.opened == ["/dev/x", "/dev/y"]
    assert rig.said[-1] == ("“kit” is back on /dev/y.", True)
    rig.acquisition.stop()


def test_the_user_may_say_where_it_is() -> None:
    rig = Rig()
    rig.ports = [PortInfo("/dev/x", "", 0x1A86, 2, "", "1-2")]
    rig.acquisition.open()
    rig.ports = [PortInfo("/dev/y", "", 0x1A86, 2, "", "1-3")]
    rig.step(SourceLost("Gone."))
    rig.clock.sleep(1.0)
    rig.step()
    assert "look alike; say which" in rig.said[-1][0]
    rig.acquisition.use_port("kit", "/dev/y")
    rig.clock.sleep(2.0)
    rig.step()
    assert rig.driver.opened == ["/dev/x", "/dev/y"]
    with pytest.raises(SourceError, match="no source “other”"):
        rig.acquisition.use_port("other", "/dev/y")
    rig.acquisition.stop()


def test_another_device_in_its_place_is_not_taken_for_it() -> None:
    rig = Rig()
    rig.acquisition.open()
    rig.step(SourceLost("Gone."))
    rig.driver.streams = STREAMS[:1]
    rig.clock.sleep(1.0)
    rig.step()
    assert rig.said[-1] == ("What came back as “kit” is another device.", False)
    assert not rig.driver.sources[-1].is_open
    rig.driver.streams = STREAMS
    rig.clock.sleep(2.1)
    rig.step()
    assert rig.acquisition.health()[0].alive
    rig.acquisition.stop()


def test_silence_is_told_and_its_end() -> None:
    rig = Rig()
    rig.acquisition.open()
    rig.clock.sleep(2.9)
    rig.step()
    assert rig.said == [], "a board that was reset takes its time"
    rig.step(rig.fast(1.0))
    rig.clock.sleep(4.9)
    rig.step()
    assert rig.said == [], "its slow stream comes once a second"
    rig.clock.sleep(0.2)
    rig.step()
    rig.step()
    assert rig.said == [("Nothing that can be read has come from “kit”.", False)]
    rig.step(rig.fast(1.0))
    assert rig.said[-1] == ("“kit” delivers again.", True)
    rig.acquisition.stop()


def test_a_restart_that_the_driver_tells_settles_all_its_streams() -> None:
    rig = Rig()
    rig.acquisition.open()
    rig.step(rig.fast(1.0))
    rig.clock.sleep(0.1)
    notice = Notice("BOOT", rig.clock.now(), restarted=True)
    rig.step(Reading(notices=[notice]), rig.fast(2.0))
    assert rig.said == [("BOOT", True)]
    last = [e for e in rig.events if isinstance(e, Block)][-1]
    assert last.quality[0, 0] & Quality.SETTLING
    assert rig.acquisition.health()[0].said == "BOOT"
    rig.acquisition.stop()


def test_a_driver_that_breaks_the_contract_ends_its_reader_alone_and_is_named() -> None:
    rig = Rig()
    rig.acquisition.open()
    wrong = Batch(0, np.zeros((3, 1)), np.zeros(3))
    with pytest.raises(DriverError, match=r"“fake” handed back \(3, 1\) values .* for 2 inputs"):
        rig.step(Reading([wrong]))
    rig.acquisition.stop()


def test_a_fault_on_the_thread_is_kept_and_shown() -> None:
    rig = Rig()
    rig.driver.script = [ZeroDivisionError("a slip of the plugin")]
    rig.acquisition.start()
    reader = rig.acquisition.readers[0]
    for thread in threading.enumerate():
        if thread.name == "gaugebench-read-kit":
            thread.join(5)
    (health,) = rig.acquisition.health()
    assert not health.alive
    assert isinstance(health.fault, ZeroDivisionError)
    assert isinstance(reader.fault, ZeroDivisionError)
    assert rig.said[-1] == ("Reading ended: ZeroDivisionError: a slip of the plugin", False)
    assert not rig.driver.sources[0].is_open
    rig.acquisition.stop()


def test_a_plugin_that_fails_in_opening_leaves_nothing_open() -> None:
    first, second = FakeDriver(), FakeDriver()
    second.refusals = [ZeroDivisionError("a slip of the plugin")]
    drivers = iter([first, second])
    sources = [
        {"driver": "fake", "name": n, "options": {"port": "x"},
         "channel": [{"input": "A", "unit": "bar"}]} for n in "ab"
    ]  # fmt: skip
    acquisition = Acquisition(
        kit_from({"schema": 1, "source": sources}),
        SystemClock(),
        lambda _: None,
        loader=lambda _: next(drivers),
        lister=lambda: (),
    )
    with pytest.raises(ZeroDivisionError):
        acquisition.start()
    assert not first.sources[0].is_open
    acquisition.stop()


def test_a_driver_that_does_not_let_go_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("gaugebench.acquire.reader.JOIN_S", 0.2)
    rig = Rig()
    release = threading.Event()

    def stuck() -> Reading:
        release.wait(10)
        return Reading()

    rig.driver.script = [stuck]
    rig.acquisition.start()
    with pytest.raises(SourceError, match="its driver “fake” waits longer than it may"):
        rig.acquisition.stop()
    release.set()


def test_what_arrived_before_stopping_is_handed_on() -> None:
    rig = Rig()
    rig.acquisition.open()
    rig.driver.script = [rig.fast(1.0), rig.fast(2.0), rig.fast(3.0)]
    rig.acquisition.stop()
    assert sum(len(e) for e in rig.events if isinstance(e, Block)) == 3
    rig.acquisition.stop()
