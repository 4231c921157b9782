"""Driver `firmata` against a byte-level peer."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pytest
from gaugebench_drivers.firmata import DRIVER, FirmataOptions

from gaugebench.acquire.clock import ManualClock, SystemClock
from gaugebench.driver import Clock, Input, Reading, Source
from gaugebench.errors import SourceError
from gaugebench.wire.firmata import encode_analog

if TYPE_CHECKING:
    from tests.conftest import PtyLine

SET_UP = b"\xf9" + b"\xf0\x7a\x0a\x00\xf7" + b"\xc1\x01\xc0\x01"


def opened(line: PtyLine, clock: Clock | None = None) -> Source:
    options = FirmataOptions(port=str(line.path), interval_ms=10)
    return DRIVER.open(options, (Input("A1", "V"), Input("A0", "V")), clock or SystemClock())


def rows(reading: Reading) -> list[list[float]]:
    return [row for b in reading.batches for row in b.raw.tolist()]


def test_the_board_is_told_what_to_send(line: PtyLine) -> None:
    source = opened(line)
    assert source.streams[0].rate_hz == 100.0
    assert line.received(len(SET_UP)) == SET_UP
    source.close()
    assert line.received(4) == b"\xc1\x00\xc0\x00"


def test_a_board_that_did_not_hear_is_told_again(line: PtyLine) -> None:
    clock = ManualClock()
    source = opened(line, clock)
    line.received(len(SET_UP))
    source.read(0.0)
    assert line.received(1, 0.05) == b""
    clock.sleep(1.1)
    source.read(0.0)
    assert line.received(len(SET_UP)) == SET_UP
    line.send(encode_analog(0, 1) + encode_analog(1, 2))
    assert rows(source.read(0.5)) == [[2 * 5 / 1024, 1 * 5 / 1024]]
    clock.sleep(5)
    source.read(0.0)
    assert line.received(1, 0.05) == b""
    source.close()


def test_a_round_that_lacks_a_pin_is_a_row_with_a_missing_value(line: PtyLine) -> None:
    source = opened(line)
    line.send(
        encode_analog(0, 512) + encode_analog(0, 256) + encode_analog(1, 1024)
        + encode_analog(7, 99)
    )  # fmt: skip
    found = rows(source.read(0.5))
    assert [[math.isnan(v) for v in row] for row in found] == [[True, False], [True, False]]
    assert [row[1] for row in found] == [2.5, 1.25], "1024 is above full scale: no reading"
    source.close()


def test_a_board_that_restarts_is_told_again_and_says_so(line: PtyLine) -> None:
    clock = ManualClock()
    source = opened(line, clock)
    line.received(len(SET_UP))
    line.send(b"\xf9\x02\x05" + encode_analog(0, 1))
    assert source.read(0.5) == Reading(), "its answer to our question"
    clock.sleep(10)
    line.send(encode_analog(1, 1) + b"\xf9\x02\x05")
    assert rows(source.read(0.5)) == [[5 / 1024, 5 / 1024]]
    reading = source.read(0.5)
    assert [n.restarted for n in reading.notices] == [True]
    assert line.received(len(SET_UP)) == SET_UP
    source.close()


@pytest.mark.parametrize("name", ["A16", "D3", "P1", "A01"])
def test_an_input_that_is_no_pin_is_refused(line: PtyLine, name: str) -> None:
    with pytest.raises(SourceError, match="no analog input; they are A0 to A15"):
        DRIVER.open(FirmataOptions(port=str(line.path)), (Input(name, "V"),), SystemClock())
