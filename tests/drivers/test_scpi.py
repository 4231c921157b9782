"""Driver `scpi`: expected exchanges with an instrument."""

from __future__ import annotations

import struct
import time
from typing import TYPE_CHECKING, Any

import pytest
from gaugebench_drivers.scpi import DRIVER, ScpiOptions
from pydantic import ValidationError

from gaugebench.acquire.clock import ManualClock
from gaugebench.driver import Input, Reading, Source
from gaugebench.errors import SourceError

if TYPE_CHECKING:
    from tests.conftest import PtyLine

READ = {"send": "READ?", "inputs": ["V1", "V2"], "every_s": 0.05, "timeout_s": 0.2}
CLOCK = ManualClock()
"""Moved on by each read, so that a time-out is a number of reads and no matter of the machine."""


def step(source: Source) -> Reading:
    reading = source.read(0.01)
    CLOCK.sleep(0.01)
    return reading


def opened(line: PtyLine, *queries: dict[str, Any], **more: Any) -> Source:
    options = ScpiOptions.model_validate(
        {"port": str(line.path), "identify": False, **more, "query": list(queries)}
    )
    return DRIVER.open(options, [Input(n, "V") for n in queries[0]["inputs"]], CLOCK)


def asked(line: PtyLine, source: Source, query: bytes) -> list[Reading]:
    """Read until the query has come out, and check that it is this one."""
    got, heard, until = [], b"", time.monotonic() + 30
    while len(heard) < len(query) and time.monotonic() < until:
        got.append(step(source))
        heard += line.received(len(query) - len(heard), 0.01)
    assert heard == query
    return got


def answered(line: PtyLine, source: Source, answer: bytes) -> Reading:
    line.send(answer)
    until = time.monotonic() + 30
    while (reading := step(source)) == Reading():
        assert time.monotonic() < until
    return reading


def test_it_is_set_up_identified_and_asked(line: PtyLine) -> None:
    source = opened(line, READ, start=["SYST:REM", "*CLS"], identify=True)
    asked(line, source, b"SYST:REM\n*CLS\n*IDN?\n")
    reading = answered(line, source, b"NOBODY,METER,0,1.0\r\n")
    assert [n.text for n in reading.notices] == ["NOBODY,METER,0,1.0"]
    asked(line, source, b"READ?\n")
    reading = answered(line, source, b"+1.8750E+02, -5.0\r\n")
    assert [b.raw.tolist() for b in reading.batches] == [[[187.5, -5.0]]]
    source.close()


def test_an_instrument_that_does_not_say_who_it_is_is_read_all_the_same(line: PtyLine) -> None:
    source = opened(line, READ, identify=True)
    asked(line, source, b"*IDN?\n")
    got = asked(line, source, b"READ?\n")
    assert [x.kind for r in got for x in r.rejects] == ["no answer"]
    source.close()


def test_a_block_is_read(line: PtyLine) -> None:
    source = opened(line, {**READ, "block": "float32", "byte_order": "little"})
    asked(line, source, b"READ?\n")
    line.send(b"#18" + struct.pack("<f", 1.0)[:2])
    assert source.read(0.02) == Reading()
    reading = answered(line, source, struct.pack("<f", 1.0)[2:] + struct.pack("<f", -2.0) + b"\n")
    assert [b.raw.tolist() for b in reading.batches] == [[[1.0, -2.0]]]
    source.close()


@pytest.mark.parametrize(
    ("answer", "kind"),
    [(b"OVLD\n", "not numbers"), (b"1,2,3\n", "number of values"), (b"1.5", "no answer"),
     (b"\xff\xfe\n", "not numbers")],
)  # fmt: skip
def test_a_bad_answer_is_counted_and_the_next_is_taken(
    line: PtyLine, answer: bytes, kind: str
) -> None:
    source = opened(line, READ)
    asked(line, source, b"READ?\n")
    reading = answered(line, source, answer)
    assert [(x.kind, x.raw) for x in reading.rejects] == [(kind, answer)]
    asked(line, source, b"READ?\n")
    assert answered(line, source, b"1,2\n").batches[0].raw.tolist() == [[1.0, 2.0]]
    source.close()


def test_a_dead_query_backs_off_and_the_other_goes_on(line: PtyLine) -> None:
    slow = {"send": "TEMP?", "inputs": ["T"], "every_s": 0.05, "timeout_s": 0.1}
    source = opened(line, READ, slow)
    heard, rows, unanswered, until = b"", 0, 0, time.monotonic() + 60
    while rows < 40:
        assert time.monotonic() < until
        rows += sum(len(b.raw) for b in step(source).batches)
        heard += line.received(6, 0.001)
        while (end := heard.find(b"\n")) >= 0:
            if heard[:end] == b"READ?":
                line.send(b"1,2\n")
            else:
                unanswered += 1
            heard = heard[end + 1 :]
    assert 2 <= unanswered <= 8, "it is asked less and less often"
    source.close()


def test_wrong_options_are_refused(line: PtyLine) -> None:
    with pytest.raises(ValidationError, match="“V1” is given twice"):
        ScpiOptions.model_validate({"port": "x", "query": [READ, READ]})
    options = ScpiOptions.model_validate({"port": str(line.path), "query": [READ]})
    with pytest.raises(SourceError, match="“V9” is in the answer to no query"):
        DRIVER.open(options, [Input("V9", "V")], CLOCK)
