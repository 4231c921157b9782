"""A disk that is full, slow, read-only or gone: shown, survived, and what was lost is counted."""

from __future__ import annotations

import errno
import os
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from gaugebench.errors import RecordError
from gaugebench.model.block import Block
from gaugebench.model.event import Setup
from gaugebench.model.role import Role
from gaugebench.store import recorder as module
from gaugebench.store.disk import RealDisk
from gaugebench.store.opening import open_trace
from gaugebench.store.recorder import Recorder
from gaugebench.store.recordstate import Phase
from gaugebench.store.verify import verify


class FailingDisk(RealDisk):
    """The real disk until it is told to fail."""

    def __init__(self) -> None:
        self.fault: int | None = None
        self.partial = False
        self.sync_fault: int | None = None
        self.go = threading.Event()
        self.go.set()

    def _fail(self) -> None:
        if self.fault is not None:
            raise OSError(self.fault, os.strerror(self.fault))

    def make_folder(self, path: Path) -> None:
        self._fail()
        super().make_folder(path)

    def create(self, path: Path) -> int:
        self._fail()
        return super().create(path)

    def write(self, descriptor: int, data: bytes) -> int:
        self.go.wait(20)
        if self.partial:
            self.partial = False
            return super().write(descriptor, data[: len(data) // 2])
        self._fail()
        return super().write(descriptor, data)

    def sync(self, descriptor: int) -> None:
        if self.sync_fault is not None:
            raise OSError(self.sync_fault, os.strerror(self.sync_fault))
        self._fail()
        super().sync(descriptor)

    def free_bytes(self, path: Path) -> int:
        self._fail()
        return super().free_bytes(path)


@pytest.fixture
def disk() -> FailingDisk:
    return FailingDisk()


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "RETRY_EVERY_S", 0.02)


def _until(test: Callable[[], object], seconds: float = 30.0) -> None:
    end = time.monotonic() + seconds
    while not test():
        assert time.monotonic() < end, "it did not come about in time"
        time.sleep(0.005)


def _all_back(path: Path, made: list[Block]) -> None:
    trace = open_trace(path)
    first = trace.find(Role.main(1))
    assert first is not None
    assert first.raw is not None
    assert first.raw.tobytes() == np.concatenate([b.raw[:, 0] for b in made]).tobytes()
    assert first.times.tobytes() == np.concatenate([b.times for b in made]).tobytes()
    assert verify(path) == []


@pytest.mark.parametrize("fault", [errno.ENOSPC, errno.EROFS, errno.EIO, errno.ENOENT])
@pytest.mark.parametrize("partial", [False, True])
def test_samples_wait_in_memory_and_recording_resumes(
    tmp_path: Path,
    setup: Setup,
    disk: FailingDisk,
    blocks: Callable[..., list[Block]],
    fault: int,
    partial: bool,
) -> None:
    made = blocks(1, 30, 20)
    recorder = Recorder(tmp_path / "visit.h5", setup, disk=disk)
    for block in made[:10]:
        recorder.put(block)
    _until(lambda: recorder.state.bytes > 0)
    disk.partial, disk.fault = partial, fault
    for block in made[10:20]:
        recorder.put(block)
    _until(lambda: recorder.state.phase is Phase.TROUBLE)
    trouble = recorder.state.trouble
    assert trouble is not None
    assert os.strerror(fault) in trouble
    assert trouble.endswith("put the drive back.")
    with pytest.raises(RecordError, match="still in memory"):
        Recorder.stop(recorder, timeout_s=0.05)
    disk.fault = None
    path = recorder.stop()
    assert recorder.state.lost == 0
    _all_back(path, made[:20])


def test_what_a_failed_sync_may_have_lost_is_written_again(
    tmp_path: Path, setup: Setup, disk: FailingDisk, blocks: Callable[..., list[Block]]
) -> None:
    """After a failed fsync the system may have dropped the pages: nothing of them is trusted."""
    made = blocks(2, 10, 20)
    recorder = Recorder(tmp_path / "visit.h5", setup, disk=disk)
    disk.sync_fault = errno.EIO
    for block in made:
        recorder.put(block)
    _until(lambda: recorder.state.trouble is not None)
    journal = tmp_path / "visit.journal"
    for segment in journal.glob("*.seg"):
        os.truncate(segment, 0)
    disk.sync_fault = None
    _until(lambda: recorder.state.trouble is None)
    _all_back(recorder.stop(), made)


def test_a_folder_that_is_gone_is_told_though_writing_goes_on(
    tmp_path: Path,
    setup: Setup,
    disk: FailingDisk,
    blocks: Callable[..., list[Block]],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A drive that is taken off lazily takes what is written into the open file all the same."""
    made = blocks(7, 10, 20)
    now = [0.0]
    recorder = Recorder(tmp_path / "visit.h5", setup, disk=disk, clock=lambda: now[0])
    for block in made:
        recorder.put(block)
    _until(lambda: recorder.state.waiting_bytes == 0)
    assert recorder.state.trouble is None

    def gone(path: Path) -> int:
        raise OSError(errno.ENOENT, os.strerror(errno.ENOENT))

    with monkeypatch.context() as patched:
        patched.setattr(disk, "free_bytes", gone)
        now[0] = 2.0
        _until(lambda: recorder.state.trouble is not None)
        assert "is not to be found any more" in str(recorder.state.trouble)
        assert recorder.state.phase is Phase.TROUBLE
    now[0] = 4.0
    _until(lambda: recorder.state.trouble is None)
    _all_back(recorder.stop(), made)


def test_a_slow_disk_is_told_within_two_seconds_and_costs_nothing(
    tmp_path: Path, setup: Setup, disk: FailingDisk, blocks: Callable[..., list[Block]]
) -> None:
    made = blocks(3, 40, 20)
    now = [0.0]
    recorder = Recorder(tmp_path / "visit.h5", setup, disk=disk, clock=lambda: now[0])
    disk.go.clear()  # the write does not come back
    for block in made:
        recorder.put(block)
    _until(lambda: recorder.state.queue < 40)
    told: list[str | None] = []
    for instant in (0.9, 1.5):
        now[0] = instant
        told.append(recorder.state.trouble)
    assert told[0] is None
    assert "has not finished a write for 2 s" in str(told[1])
    now[0] = 5.0
    assert recorder.state.phase is Phase.TROUBLE
    disk.go.set()
    _until(lambda: recorder.state.trouble is None)
    _all_back(recorder.stop(), made)


def test_beyond_the_memory_set_aside_samples_are_counted_and_shown_as_a_gap(
    tmp_path: Path, setup: Setup, disk: FailingDisk, blocks: Callable[..., list[Block]]
) -> None:
    made = blocks(4, 60, 20)
    recorder = Recorder(tmp_path / "visit.h5", setup, disk=disk, memory_bytes=8_000)
    disk.fault = errno.ENOSPC
    kept_first = 0
    for number, block in enumerate(made[:40]):
        recorder.put(block)
        if recorder.state.lost == 0:
            kept_first = number + 1
    state = recorder.state
    assert 0 < kept_first < 40
    assert state.lost == (40 - kept_first) * 20 * 2
    assert state.waiting_bytes <= 8_000 + 400
    disk.fault = None
    _until(lambda: recorder.state.waiting_bytes == 0)
    for low in range(40, 60, 5):
        for block in made[low : low + 5]:
            recorder.put(block)
        _until(lambda: recorder.state.waiting_bytes == 0)
    path = recorder.stop()
    _all_back(path, [*made[:kept_first], *made[40:]])
    (gap,) = open_trace(path).gaps
    assert gap.lost == (40 - kept_first) * 20
    assert gap.start_s == made[kept_first - 1].times[-1]
    assert gap.end_s == made[40].times[0]
    assert "memory was full" in gap.why


def test_the_memory_that_waits_is_counted_through_a_loss(
    tmp_path: Path, setup: Setup, disk: FailingDisk, blocks: Callable[..., list[Block]]
) -> None:
    recorder = Recorder(tmp_path / "visit.h5", setup, disk=disk, memory_bytes=8_100)
    disk.fault = errno.ENOSPC
    made = blocks(4, 13, 20)
    for block in made:
        recorder.put(block)
    full = recorder.state
    assert (full.lost, full.waiting_bytes) == (40, 12 * 660)
    last = made[-1]
    after = replace(last, first=260, times=last.times[:1] + 0.02, raw=last.raw[:1])
    recorder.put(replace(after, quality=last.quality[:1]))
    assert recorder.state.waiting_bytes == full.waiting_bytes + 400 + 128  # a gap, and a row
    disk.fault = None
    recorder.stop()
    assert recorder.state.waiting_bytes == 0


def test_a_fault_of_the_recorder_itself_is_told_and_raised(
    tmp_path: Path,
    setup: Setup,
    blocks: Callable[..., list[Block]],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Not of the disk: what nobody thought of must not end in silence."""

    def broken(event: object) -> None:
        raise RuntimeError("no such event")

    monkeypatch.setattr(module, "encode", broken)
    recorder = Recorder(tmp_path / "visit.h5", setup)
    recorder.put(blocks(1, 1, 20)[0])
    _until(lambda: recorder.state.trouble is not None)
    assert recorder.state.trouble == "The recorder failed: no such event."
    assert recorder.state.phase is Phase.TROUBLE
    with pytest.raises(RuntimeError, match="no such event"):
        recorder.stop()
    recorder._journal.close()
    recorder._journal.release()


def test_a_folder_that_takes_nothing_is_refused_at_once(
    tmp_path: Path, setup: Setup, disk: FailingDisk
) -> None:
    disk.fault = errno.EROFS
    with pytest.raises(RecordError, match=r"Read-only file system; choose another folder\.$"):
        Recorder(tmp_path / "visit.h5", setup, disk=disk)
    with pytest.raises(RecordError, match="choose another folder"):
        Recorder(tmp_path / "no such folder" / "visit.h5", setup)


def test_free_space_and_hours_left_are_told(
    tmp_path: Path,
    setup: Setup,
    disk: FailingDisk,
    blocks: Callable[..., list[Block]],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(disk, "free_bytes", lambda path: 3_600_000)
    now = [0.0]
    recorder = Recorder(tmp_path / "visit.h5", setup, disk=disk, clock=lambda: now[0])
    _until(lambda: recorder.state.free_bytes == 3_600_000)
    for block in blocks(5, 100, 20):
        recorder.put(block)
    _until(lambda: recorder.state.waiting_bytes == 0)
    state = recorder.state
    assert state.samples == 4000
    assert state.seconds == pytest.approx(1.999)
    assert state.hours_left is not None
    # the trace, made beside the journal, takes up to 1.2 times as much again
    spare = 3_600_000 - 1.2 * state.bytes
    expected = spare / (2.2 * state.bytes / state.seconds) / 3600
    assert state.hours_left == pytest.approx(expected)
    recorder.stop()


def test_sealing_on_a_full_disk_keeps_the_record_and_can_be_done_again(
    tmp_path: Path,
    setup: Setup,
    blocks: Callable[..., list[Block]],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    made = blocks(6, 40, 1000)
    recorder = Recorder(tmp_path / "visit.h5", setup)
    for block in made:
        recorder.put(block)
    from gaugebench.store import guardedfile

    real = guardedfile.GuardedFile.write

    def full(self: guardedfile.GuardedFile, data: bytes) -> int:
        if self.tell() > 100_000:
            self._fault = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return real(self, data)

    with monkeypatch.context() as patched:
        patched.setattr(guardedfile.GuardedFile, "write", full)
        with pytest.raises(RecordError, match=r"No space left.*the record is safe in"):
            recorder.stop()
    assert [p.name for p in tmp_path.iterdir()] == ["visit.journal"]
    _all_back(recorder.stop(), made)
    assert [p.name for p in tmp_path.iterdir()] == ["visit.h5"]
