"""The journal gives back what was put in, and says what it could not."""

from __future__ import annotations

import errno
import io
import os
import random
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from gaugebench.errors import RecordError, TraceError
from gaugebench.model.block import Block
from gaugebench.model.event import (
    ClockFit,
    Event,
    GapSeen,
    MarkSet,
    Rejected,
    Setup,
    SourceSaid,
)
from gaugebench.model.mark import Mark, MarkKind, Standing
from gaugebench.model.trace import Gap
from gaugebench.store.disk import RealDisk
from gaugebench.store.frames import Kind, pack, scan
from gaugebench.store.journal import JournalWriter
from gaugebench.store.lock import JournalLock
from gaugebench.store.payload import PayloadError, decode, encode
from gaugebench.store.reading import JournalReader
from gaugebench.store.replay import Replay

EVENTS: list[Event] = [
    Rejected("kit", "garbled", 3, 0.25, (b"\xff\x00ab", b"")),
    GapSeen(Gap("kit", 0.1, 0.2, 7, "overrun")),
    SourceSaid("kit", "BOOT kit v1", 0.5, alive=False),
    ClockFit("kit", 1, 12.5, -31.25, 1e-5, 9.0),
    MarkSet(Mark("0/pump1/peak", MarkKind.PEAK, 1.25, Standing.PROVISIONAL, 1, 3.3e7)),
]


def _write(folder: Path, setup: Setup, events: list[Event], segment_bytes: int = 1 << 20) -> None:
    journal = JournalWriter(folder, setup, RealDisk(), segment_bytes=segment_bytes)
    for event in events:
        journal.append([journal.pack(*encode(event))])
    journal.append([journal.pack(Kind.END, b"")])
    journal.sync()
    journal.close()
    journal.release()


def _same_block(one: Block, two: Block) -> bool:
    return (one.stream, one.first) == (two.stream, two.first) and all(
        getattr(one, name).tobytes() == getattr(two, name).tobytes()
        for name in ("times", "raw", "quality")
    )


@pytest.mark.parametrize("event", EVENTS)
def test_every_event_survives(event: Event) -> None:
    assert decode(*encode(event)) == event


def test_an_event_of_a_newer_version_is_passed_over_and_told() -> None:
    with pytest.raises(PayloadError, match="not known"):
        decode(Kind.EVENT, b'weather {"rain": true}')
    with pytest.raises(PayloadError, match="not known"):
        decode(77, b"")
    newer = encode(EVENTS[0])[1].replace(b'"kind"', b'"mood": "bad", "kind"')
    assert decode(Kind.EVENT, newer) == EVENTS[0]


def test_it_comes_back_in_order_over_many_segments(
    tmp_path: Path, setup: Setup, blocks: Callable[..., list[Block]]
) -> None:
    made = blocks(1, 60, 40)
    events = [*made[:30], *EVENTS, *made[30:]]
    _write(tmp_path / "a.journal", setup, events, segment_bytes=5000)
    assert len(list((tmp_path / "a.journal").glob("*.seg"))) > 5
    reader = JournalReader(tmp_path / "a.journal")
    found = list(reader.events())
    assert reader.setup == setup
    assert [e for e in found if not isinstance(e, Block)] == EVENTS
    got = [e for e in found if isinstance(e, Block)]
    assert all(map(_same_block, got, made))
    assert len(got) == 60
    assert reader.damage.ended
    assert reader.damage.frames_lost == 0


def test_nan_in_raw_survives(tmp_path: Path, setup: Setup) -> None:
    raw = np.array([[1.0, np.nan], [np.inf, -0.0]])
    block = Block(0, 4, np.array([0.0, 1.0]), raw, np.array([[0, 1], [2, 300]], np.uint16))
    _write(tmp_path / "a.journal", setup, [block])
    (found,) = JournalReader(tmp_path / "a.journal").events()
    assert isinstance(found, Block)
    assert _same_block(found, block)


def test_damage_in_the_middle_costs_what_it_touches_and_is_told(
    tmp_path: Path, setup: Setup, blocks: Callable[..., list[Block]]
) -> None:
    """200 stretches of 512 bytes, one at a time, over a journal of two segments."""
    made = blocks(2, 120, 25)
    _write(tmp_path / "a.journal", setup, list(made), segment_bytes=60_000)
    segments = sorted((tmp_path / "a.journal").glob("*.seg"))
    originals = [s.read_bytes() for s in segments]
    first_row = {round(float(b.times[0]), 6): b for b in made}
    rng = random.Random(5)  # noqa: S311
    for _ in range(200):
        which = rng.randrange(len(segments))
        data = originals[which]
        low = rng.randrange(len(data) - 512)
        segments[which].write_bytes(data[:low] + rng.randbytes(512) + data[low + 512 :])
        reader = JournalReader(tmp_path / "a.journal")
        replay = Replay(reader)
        (rows,) = replay.rows()
        back = np.round(rows.times[::25], 6).tolist()
        # A block of 25 rows takes 716 bytes: 512 bytes touch two of them at most.
        assert len(back) >= 118
        expected = np.concatenate([first_row[t].raw for t in back])
        assert rows.raw.tobytes() == expected.tobytes()
        assert rows.times.tobytes() == np.concatenate([first_row[t].times for t in back]).tobytes()
        head = replay.head()
        missing = [b for t, b in first_row.items() if t not in back]
        inner = [b for b in missing if back[0] < float(b.times[0]) < back[-1]]
        assert sum(g.lost or 0 for g in head.gaps) == sum(len(b) for b in inner)
        if missing:
            assert any("damaged" in r for r in head.remarks)
        segments[which].write_bytes(data)


def test_200_cuts_leave_every_whole_block_before_them(
    tmp_path: Path, setup: Setup, blocks: Callable[..., list[Block]]
) -> None:
    made = blocks(3, 100, 25)
    _write(tmp_path / "a.journal", setup, list(made))
    (segment,) = (tmp_path / "a.journal").glob("*.seg")
    data = segment.read_bytes()
    size = len(pack(b"8 bytes.", 0, *encode(made[0])))
    begins = data.index(encode(made[0])[1]) - 32
    rng = random.Random(6)  # noqa: S311
    for _ in range(200):
        cut = rng.randrange(len(data))
        segment.write_bytes(data[:cut])
        reader = JournalReader(tmp_path / "a.journal")
        found = [e for e in reader.events() if isinstance(e, Block)]
        assert len(found) == max(0, min(100, (cut - begins) // size))
        assert all(map(_same_block, found, made))
        assert not reader.damage.ended


def test_the_setup_survives_in_either_place(tmp_path: Path, setup: Setup) -> None:
    folder = tmp_path / "a.journal"
    _write(folder, setup, list(EVENTS))
    whole = (folder / "setup").read_bytes()
    (folder / "setup").write_bytes(b"")
    assert JournalReader(folder).setup == setup
    (folder / "setup").unlink()
    assert JournalReader(folder).setup == setup
    (folder / "setup").write_bytes(whole)
    (segment,) = folder.glob("*.seg")
    damaged = segment.read_bytes()
    segment.write_bytes(b"\0" * 512 + damaged[512:])
    reader = JournalReader(folder)
    assert reader.setup == setup
    assert list(reader.events()) == EVENTS


def test_without_any_setup_it_says_so(tmp_path: Path, setup: Setup) -> None:
    folder = tmp_path / "a.journal"
    folder.mkdir()
    (folder / "000001.seg").write_bytes(b"not a frame")
    with pytest.raises(TraceError, match="no whole description"):
        JournalReader(folder)


def test_frames_of_another_journal_never_pass(tmp_path: Path, setup: Setup) -> None:
    """Old bytes of another record may lie where a crash left a segment unwritten."""
    _write(tmp_path / "a.journal", setup, [EVENTS[0]])
    _write(tmp_path / "b.journal", setup, [EVENTS[1]])
    with (tmp_path / "a.journal" / "000001.seg").open("ab") as file:
        file.write((tmp_path / "b.journal" / "000001.seg").read_bytes())
    reader = JournalReader(tmp_path / "a.journal")
    assert list(reader.events()) == [EVENTS[0]]
    assert reader.damage.foreign == 3


def test_a_repeated_segment_is_taken_once(
    tmp_path: Path, setup: Setup, blocks: Callable[..., list[Block]]
) -> None:
    folder = tmp_path / "a.journal"
    _write(folder, setup, list(blocks(4, 10, 5)))
    shutil.copy(folder / "000001.seg", folder / "000002.seg")
    reader = JournalReader(folder)
    assert len(list(reader.events())) == 10
    assert reader.damage.frames_lost == 0


def test_a_block_that_does_not_fit_the_kit_is_left_out_and_told(
    tmp_path: Path, setup: Setup, blocks: Callable[..., list[Block]]
) -> None:
    block = blocks(4, 1, 5)[0]
    _write(tmp_path / "a.journal", setup, [replace(block, stream=9), replace(block, stream=1)])
    replay = Replay(JournalReader(tmp_path / "a.journal"))
    assert list(replay.rows()) == []
    assert "2 blocks do not fit the kit and were left out." in replay.head().remarks


def test_a_flood_of_rejects_is_counted_and_kept_small(tmp_path: Path, setup: Setup) -> None:
    flood: list[Event] = [
        Rejected("kit", "garbled", 2, n / 100, (n.to_bytes(2, "big"),)) for n in range(1000)
    ]
    flood += [SourceSaid("kit", f"boot {n}", 20.0) for n in range(6000)]
    _write(tmp_path / "a.journal", setup, [*flood, Rejected("kit", "short", 1, 30.0)])
    replay = Replay(JournalReader(tmp_path / "a.journal"))
    assert list(replay.rows()) == []
    head, annexe = replay.head(), replay.annexe()
    assert head.rejects == {"garbled": 2000, "short": 1}
    assert len(annexe.rejected) == 201
    assert annexe.rejected[0].samples == (b"\0\0",)
    assert len(annexe.said) == 5000
    assert "Sources said 1000 things more than are kept." in head.remarks


def test_a_second_holder_is_told_who_holds_it(tmp_path: Path, setup: Setup) -> None:
    journal = JournalWriter(tmp_path / "a.journal", setup, RealDisk())
    with pytest.raises(RecordError, match=r"held by process \d+ on .* since"):
        JournalLock(tmp_path / "a.journal")
    journal.close()
    journal.release()
    JournalLock(tmp_path / "a.journal").release()


def _held(journal: JournalWriter) -> int:
    return sum(map(len, journal._unsynced))


def test_what_was_synced_is_held_no_longer(tmp_path: Path, setup: Setup) -> None:
    """Else memory would grow with the record, and all of it would be written again on trouble."""
    journal = JournalWriter(tmp_path / "a.journal", setup, RealDisk(), segment_bytes=300)
    assert journal.bytes_written == 0
    frames = [journal.pack(*encode(event)) for event in EVENTS]
    for count, frame in enumerate(frames, start=1):
        journal.append([frame])
        assert _held(journal) == sum(map(len, frames[:count]))
    journal.sync()
    assert _held(journal) == 0
    journal.close()
    journal.release()
    segments = list((tmp_path / "a.journal").glob("*.seg"))
    assert len(segments) > 1
    assert journal.bytes_written == sum(s.stat().st_size for s in segments)


class _Refusing(RealDisk):
    refuses = False

    def write(self, descriptor: int, data: bytes) -> int:
        if self.refuses:
            raise OSError(28, "No space left on device")
        return super().write(descriptor, data)


def test_what_was_refused_is_held_until_it_is_written(tmp_path: Path, setup: Setup) -> None:
    disk = _Refusing()
    journal = JournalWriter(tmp_path / "a.journal", setup, disk)
    frames = [journal.pack(*encode(event)) for event in EVENTS]
    journal.append(frames[:2])
    disk.refuses = True
    with pytest.raises(OSError, match="No space"):
        journal.append(frames[2:])
    journal.sync()  # nothing is open that could be synced, and nothing is forgotten
    assert _held(journal) == sum(map(len, frames))
    with pytest.raises(OSError, match="No space"):
        journal.retry()
    disk.refuses = False
    journal.retry()
    assert _held(journal) == 0
    journal.append([journal.pack(Kind.END, b"")])
    journal.sync()
    journal.close()
    journal.release()
    reader = JournalReader(tmp_path / "a.journal")
    assert list(reader.events()) == EVENTS
    assert (reader.damage.ended, reader.damage.frames_lost) == (True, 0)


class _Sipping(RealDisk):
    def write(self, descriptor: int, data: bytes) -> int:
        return super().write(descriptor, data[:100])


def test_a_disk_that_takes_a_little_at_a_time_gets_all_of_it(tmp_path: Path, setup: Setup) -> None:
    folder = tmp_path / "a.journal"
    journal = JournalWriter(folder, setup, _Sipping())
    journal.append([journal.pack(*encode(event)) for event in EVENTS])
    journal.sync()
    journal.close()
    journal.release()
    assert list(JournalReader(folder).events()) == EVENTS
    (folder / "000001.seg").unlink()
    assert JournalReader(folder).setup == setup  # of its own file alone


def test_damage_is_counted_frame_by_frame(tmp_path: Path, setup: Setup) -> None:
    _write(tmp_path / "a.journal", setup, EVENTS * 4)
    (segment,) = (tmp_path / "a.journal").glob("*.seg")
    data = bytearray(segment.read_bytes())
    whole = [f for f in scan(bytes(data)) if f.kind != Kind.SETUP]
    for number in (3, 4, 9):
        data[whole[number].offset + 5] ^= 1
    segment.write_bytes(data)
    reader = JournalReader(tmp_path / "a.journal")
    assert list(reader.events()) == [e for n, e in enumerate(EVENTS * 4) if n not in {3, 4, 9}]
    assert (reader.damage.frames_lost, reader.damage.ended) == (3, True)


def test_what_a_newer_version_wrote_is_counted(tmp_path: Path, setup: Setup) -> None:
    journal = JournalWriter(tmp_path / "a.journal", setup, RealDisk())
    for payload in (b"novel {}", b"gap {}"):
        journal.append([journal.pack(Kind.EVENT, payload)])
    journal.append([journal.pack(*encode(EVENTS[0])), journal.pack(Kind.END, b"")])
    journal.sync()
    journal.close()
    journal.release()
    reader = JournalReader(tmp_path / "a.journal")
    assert list(reader.events()) == EVENTS[:1]
    assert (reader.damage.unknown, reader.damage.frames_lost) == (2, 0)


def test_frames_that_two_retries_repeat_are_taken_once(tmp_path: Path, setup: Setup) -> None:
    """The first retry was torn at its start, so the next one reaches further back than it."""
    folder = tmp_path / "a.journal"
    journal = JournalWriter(folder, setup, RealDisk())
    events: list[Event] = [SourceSaid("kit", f"line {n}", float(n)) for n in range(9)]
    frames = [journal.pack(*encode(event)) for event in events]
    journal.close()
    journal.release()
    for number, part in enumerate((frames[:6], frames[5:7], frames[4:9]), start=1):
        (folder / f"{number:06}.seg").write_bytes(b"".join(part))
    reader = JournalReader(folder)
    assert list(reader.events()) == events
    assert reader.damage.frames_lost == 0


def _with_bad_sectors(monkeypatch: pytest.MonkeyPatch, path: Path, bad: set[int]) -> None:
    """From now on reads of a file that touch these offsets fail as a failing disk makes them."""

    class Failing(io.FileIO):
        def read(self, size: int | None = -1) -> bytes:
            if self.tell() in bad:
                raise OSError(errno.EIO, os.strerror(errno.EIO))
            return super().read(-1 if size is None else size) or b""

    whole_open = Path.open

    def refuse(self: Path) -> bytes:
        if self == path:
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        with whole_open(self, "rb") as file:
            return file.read()

    def opened(self: Path, mode: str = "r", buffering: int = -1) -> object:
        return (
            Failing(self) if (mode, buffering) == ("rb", 0) else whole_open(self, mode, buffering)
        )

    monkeypatch.setattr(Path, "read_bytes", refuse)
    monkeypatch.setattr(Path, "open", opened)


def test_sectors_that_cannot_be_read_cost_what_lies_in_them(
    tmp_path: Path, setup: Setup, monkeypatch: pytest.MonkeyPatch
) -> None:
    events: list[Event] = [SourceSaid("kit", f"{n:03}" * 100, float(n)) for n in range(60)]
    _write(tmp_path / "a.journal", setup, events)
    (segment,) = (tmp_path / "a.journal").glob("*.seg")
    bad = {2 * 4096, 4 * 4096}
    frames = [f for f in scan(segment.read_bytes()) if f.kind == Kind.EVENT]
    _with_bad_sectors(monkeypatch, segment, bad)
    reader = JournalReader(tmp_path / "a.journal")
    back = list(reader.events())
    touched = [
        f
        for f in frames
        if any(f.offset < at + 4096 and f.offset + 40 + len(f.payload) > at for at in bad)
    ]
    assert reader.damage.sectors_lost == 2
    assert len(back) == len(events) - len(touched)
    assert reader.damage.frames_lost == len(touched)
    assert set(back) <= set(events)


def test_a_setup_file_in_a_sector_that_cannot_be_read_is_made_up_for(
    tmp_path: Path, setup: Setup, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "a.journal"
    _write(folder, setup, EVENTS)
    _with_bad_sectors(monkeypatch, folder / "setup", {0})
    reader = JournalReader(folder)
    assert reader.setup == setup
    assert reader.damage.sectors_lost == 1
    assert list(reader.events()) == EVENTS


def test_a_segment_that_may_not_be_read_is_named(
    tmp_path: Path, setup: Setup, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "a.journal"
    _write(folder, setup, EVENTS)
    reader = JournalReader(folder)

    def refuse(self: Path) -> bytes:
        raise OSError(errno.EACCES, os.strerror(errno.EACCES))

    monkeypatch.setattr(Path, "read_bytes", refuse)
    with pytest.raises(TraceError, match=r"000001\.seg cannot be read: Permission denied\.$"):
        list(reader.events())
