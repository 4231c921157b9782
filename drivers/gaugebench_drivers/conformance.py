"""What every driver must do, as checks that a test calls; see drivers/README.md.

A test gives a `Bench`: the driver, and the far end of its line. `check` opens the driver on it and
raises `AssertionError` with one sentence for the first promise that is broken.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from pydantic import ValidationError

from gaugebench.driver import Batch, Driver, Input, Reading, Source
from gaugebench.errors import SourceError, SourceLost
from gaugebench.model.arrays import F64

WAIT_S = 0.1
SLACK_S = 0.5
"""How much longer than told a read may take on a busy machine; one of `TRIES` must keep to it."""
TRIES = 3
LOST_WITHIN_READS = 10
"""A second's worth of reads of `WAIT_S`: counted, so that a busy machine breaks no promise."""
ENOUGH_S = 30.0


@dataclass(frozen=True, slots=True)
class Bench:
    """A driver and its peer.

    options, inputs: what it is opened with. send: makes the far end deliver rows and returns those
    of the first stream, shape (rows, inputs); for a driver that asks, the values that the next
    answers hold. is_asked: rows come as often as the driver asks, all alike. unplug: takes the
    device away, None where it cannot be done. serve: for a far end that must answer, called
    between two reads.
    """

    driver: Driver[Any]
    options: Mapping[str, Any]
    inputs: Sequence[Input]
    send: Callable[[], F64]
    is_asked: bool = False
    unplug: Callable[[], None] | None = None
    serve: Callable[[], None] | None = None


class _Clock:
    def now(self) -> float:
        return time.monotonic()

    def sleep(self, seconds: float) -> None:
        time.sleep(max(0.0, seconds))


CLOCK = _Clock()


def check(bench: Bench) -> None:
    """All checks, in an order in which the first to fail tells most."""
    check_words(bench)
    check_wrong_options(bench)
    check_rows(bench)
    check_waiting(bench)
    check_closing(bench)
    if bench.unplug is not None:
        check_unplugging(bench)


def check_words(bench: Bench) -> None:
    """The driver says who it is, and every option says what it is for."""
    driver = bench.driver
    _that(driver.name == driver.name.lower().strip() != "", "its name is lower case")
    _that(bool(driver.summary) and "\n" not in driver.summary, "its summary is one line")
    for name, option in driver.options.model_fields.items():
        _that(bool(option.description), f"the option “{name}” has a description")


def check_wrong_options(bench: Bench) -> None:
    """An option that it does not know is refused, not passed over."""
    try:
        bench.driver.options.model_validate({**bench.options, "no_such_option": 1})
    except ValidationError:
        return
    _that(holds=False, promise="an unknown option is refused")


def check_rows(bench: Bench) -> None:
    """Every row sent comes back, in order, with its value and a sensible time."""
    source = _open(bench)
    streams = source.streams
    names = [i.name for s in streams for i in s.inputs]
    for wanted in bench.inputs:
        _that(wanted.name in names, f"the input “{wanted.name}” is in one of its streams")
    _that(len(set(names)) == len(names), "no input is in two streams")
    began = CLOCK.now()
    expected = bench.send()
    found: list[Batch] = []
    while sum(len(b.raw) for b in found if b.stream == 0) < len(expected):
        _that(CLOCK.now() - began < ENOUGH_S, f"all {len(expected)} rows arrive; {found} did")
        found += _read(bench, source).batches
    for batch in found:
        _check_batch(batch, source, began)
    rows = np.concatenate([b.raw for b in found if b.stream == 0])
    if bench.is_asked:
        expected = np.repeat(expected[-1:], len(rows), axis=0)
    _that(rows.shape == expected.shape, "no row comes twice")
    _that(bool(np.allclose(rows, expected, equal_nan=True)), "rows have the values that were sent")
    _that(source.streams == streams, "its streams stay the same while it is open")
    source.close()


def _check_batch(batch: Batch, source: Source, began: float) -> None:
    stream = source.streams[batch.stream]
    rows = len(batch.raw)
    _that(batch.raw.shape == (rows, len(stream.inputs)), "a row has a value for every input")
    _that(batch.raw.dtype == np.float64, "values are float64")
    _that(not bool(np.isinf(batch.raw).any()), "a missing value is NaN, never infinite")
    _that(batch.arrival_s.shape == (rows,), "every row has its arrival")
    now = CLOCK.now()
    is_between = (batch.arrival_s >= began - 1.0) & (batch.arrival_s <= now)
    _that(bool(is_between.all()), "arrival is on the clock that was given")
    has_clock = stream.device_wrap_s is not None
    _that((batch.device_s is not None) == has_clock, "device time comes where it was announced")
    if batch.device_s is not None:
        _that(batch.device_s.shape == (rows,), "every row has its device time")
        wrap = stream.device_wrap_s or np.inf
        _that(bool((batch.device_s < wrap).all()), "device time is as sent, not unwrapped")


def check_waiting(bench: Bench) -> None:
    """A read waits no longer than it is told, and does not wait at all for 0."""
    source = _open(bench)
    for told in (0.0, WAIT_S):
        took = min(_duration(source, told) for _ in range(TRIES))
        _that(took < told + SLACK_S, f"a read told {told} s took {took:.3f} s")
    source.close()


def _duration(source: Source, told: float) -> float:
    began = CLOCK.now()
    source.read(told)
    return CLOCK.now() - began


def check_closing(bench: Bench) -> None:
    """Closing twice does no harm, and it can be opened again."""
    source = _open(bench)
    _that(isinstance(source.close(), Reading), "closing hands back what was held")
    source.close()
    _open(bench).close()


def check_unplugging(bench: Bench) -> None:
    """A device that went away is told by `SourceLost` within a second, and can be closed."""
    if bench.unplug is None:
        raise AssertionError("the bench cannot unplug")
    source = _open(bench)
    bench.send()
    _read(bench, source)
    bench.unplug()
    try:
        for _ in range(LOST_WITHIN_READS):
            source.read(WAIT_S)
    except SourceLost:
        pass
    else:
        _that(holds=False, promise="a lost device is told within a second")
    finally:
        source.close()
    try:
        _open(bench).close()
    except SourceError as fault:
        _that(str(fault).endswith("."), "an error is a sentence")
    else:
        _that(holds=False, promise="a device that is not there cannot be opened")


def _open(bench: Bench) -> Source:
    options = bench.driver.options.model_validate(dict(bench.options))
    return bench.driver.open(options, tuple(bench.inputs), CLOCK)


def _read(bench: Bench, source: Source) -> Reading:
    if bench.serve is not None:
        bench.serve()
    return source.read(0.02)


def _that(holds: bool, promise: str) -> None:
    if not holds:
        raise AssertionError(f"This promise of a driver is broken: {promise}.")
