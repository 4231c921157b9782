"""CAN frames as text lines, against python-can's reading of the same lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

import can
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebench.wire.slcan import BadLine, CanFrame, SlcanDecoder, encode, opening

if TYPE_CHECKING:
    from tests.conftest import PtyLine

frames = st.builds(
    lambda wide, number, data: CanFrame(
        number % (0x2000_0000 if wide else 0x800), data, extended=wide
    ),
    st.booleans(),
    st.integers(0, 0x1FFF_FFFF),
    st.binary(max_size=8),
)


def decode(data: bytes) -> list[CanFrame | BadLine]:
    decoder = SlcanDecoder()
    assert decoder.feed(b"\r") == []
    return decoder.feed(data)


@given(st.lists(frames, max_size=20), st.integers(1, 30))
def test_what_is_encoded_comes_back_however_it_is_cut(sent: list[CanFrame], size: int) -> None:
    stream = b"\r" + b"".join(map(encode, sent))
    decoder = SlcanDecoder()
    found = [f for n in range(0, len(stream), size) for f in decoder.feed(stream[n : n + size])]
    assert found == sent


def test_lines_are_read_as_python_can_reads_them(line: PtyLine) -> None:
    sent = [
        CanFrame(0x0CF00400, bytes.fromhex("000000204E000000"), extended=True),
        CanFrame(0x185, bytes.fromhex("00803B43")),
        CanFrame(0x7FF, b""),
    ]
    with can.Bus(interface="slcan", channel=str(line.path), sleep_after_open=0) as bus:
        line.send(b"".join(map(encode, sent)))
        theirs = [bus.recv(2.0) for _ in sent]
    assert [
        CanFrame(m.arbitration_id, bytes(m.data), m.is_extended_id) for m in theirs if m
    ] == sent
    assert decode(b"".join(map(encode, sent))) == sent


@pytest.mark.parametrize("said", [b"\r", b"z\r", b"Z\r", b"V1013\r", b"N1234\r", b"F00\r", b"\r\n"])
def test_answers_and_requests_are_no_rejects(said: bytes) -> None:
    assert decode(said + b"t1230\r") == [CanFrame(0x123, b"")]


@pytest.mark.parametrize(
    "bad",
    [b"t12", b"t8000", b"t1239", b"t1232AA", b"t1231GG", b"T200000001AA", b"hello", b"\xff\xfe"],
)
def test_what_is_no_frame_is_kept(bad: bytes) -> None:
    assert decode(bad + b"\rt1230\r") == [BadLine("not a frame", bad), CanFrame(0x123, b"")]


def test_the_adapters_time_is_taken_off() -> None:
    assert decode(b"t1231AA1F2E\r") == [CanFrame(0x123, b"\xaa")]


def test_a_line_joined_midway_and_a_refusal() -> None:
    found = SlcanDecoder().feed(b"AA\rt1230\r\x07")
    assert found == [BadLine("first line", b"AA"), CanFrame(0x123, b""),
                     BadLine("refused by the adapter", b"\x07")]  # fmt: skip


def test_a_flood_takes_no_memory_and_ends() -> None:
    decoder = SlcanDecoder()
    found = [f for _ in range(100) for f in decoder.feed(b"A" * 1000)]
    assert [f.kind for f in found if isinstance(f, BadLine)] == ["too long"]
    assert decoder.feed(b"\rt1230\r") == [CanFrame(0x123, b"")]


@given(st.lists(st.binary(max_size=100), max_size=20))
def test_nothing_that_arrives_can_raise(reads: list[bytes]) -> None:
    decoder = SlcanDecoder()
    for read in reads:
        for found in decoder.feed(read):
            assert isinstance(found, BadLine) or len(found.data) <= 8


def test_an_adapter_is_set_going() -> None:
    assert opening(250_000, listen_only=True) == b"\rC\rS5\rL\r"
    assert opening(1_000_000, listen_only=False) == b"\rC\rS8\rO\r"
    with pytest.raises(ValueError, match="not at 123456"):
        opening(123_456, listen_only=True)
