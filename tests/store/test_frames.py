"""Frames prove that they are whole, and damage costs only what it touches."""

from __future__ import annotations

import random
import zlib
from hashlib import blake2b

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebench.store import frames
from gaugebench.store.frames import DIGEST_BYTES, HEAD_BYTES, MAGIC, Kind, pack, scan

JOURNAL = b"8 bytes."


def _pack(payloads: list[bytes]) -> list[bytes]:
    return [pack(JOURNAL, n, Kind.BLOCK, p) for n, p in enumerate(payloads)]


@given(st.lists(st.binary(max_size=300), max_size=20))
def test_what_is_packed_comes_back(payloads: list[bytes]) -> None:
    found = list(scan(b"".join(_pack(payloads))))
    assert [f.payload for f in found] == payloads
    assert [f.sequence for f in found] == list(range(len(payloads)))
    assert {f.journal for f in found} <= {JOURNAL}


@given(st.binary(max_size=2000))
def test_noise_holds_no_frame(noise: bytes) -> None:
    assert list(scan(noise)) == []


@given(st.binary(max_size=200), st.binary(max_size=300), st.binary(max_size=200))
def test_a_frame_is_found_in_noise(before: bytes, payload: bytes, after: bytes) -> None:
    frame = pack(JOURNAL, 5, Kind.EVENT, payload)
    assert [f.payload for f in scan(before + frame + after)] == [payload]


def test_a_magic_in_noise_or_payload_leads_nobody_astray() -> None:
    frames = _pack([MAGIC * 40, b"x", MAGIC + b"\0" * 60])
    found = list(scan(MAGIC * 3 + frames[0] + MAGIC + frames[1] + frames[2]))
    assert [f.sequence for f in found] == [0, 1, 2]


def test_every_single_flipped_bit_costs_exactly_its_frame() -> None:
    frames = _pack([b"first", b"second, longer", b"third"])
    data = b"".join(frames)
    start, end = len(frames[0]), len(frames[0]) + len(frames[1])
    for at in range(start, end):
        for bit in range(8):
            damaged = bytearray(data)
            damaged[at] ^= 1 << bit
            assert [f.sequence for f in scan(bytes(damaged))] == [0, 2], (at, bit)


def test_a_frame_inside_a_damaged_payload_is_of_another_journal() -> None:
    """A device may send anything, even a frame; its id then is not that of the journal."""
    inner = pack(b"another.", 0, Kind.BLOCK, b"false")
    outer = bytearray(pack(JOURNAL, 0, Kind.EVENT, b"reject " + inner))
    outer[-1] ^= 1
    assert [f.journal for f in scan(bytes(outer))] == [b"another."]


def test_a_head_that_promises_too_much_is_damage() -> None:
    head = bytearray(pack(JOURNAL, 0, Kind.BLOCK, b"abc")[:HEAD_BYTES])
    head[24:28] = (1 << 31).to_bytes(4, "little")
    head[28:32] = zlib.crc32(bytes(head[:28])).to_bytes(4, "little")
    good = pack(JOURNAL, 1, Kind.BLOCK, b"def")
    assert [f.sequence for f in scan(bytes(head) + good)] == [1]


def test_200_cuts_and_200_overwritten_stretches() -> None:
    """Every whole frame before a cut comes back; 512 overwritten bytes cost what they touch."""
    rng = random.Random(20260304)  # noqa: S311
    frames = _pack([rng.randbytes(rng.randrange(20, 3000)) for _ in range(300)])
    data = b"".join(frames)
    ends, at = [], 0
    for frame in frames:
        at += len(frame)
        ends.append(at)
    for _ in range(200):
        cut = rng.randrange(len(data))
        whole = [f.sequence for f in scan(data[:cut])]
        assert whole == [n for n, end in enumerate(ends) if end <= cut]
    for _ in range(200):
        low = rng.randrange(len(data) - 512)
        damaged = data[:low] + rng.randbytes(512) + data[low + 512 :]
        starts = [end - len(frame) for end, frame in zip(ends, frames, strict=True)]
        untouched = [n for n in range(300) if ends[n] <= low or starts[n] >= low + 512]
        found = list(scan(damaged))
        assert [f.sequence for f in found] == untouched
        assert all(f.payload == frames[f.sequence][HEAD_BYTES:-DIGEST_BYTES] for f in found)


def test_a_whole_frame_inside_a_whole_payload_is_no_frame() -> None:
    """Wherever it stands in it, and although it is of the same journal."""
    inner = pack(JOURNAL, 7, Kind.BLOCK, b"false")
    for payload in (inner, b"x" + inner, inner + b"x", b"x" * 100 + inner, inner * 3):
        data = b"".join(_pack([payload, b"next"]))
        assert [(f.sequence, f.payload) for f in scan(data)] == [(0, payload), (1, b"next")]


def test_a_frame_is_laid_out_as_its_page_says() -> None:
    """Offsets and kinds of numbers as the module states them, by hand."""
    frame = pack(JOURNAL, 0x0102030405060708, Kind.END, b"ab")
    assert frame[:4] == b"GBF1"
    assert frame[4:12] == JOURNAL
    assert frame[12:20] == bytes((8, 7, 6, 5, 4, 3, 2, 1))
    assert frame[20:28] == bytes((4, 0, 0, 0, 2, 0, 0, 0))
    assert frame[28:32] == zlib.crc32(frame[:28]).to_bytes(4, "little")
    assert frame[32:34] == b"ab"
    assert frame[34:] == blake2b(frame[:34], digest_size=8).digest()


def test_the_largest_payload_is_taken_and_one_byte_more_is_not(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    longer = pack(JOURNAL, 0, Kind.BLOCK, bytes(101))
    monkeypatch.setattr(frames, "LARGEST_PAYLOAD", 100)
    largest = pack(JOURNAL, 1, Kind.BLOCK, bytes(100))
    assert [f.sequence for f in scan(longer + largest)] == [1]
    with pytest.raises(ValueError, match="101 bytes is longer than a frame may hold"):
        pack(JOURNAL, 2, Kind.BLOCK, bytes(101))
