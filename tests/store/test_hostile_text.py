"""A text in a trace file that is no single text, or longer than any text of ours, is refused."""

from __future__ import annotations

from pathlib import Path

import h5py
import numpy as np
import pytest

from gaugebench.errors import TraceError
from gaugebench.model.trace import Trace
from gaugebench.store.h5text import scalar
from gaugebench.store.layout import LIBRARY_RANGE, LONGEST_TEXT
from gaugebench.store.tracefile import TraceFile, write_trace


@pytest.mark.parametrize(
    "instead",
    [
        np.array([b"one", b"two", b"three"]),
        np.array([[b"one"]]),
        np.array(b"x" * (LONGEST_TEXT + 1)),
    ],
    ids=["several", "two dimensions", "too long"],
)
def test_what_is_no_single_short_text_is_refused(
    small_trace: Trace, tmp_path: Path, instead: np.ndarray[tuple[int, ...], np.dtype[np.bytes_]]
) -> None:
    path = write_trace(small_trace, tmp_path / "t.h5")
    with h5py.File(path, "r+", libver=LIBRARY_RANGE) as file:
        del file["entry/origin"]
        file["entry"].create_dataset("origin", data=instead)
    with pytest.raises(TraceError, match="“origin” should be a text"):
        TraceFile(path)


def test_the_longest_text_is_still_read(small_trace: Trace, tmp_path: Path) -> None:
    path = write_trace(small_trace, tmp_path / "t.h5")
    with h5py.File(path, "r+", libver=LIBRARY_RANGE) as file:
        del file["entry/origin"]
        scalar(file["entry"], "origin", "x" * LONGEST_TEXT)
    assert len(TraceFile(path).trace().origin) == LONGEST_TEXT
