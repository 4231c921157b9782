"""Answers of instruments that speak SCPI: numbers in text, and blocks (IEEE 488.2, 8.7.9)."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from gaugebench.model.arrays import F64

NO_NUMBER = 9.9e37
"""SCPI-1999, 7.2.1: 9.9E37 stands for infinity and 9.91E37 for not a number."""
MAX_ANSWER = 1_048_576


@dataclass(frozen=True, slots=True)
class BlockHead:
    """The head of a block. offset: where its data begin; length: of the data, None if open."""

    offset: int
    length: int | None


def block_head(data: bytes) -> BlockHead | None:
    """The head of the block that `data` begin with; None while more must come.

    Raises `ValueError` where it is no block.
    """
    if not data:
        return None
    if data[:1] != b"#":
        raise ValueError("a block begins with #")
    if len(data) < 2:
        return None
    digits = data[1] - 0x30
    if digits == 0:
        return BlockHead(2, None)
    if not 1 <= digits <= 9:
        raise ValueError("after # of a block stands a digit")
    if len(data) < 2 + digits:
        return None
    text = data[2 : 2 + digits]
    if not text.isdigit():
        raise ValueError("the length of a block is written in digits")
    length = int(text)
    if length > MAX_ANSWER:
        raise ValueError(f"a block of {length} bytes is longer than {MAX_ANSWER}")
    return BlockHead(2 + digits, length)


def answer_length(data: bytes, *, is_block: bool) -> int | None:
    """How many bytes of `data` are one whole answer, its line end included; None while more come.

    Raises `ValueError` where it cannot become one.
    """
    if len(data) > MAX_ANSWER:
        raise ValueError(f"an answer is longer than {MAX_ANSWER} bytes")
    head = block_head(data) if is_block else BlockHead(0, None)
    if head is None:
        return None
    if head.length is None:
        end = data.find(b"\n", head.offset)
        return None if end < 0 else end + 1
    whole = head.offset + head.length + 1  # a block of known length is followed by a line end
    return whole if len(data) >= whole else None


def text_numbers(answer: bytes) -> F64:
    """The numbers of a comma-separated answer; NaN for those that stand for none.

    Raises `ValueError` where it is not numbers.
    """
    cells = [cell.strip() for cell in answer.strip().split(b",")]
    if any(b"_" in cell for cell in cells):
        raise ValueError("an underscore is no part of a number")
    values = np.array([float(cell) for cell in cells])
    values[~(np.abs(values) < NO_NUMBER)] = np.nan
    return values


def block_numbers(answer: bytes, kind: str) -> F64:
    """The numbers in a block, as numpy names their type (`>f4`, `<i2`). Raises `ValueError`."""
    head = block_head(answer)
    if head is None:
        raise ValueError("a block without a head")
    end = len(answer) if head.length is None else head.offset + head.length
    data = answer[head.offset : end]
    if head.length is None:
        data = data.removesuffix(b"\n").removesuffix(b"\r")
    values = np.frombuffer(data, kind).astype(np.float64)
    values[~np.isfinite(values)] = math.nan
    return values
