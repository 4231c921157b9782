"""Driver `text-lines` over a real pseudo-terminal."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from gaugebench_drivers.text_lines import DRIVER, TextLineOptions
from pydantic import ValidationError

from gaugebench.acquire.clock import ManualClock, SystemClock
from gaugebench.driver import Input, Reading, Source
from gaugebench.errors import SourceError, SourceLost

if TYPE_CHECKING:
    from tests.conftest import PtyLine

INPUTS = (Input("P1", "bar"), Input("P2", "bar"))


def opened(line: PtyLine, **options: Any) -> Source:
    checked = TextLineOptions.model_validate({"port": str(line.path), "time": "t", **options})
    return DRIVER.open(checked, INPUTS, SystemClock())


def read_until(source: Source, enough: Callable[[list[Reading]], bool]) -> list[Reading]:
    got: list[Reading] = []
    until = time.monotonic() + 30
    while not enough(got):
        assert time.monotonic() < until, f"only {got} came"
        got.append(source.read(0.05))
    return got


def rows(readings: list[Reading]) -> list[list[float]]:
    return [row for r in readings for b in r.batches for row in b.raw.tolist()]


def kinds(readings: list[Reading]) -> list[str]:
    return [x.kind for r in readings for x in r.rejects]


def test_a_stream_joined_midway_and_cut_anywhere(line: PtyLine) -> None:
    source = opened(line)
    got: list[Reading] = []
    for piece in (
        b"7.4,212.0\r\n100",
        b"0,187.",
        b"4,188.1\r",
        b"\n1010,187.5,188.0\n1020,187.6,18",
        b"8.2\r",
    ):
        line.send(piece)
        got.append(source.read(0.2))
    got += read_until(source, lambda r: len(rows(got + r)) >= 3)
    assert rows(got) == [[187.4, 188.1], [187.5, 188.0], [187.6, 188.2]]
    device = np.concatenate([b.device_s for r in got for b in r.batches if b.device_s is not None])
    np.testing.assert_allclose(device, [1.0, 1.01, 1.02])
    assert kinds(got) == ["first line"]
    assert source.close() == Reading()


def test_nothing_there_waits_as_long_as_told_and_no_longer(line: PtyLine) -> None:
    source = opened(line)
    began = time.monotonic()
    assert source.read(0.2) == Reading()
    assert time.monotonic() - began > 0.15, "and no longer: conformance.check_waiting"
    assert source.read(0.0) == Reading()
    source.close()


def test_unplugging_is_told_after_what_had_been_read(line: PtyLine) -> None:
    source = opened(line)
    line.send(b"\n1,2,3\n2,3")
    assert rows(read_until(source, lambda r: bool(rows(r)))) == [[2.0, 3.0]]
    line.unplug()
    with pytest.raises(SourceLost, match="ttyKIT0"):
        read_until(source, lambda _: False)
    left = source.close()
    assert [(r.kind, r.raw) for r in left.rejects] == [("cut off", b"2,3")]
    source.close()


def test_a_port_that_is_not_there_or_is_taken_is_refused(line: PtyLine) -> None:
    source = opened(line)
    with pytest.raises(SourceError, match="ttyKIT0 cannot be opened"):
        opened(line)
    source.close()
    opened(line).close()
    line.unplug()
    with pytest.raises(SourceError, match="ttyKIT0 cannot be opened"):
        opened(line)


def test_a_banner_splits_what_arrived_and_says_that_the_board_restarted(line: PtyLine) -> None:
    source = opened(line, banner="BOOT")
    line.send(b"BOOT kit v1\r\n5010,1,1\r\n5020,2,2\r\nBOOT kit v1\r\n0,3,3\r\n10,4,4\r\n")
    got = read_until(source, lambda r: len(rows(r)) == 4)
    filled = [r for r in got if r != Reading()]
    assert [[n.restarted for n in r.notices] for r in filled] == [[True], [True]]
    assert [rows([r]) for r in filled] == [[[1.0, 1.0], [2.0, 2.0]], [[3.0, 3.0], [4.0, 4.0]]]
    source.close()


def test_rows_before_the_banner_belong_to_the_time_before_the_reset(line: PtyLine) -> None:
    source = opened(line, banner="BOOT")
    line.send(b"\n5010,1,1\r\n5020,2,2\r\nBOOT kit v1\r\n0,3,3\r\n")
    got = read_until(source, lambda r: bool(rows(r)))
    assert rows(got) == [[3.0, 3.0]]
    assert kinds(got) == ["before the banner"] * 2
    source.close()


def test_rows_are_taken_when_the_banner_never_comes(line: PtyLine) -> None:
    clock = ManualClock()
    options = TextLineOptions(port=str(line.path), banner="BOOT", time="t")
    source = DRIVER.open(options, INPUTS, clock)
    clock.sleep(3.1)
    line.send(b"\n5010,1,1\r\n")
    assert rows(read_until(source, lambda r: bool(rows(r)))) == [[1.0, 1.0]]
    source.close()


def test_a_heading_is_told_once(line: PtyLine) -> None:
    source = opened(line)
    line.send(b"\nt_ms,P1 (bar),P2 (bar)\nhello there\nt_ms,P1 (bar),P2 (bar)\n1,2,3\n")
    got = read_until(source, lambda r: bool(rows(r)))
    notices = [n.text for r in got for n in r.notices]
    assert notices == ["The board calls its columns t_ms, P1 (bar), P2 (bar)."]
    assert kinds(got) == ["text"] * 3
    source.close()


def test_a_board_that_must_be_asked(line: PtyLine) -> None:
    clock = ManualClock()
    options = TextLineOptions(port=str(line.path), query="?\r", query_every_s=1.0)
    source = DRIVER.open(options, INPUTS, clock)
    assert source.streams[0].rate_hz == 1.0
    source.read(0.0)
    source.read(0.0)
    assert line.received(2) == b"?\r"
    assert line.received(1, 0.1) == b"", "asked twice in one interval"
    clock.sleep(1.0)
    source.read(0.0)
    assert line.received(2) == b"?\r"
    line.send(b"\n1,2\n")
    assert rows(read_until(source, lambda r: bool(rows(r)))) == [[1.0, 2.0]]
    source.close()


def test_columns_may_be_left_out_and_put_in_order(line: PtyLine) -> None:
    source = opened(line, columns=["P2", "-", "t", "P1"], delimiter=";", decimal_comma=True)
    line.send(b"\n188,5;x;10;187,4\n")
    got = read_until(source, lambda r: bool(rows(r)))
    assert rows(got) == [[187.4, 188.5]]
    assert source.streams[0].device_wrap_s == pytest.approx(4294967.296)
    source.close()


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"columns": ["P1", "P1", "t"]}, "two columns"),
        ({"columns": ["P1", "P2"]}, "not among the columns"),
        ({"decimal_comma": True}, "delimiter cannot be a comma"),
        ({"bauds": 9600}, "Extra inputs"),
        ({"port": ""}, "at least 1 character"),
        ({"baud": "fast"}, "valid integer"),
    ],
)
def test_wrong_options_are_refused(options: dict[str, Any], said: str) -> None:
    with pytest.raises(ValidationError, match=said):
        TextLineOptions.model_validate({"port": "x", "time": "t", **options})


def test_an_input_that_is_no_column_is_refused(line: PtyLine) -> None:
    with pytest.raises(SourceError, match="“P2” is not among the columns"):
        opened(line, columns=["t", "P1"])
