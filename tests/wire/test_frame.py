"""The open binary frame: published COBS examples, damage, cuts and floods."""

from __future__ import annotations

import numpy as np
import pytest
from cobs import cobs
from hypothesis import given
from hypothesis import strategies as st

from gaugebench.wire.frame import (
    MAX_FRAME,
    BadFrame,
    FrameDecoder,
    Hello,
    Samples,
    ValueType,
    decode_frame,
    encode_hello,
    encode_samples,
)

ROWS = np.array([[1.0, -2.0, 300.0], [0.0, 5.0, -32768.0]])
FRAME = encode_samples(ROWS, 10, 1.5, 0.001, ValueType.INT16)


@pytest.mark.parametrize(
    ("plain", "stuffed"),
    [
        # github.com/cmcqueen/cobs-python src/cobs/cobs/test.py and the README of
        # github.com/ThierryHenry1994/cobs-codec.
        ("00", "0101"),
        ("0000", "010101"),
        ("001100", "01021101"),
        ("11220033", "0311220233"),
        ("11000000", "0211010101"),
        ("", "01"),
        (bytes(range(1, 255)).hex(), "ff" + bytes(range(1, 255)).hex()),
        (bytes(range(1, 256)).hex(), "ff" + bytes(range(1, 255)).hex() + "02ff"),
        (bytes(range(256)).hex(), "01ff" + bytes(range(1, 255)).hex() + "02ff"),
        # The example of Cheshire and Baker 1997, from memory.
        ("4500002c4c79000040064f37", "024501042c4c79010540064f37"),
    ],
)
def test_the_byte_stuffing_is_the_published_one(plain: str, stuffed: str) -> None:
    assert cobs.encode(bytes.fromhex(plain)).hex() == stuffed
    assert cobs.decode(bytes.fromhex(stuffed)).hex() == plain


@pytest.mark.parametrize("broken", ["00", "05313233"])
def test_broken_stuffing_is_refused(broken: str) -> None:
    with pytest.raises(cobs.DecodeError):
        cobs.decode(bytes.fromhex(broken))
    assert decode_frame(bytes.fromhex(broken)) == BadFrame("byte stuffing", bytes.fromhex(broken))


def test_a_frame_is_laid_out_as_documented() -> None:
    body = cobs.decode(FRAME[:-1])
    assert body[:16].hex() == "01010a00000060e3160040420f000203"
    assert body[16:28].hex() == "0100feff2c010000050000" + "80"
    assert FRAME.count(0) == 1


@pytest.mark.parametrize("sent", list(ValueType))
def test_each_type_of_value_comes_back(sent: ValueType) -> None:
    (found,) = FrameDecoder().feed(encode_samples(ROWS, 7, 4294.967295, 1e-4, sent))
    assert isinstance(found, Samples)
    np.testing.assert_array_equal(found.values, ROWS)
    assert found.first_row == 7
    assert (found.time_s, found.step_s) == pytest.approx((4294.967295, 1e-4))


def test_int24_keeps_its_sign_at_both_ends() -> None:
    ends = np.array([[-8388608.0, 8388607.0, -1.0]])
    (found,) = FrameDecoder().feed(encode_samples(ends, 0, 0, 0, ValueType.INT24))
    assert isinstance(found, Samples)
    np.testing.assert_array_equal(found.values, ends)


def test_a_float_that_is_no_number_is_missing() -> None:
    odd = np.array([[np.nan, np.inf, -np.inf, 1.5]])
    (found,) = FrameDecoder().feed(encode_samples(odd, 0, 0, 0, ValueType.FLOAT32))
    assert isinstance(found, Samples)
    np.testing.assert_array_equal(found.values, [[np.nan, np.nan, np.nan, 1.5]])


def test_what_does_not_fit_is_refused() -> None:
    with pytest.raises(ValueError, match="16 bits"):
        encode_samples(np.array([[40000.0]]), 0, 0, 0, ValueType.INT16)
    with pytest.raises(ValueError, match="16 bits"):
        encode_samples(np.array([[np.nan]]), 0, 0, 0, ValueType.INT16)
    with pytest.raises(ValueError, match="255 rows"):
        encode_samples(np.zeros((1, 65)), 0, 0, 0, ValueType.INT16)
    with pytest.raises(ValueError, match="longer"):
        encode_samples(np.zeros((255, 64)), 0, 0, 0, ValueType.FLOAT32)


def test_a_stream_joined_midway_is_found_at_the_next_frame() -> None:
    found = FrameDecoder().feed(FRAME[7:] + FRAME)
    assert isinstance(found[0], BadFrame)
    assert found[0].kind == "first frame"
    assert isinstance(found[1], Samples)


@given(st.data(), st.integers(1, 255))
def test_one_damaged_byte_costs_its_frames_and_never_passes(data: st.DataObject, flip: int) -> None:
    stream = bytearray(FRAME * 3)
    at = data.draw(st.integers(0, len(stream) - 1))
    stream[at] ^= flip
    decoder = FrameDecoder()
    found = [*decoder.feed(bytes(stream)), *decoder.finish()]
    good = [f for f in found if isinstance(f, Samples)]
    assert all(np.array_equal(f.values, ROWS) and f.first_row == 10 for f in good)
    assert len(good) >= 1
    assert len(good) < 3


@given(st.lists(st.binary(max_size=300), max_size=30))
def test_nothing_that_arrives_can_raise(reads: list[bytes]) -> None:
    decoder = FrameDecoder()
    for read in reads:
        decoder.feed(read)
    decoder.finish()


@given(
    st.binary(max_size=200),
)
def test_any_body_with_a_good_checksum_is_read_or_refused(body: bytes) -> None:
    from gaugebench.wire.checksum import crc16

    found = decode_frame(cobs.encode(body + crc16(body).to_bytes(2, "little")))
    assert isinstance(found, Samples | Hello | BadFrame)


@given(st.integers(1, 40))
def test_cutting_changes_nothing(size: int) -> None:
    stream = encode_hello("board") + FRAME + b"\xff\x01\x00" + FRAME
    decoder = FrameDecoder()
    found = [
        frame for n in range(0, len(stream), size) for frame in decoder.feed(stream[n : n + size])
    ]
    assert [type(f) for f in found] == [Hello, Samples, BadFrame, Samples]


def test_a_flood_without_ends_takes_no_memory_and_ends() -> None:
    decoder = FrameDecoder()
    found = [f for _ in range(100) for f in decoder.feed(b"\x55" * 1000)]
    assert [f.kind for f in found if isinstance(f, BadFrame)] == ["too long"]
    assert isinstance(found[0], BadFrame)
    assert len(found[0].raw) <= MAX_FRAME
    assert [type(f) for f in decoder.feed(b"\x00" + FRAME)] == [Samples]
