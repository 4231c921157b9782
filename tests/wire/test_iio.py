"""Scans of the kernel's Industrial I/O buffers."""

from __future__ import annotations

import struct

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebench.wire.iio import ScanLayout, element


@pytest.mark.parametrize(
    ("form", "word", "value"),
    [
        # The first is the example of the kernel's Documentation/driver-api/iio/buffers.rst.
        ("le:s12/16>>4", struct.pack("<H", 0x7FF0), 2047),
        ("le:s12/16>>4", struct.pack("<H", 0x8000), -2048),
        ("le:s12/16>>4", struct.pack("<H", 0xFFFF), -1),
        ("be:u16/16>>0", struct.pack(">H", 65535), 65535),
        ("be:s24/32>>8", struct.pack(">I", 0xFFFFFE00), -2),
        ("le:u8/8>>0", b"\xff", 255),
        ("le:s64/64>>0", struct.pack("<q", -5), -5),
        ("be:u10/16>>2", struct.pack(">H", 0xF003), 0),
    ],
)
def test_a_value_is_taken_from_its_bits(form: str, word: bytes, value: int) -> None:
    layout = ScanLayout([element("a", 0, form)])
    assert layout.decode(word)["a"].tolist() == [value]


def test_elements_lie_in_the_order_of_their_index_each_aligned() -> None:
    # buffers.rst: an element is aligned to its own size; the whole scan to the widest element.
    layout = ScanLayout(
        [
            element("timestamp", 3, "le:s64/64>>0"),
            element("y", 1, "le:s16/16>>0"),
            element("x", 0, "le:s16/16>>0"),
            element("z", 2, "le:s16/16>>0"),
        ]
    )
    assert layout.size == 16
    scans = b"".join(struct.pack("<hhh2xq", n, -n, 2 * n, n * 1000) for n in range(3))
    found = layout.decode(scans)
    assert found["x"].tolist() == [0, 1, 2]
    assert found["y"].tolist() == [0, -1, -2]
    assert found["z"].tolist() == [0, 2, 4]
    assert found["timestamp"].tolist() == [0, 1000, 2000]


@pytest.mark.parametrize("wrong", ["", "le:s12/16", "xe:s12/16>>4", "le:s16/16>>4", "le:s12/24>>4"])
def test_a_form_that_cannot_be_is_refused(wrong: str) -> None:
    with pytest.raises(ValueError, match=r"form|fit"):
        element("a", 0, wrong)


@given(st.integers(1, 32), st.data())
def test_any_width_and_shift(bits: int, data: st.DataObject) -> None:
    shift = data.draw(st.integers(0, 32 - bits))
    value = data.draw(st.integers(-(2 ** (bits - 1)), 2 ** (bits - 1) - 1))
    noise = data.draw(st.integers(0, 2**32 - 1))
    mask = ((1 << bits) - 1) << shift
    word = (noise & ~mask & 0xFFFFFFFF) | ((value << shift) & mask)
    layout = ScanLayout([element("a", 0, f"le:s{bits}/32>>{shift}")])
    np.testing.assert_array_equal(layout.decode(struct.pack("<I", word))["a"], [value])
