"""Firmata messages against the published protocol."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebench.wire.firmata import (
    DEFAULT_INTERVAL_MS,
    Analog,
    Bad,
    FirmataDecoder,
    Text,
    Version,
    encode_analog,
    report_analog,
    sampling_interval,
)


@pytest.mark.parametrize(
    ("frame", "pin", "value"),
    [
        # github.com/firmata/protocol protocol.md: 0xE0 + pin, then the value in 7 bits, low first.
        ("E04702", 0, 327),
        ("E00004", 0, 512),
        ("E27F07", 2, 1023),
        ("EF7F7F", 15, 16383),
    ],
)
def test_analog_messages(frame: str, pin: int, value: int) -> None:
    assert FirmataDecoder().feed(bytes.fromhex(frame)) == [Analog(pin, value)]
    assert encode_analog(pin, value) == bytes.fromhex(frame)


def test_what_does_not_concern_us_is_passed_over() -> None:
    digital = bytes.fromhex("917F01")  # digital port 1, all on
    assert FirmataDecoder().feed(digital + encode_analog(1, 5)) == [Analog(1, 5)]


def test_a_board_says_who_it_is() -> None:
    # protocol.md: the name is sent as pairs of 7 bits.
    name = b"".join(bytes([c & 0x7F, c >> 7]) for c in b"Standard.ino")
    told = bytes([0xF9, 2, 5, 0xF0, 0x79, 2, 5]) + name + b"\xf7"
    assert FirmataDecoder().feed(told) == [Version(2, 5), Text("Standard.ino 2.5")]
    said = b"\xf0\x71" + bytes([0x4F, 0, 0x4B, 0]) + b"\xf7"
    assert FirmataDecoder().feed(said) == [Text("OK")]


def test_requests() -> None:
    assert report_analog(3, on=True) == b"\xc3\x01"
    assert report_analog(0, on=False) == b"\xc0\x00"
    assert sampling_interval(DEFAULT_INTERVAL_MS) == b"\xf0\x7a\x13\x00\xf7"
    assert sampling_interval(1000) == bytes([0xF0, 0x7A, 1000 % 128, 1000 // 128, 0xF7])


def test_strays_and_cut_messages_are_kept() -> None:
    found = FirmataDecoder().feed(b"\x01\x02" + b"\xe0\x10" + encode_analog(1, 5))
    assert found == [Bad("stray bytes", b"\x01\x02"), Bad("cut short", b"\xe0\x10"), Analog(1, 5)]


def test_an_end_of_sysex_inside_a_reading_cuts_it_short() -> None:
    found = FirmataDecoder().feed(b"\xe0\x00\xf7" + encode_analog(1, 5))
    assert found == [Bad("cut short", b"\xe0\x00"), Bad("stray bytes", b"\xf7"), Analog(1, 5)]


def test_floods_take_no_memory_and_end() -> None:
    decoder = FirmataDecoder()
    assert {type(m) for m in decoder.feed(b"\x55" * 10_000)} == {Bad}
    found = decoder.feed(b"\xf0" + b"\x55" * 10_000)
    assert isinstance(found[0], Bad)
    assert (found[0].kind, len(found[0].raw)) == ("too long", 513)
    assert decoder.feed(encode_analog(1, 5)) == [Analog(1, 5)]


@given(st.lists(st.binary(max_size=80), max_size=20))
def test_nothing_that_arrives_can_raise_and_no_byte_is_taken_twice(reads: list[bytes]) -> None:
    decoder = FirmataDecoder()
    found = [m for read in reads for m in decoder.feed(read)]
    assert sum(len(m.raw) for m in found if isinstance(m, Bad)) <= sum(map(len, reads))
    assert all(0 <= m.value < 16384 for m in found if isinstance(m, Analog))


@given(
    st.lists(st.tuples(st.integers(0, 15), st.integers(0, 16383)), max_size=30), st.integers(1, 9)
)
def test_what_is_sent_comes_back_however_it_is_cut(sent: list[tuple[int, int]], size: int) -> None:
    data = b"".join(encode_analog(*pair) for pair in sent)
    decoder = FirmataDecoder()
    found = [m for n in range(0, len(data), size) for m in decoder.feed(data[n : n + size])]
    assert found == [Analog(*pair) for pair in sent]
