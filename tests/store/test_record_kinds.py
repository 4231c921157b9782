"""What devices do in the field must be in the record as well, and come back out of the file.

| kind | what the record must hold |
|---|---|
| L2 boot noise, wrong speed, undecodable bytes | the count and the raw bytes (`REJECTS`) |
| L3 a board that starts anew while it is read | gap, what was said, settling samples (`RESETS`) |
| L7 nan, inf, ovf, empty | the row, with that channel's sample missing (`MISSING`) |
| L8 bursts without a device clock | the samples, their times marked as estimated (`BURSTS`) |

The other kinds (L1, L4, L5, L6) end before the record: what they refuse is of the kind of L2.
Each journal is written and sealed as a recording is, without the thread between.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from gaugebench.model.block import Block
from gaugebench.model.event import Event, GapSeen, Rejected, Setup, SourceSaid
from gaugebench.model.quality import Quality
from gaugebench.model.trace import Gap
from gaugebench.store.disk import RealDisk
from gaugebench.store.frames import Kind
from gaugebench.store.journal import JournalWriter
from gaugebench.store.payload import encode
from gaugebench.store.seal import seal
from gaugebench.store.tracefile import TraceFile
from gaugebench.store.verify import verify


def _sealed(folder: Path, setup: Setup, events: Sequence[Event]) -> TraceFile:
    journal = JournalWriter(folder / "a.journal", setup, RealDisk())
    journal.append([journal.pack(*encode(event)) for event in events])
    journal.append([journal.pack(Kind.END, b"")])
    journal.sync()
    journal.close()
    path = seal(folder / "a.journal", folder / "a.h5")
    journal.release()
    assert verify(path) == []
    return TraceFile(path)


def _block(first: int, raw: list[list[float]], flags: int = 0, step: float = 1e-3) -> Block:
    values = np.array(raw, np.float64)
    times = np.arange(first, first + len(raw), dtype=np.float64) * step
    quality = np.full(values.shape, flags, np.uint16)
    quality[~np.isfinite(values)] |= np.uint16(Quality.MISSING)
    return Block(0, first, times, values, quality)


REJECTS = {
    "a boot loader at another speed": [b"\xe0\x8c\x1c\xff\x00\xf3rst:0x1 (POWERON)"],
    "three kinds of noise": [b"load:0x3fff,len:48", b"10,0.\xb22,0.1", b"\x00"],
    "nothing but NUL bytes": [bytes(64)],
    "every byte there is": [bytes(range(256))],
    "half a telegram": [b"\x01\x03\x04Cu"],
    "a line that is no text in any encoding": [b"\xff\xfe\xfd" * 20],
    "text of another script": ["давление 187,4".encode("cp1251")],
    "an empty line": [b""],
}


@pytest.mark.parametrize("pieces", REJECTS.values(), ids=REJECTS)
def test_what_could_not_be_read_is_counted_and_kept_raw(
    tmp_path: Path, setup: Setup, pieces: list[bytes]
) -> None:
    events: list[Event] = [
        _block(0, [[1.0, 2.0]]),
        *(Rejected("kit", "garbled", 1, 0.1 * n, (p,)) for n, p in enumerate(pieces)),
        Rejected("kit", "too long", 1000, 3.0),
    ]
    file = _sealed(tmp_path, setup, events)
    assert file.head.rejects == {"garbled": len(pieces), "too long": 1000}
    kept = [p for r in file.annexe.rejected for p in r.samples]
    assert kept == [p for p in pieces if p]


RESETS = {
    "with a banner": ("BOOT kit v1", 5.02, 5.40),
    "without a word": ("", 5.02, 5.03),
    "with a banner in another script": ("起動 v1 – μP", 0.001, 2.0),
    "with a very long banner": ("reset " * 200, 1.0, 30.5),
    "with line ends in the banner": ("brown-out\r\nrestart", 1.0, 1.5),
    "at once after the start": ("BOOT", 0.0, 0.0),
}


@pytest.mark.parametrize(("banner", "start", "end"), RESETS.values(), ids=RESETS)
def test_a_board_that_starts_anew_leaves_a_gap_and_settling_samples(
    tmp_path: Path, setup: Setup, banner: str, start: float, end: float
) -> None:
    gap = Gap("kit", start, end, None, "the board started anew")
    events: list[Event] = [
        _block(0, [[1.0, 2.0]] * 3),
        SourceSaid("kit", banner, start),
        GapSeen(gap),
        _block(3, [[0.6, 0.6]] * 4, Quality.SETTLING),
        _block(7, [[1.0, 2.0]] * 5),
    ]
    file = _sealed(tmp_path, setup, events)
    assert file.head.gaps == (gap,)
    assert [(s.text, s.time_s) for s in file.annexe.said] == [(banner, start)]
    first = file.trace().series[0]
    assert len(first) == 12
    settling = (first.quality & Quality.SETTLING) != 0
    assert np.flatnonzero(settling).tolist() == [3, 4, 5, 6]


NAN, INF = float("nan"), float("inf")
MISSING = {
    "one value": [[1.0, 2.0], [NAN, 2.0], [1.0, 2.0]],
    "the first row": [[NAN, 2.0], [1.0, 2.0]],
    "the last row": [[1.0, 2.0], [1.0, NAN]],
    "a whole row": [[1.0, 2.0], [NAN, NAN], [1.0, 2.0]],
    "endless both ways": [[INF, 2.0], [-INF, 2.0], [1.0, INF]],
    "a channel that never says a number": [[NAN, 2.0]] * 700,
    "all of it": [[NAN, NAN]] * 3,
}


@pytest.mark.parametrize("raw", MISSING.values(), ids=MISSING)
def test_a_row_with_a_missing_value_is_kept(
    tmp_path: Path, setup: Setup, raw: list[list[float]]
) -> None:
    file = _sealed(tmp_path, setup, [_block(0, raw)])
    expected = np.array(raw)
    for column, one in enumerate(file.trace().series[:2]):
        assert one.raw is not None
        np.testing.assert_array_equal(one.raw, expected[:, column])
        missing = ~np.isfinite(expected[:, column])
        assert ((one.quality & Quality.MISSING) != 0).tolist() == missing.tolist()
        assert np.isnan(one.values).tolist() == missing.tolist()


BURSTS = {
    "16 rows each 16 ms": [16, 16, 15],
    "rows one by one": [1] * 9,
    "one long burst": [500],
    "an empty burst between": [4, 0, 4],
    "a burst over a chunk's end": [16_380, 8],
    "bursts of many lengths": [3, 1, 64, 2, 33],
}


@pytest.mark.parametrize("lengths", BURSTS.values(), ids=BURSTS)
def test_estimated_times_stay_marked(tmp_path: Path, setup: Setup, lengths: list[int]) -> None:
    events, first = [], 0
    for length in lengths:
        if length:
            raw = [[1.0 + (first + n) % 3, 2.0] for n in range(length)]
            events.append(_block(first, raw, Quality.TIME_ESTIMATED))
        first += length
    one = _sealed(tmp_path, setup, events).trace().series[0]
    assert len(one) == sum(lengths)
    assert (one.quality == Quality.TIME_ESTIMATED).all()
    assert one.times.tobytes() == np.concatenate([b.times for b in events]).tobytes()
