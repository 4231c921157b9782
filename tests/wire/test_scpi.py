"""Answers in text and in blocks, against published examples and numpy."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebench.wire.scpi import (
    BlockHead,
    answer_length,
    block_head,
    block_numbers,
    text_numbers,
)


@pytest.mark.parametrize(
    ("data", "head"),
    [
        # IEEE 488.2, 8.7.9: # and the count of digits, the length in digits, the data.
        (b"#14\x01\x02\x03\x04", BlockHead(3, 4)),
        (b"#212" + bytes(12), BlockHead(4, 12)),
        (b"#18ABCDEFGH", BlockHead(3, 8)),
        (b"#3100" + bytes(100), BlockHead(5, 100)),
        (b"#0rest\n", BlockHead(2, None)),
        (b"#", None),
        (b"#31", None),
        (b"", None),
    ],
)
def test_heads_of_blocks(data: bytes, head: BlockHead | None) -> None:
    assert block_head(data) == head


@pytest.mark.parametrize("wrong", [b"1.0,2.0\n", b"#A", b"#2x1", b"#99999999999"])
def test_what_is_no_block_is_refused(wrong: bytes) -> None:
    with pytest.raises(ValueError, match=r"block"):
        block_head(wrong)


def test_numbers_in_a_block() -> None:
    answer = bytes.fromhex("233138" + "3F800000" + "C0000000") + b"\n"
    assert block_numbers(answer, ">f4").tolist() == [1.0, -2.0]
    assert block_numbers(b"#0\x01\x00\xfe\xff\n", "<i2").tolist() == [1.0, -2.0]
    with pytest.raises(ValueError, match="buffer size"):
        block_numbers(b"#13\x00\x00\x00\n", ">f4")


def test_a_line_end_inside_a_block_does_not_end_it() -> None:
    answer = b"#14\n\n\n\n\n"
    for cut in range(len(answer)):
        assert answer_length(answer[:cut], is_block=True) is None
    assert answer_length(answer + b"more", is_block=True) == len(answer)


def test_numbers_in_text() -> None:
    assert text_numbers(b"+1.875E+02, -5 ,3.4325e2\r\n").tolist() == [187.5, -5.0, 343.25]
    # SCPI-1999 7.2.1: 9.9E37 is infinity, 9.91E37 is not a number; both are no reading.
    found = text_numbers(b"9.9E37,-9.9E37,9.91E37,nan,1\n")
    assert np.isnan(found).tolist() == [True, True, True, True, False]


@pytest.mark.parametrize("wrong", [b"OVLD\n", b"\n", b"1,,2\n", b"1_0\n", b"\xff\n"])
def test_what_is_no_number_is_refused(wrong: bytes) -> None:
    with pytest.raises(ValueError, match=r".+"):
        text_numbers(wrong)


def test_an_answer_without_end_is_refused_at_its_limit() -> None:
    assert answer_length(b"1" * 1000, is_block=False) is None
    with pytest.raises(ValueError, match="longer"):
        answer_length(b"1" * 2_000_000, is_block=False)


@given(st.binary(max_size=60), st.booleans())
def test_nothing_but_a_value_error_comes_of_any_bytes(data: bytes, is_block: bool) -> None:
    try:
        length = answer_length(data, is_block=is_block)
        if length is not None:
            assert 0 < length <= len(data)
            numbers = block_numbers(data[:length], "<f4") if is_block else text_numbers(data)
            assert not np.isinf(numbers).any()
    except ValueError:
        assert data
