"""What is looked at before a trace file is opened, and how it is opened."""

from __future__ import annotations

import fcntl
from pathlib import Path

import h5py
import pytest

from gaugebench.errors import TraceError
from gaugebench.model.trace import Trace
from gaugebench.store import h5access, layout
from gaugebench.store.tracefile import TraceFile, write_trace


def test_what_begins_as_hdf5_does_is_told_from_the_rest(small_trace: Trace, tmp_path: Path) -> None:
    assert h5access.is_hdf5(write_trace(small_trace, tmp_path / "t.h5"))
    (tmp_path / "t.csv").write_text("time [s],pump1.main [bar]\n", encoding="utf-8")
    assert not h5access.is_hdf5(tmp_path / "t.csv")
    assert not h5access.is_hdf5(tmp_path / "none.h5")
    assert not h5access.is_hdf5(tmp_path)


def _patched(path: Path, at: int, value: int) -> None:
    data = bytearray(path.read_bytes())
    data[at] = value
    path.write_bytes(data)


@pytest.mark.parametrize("version", [0, 1, 2, 4])
def test_only_what_has_no_checksums_is_refused_for_that(
    small_trace: Trace, tmp_path: Path, version: int
) -> None:
    """The version of the superblock is the byte behind the signature; checksums came with 2."""
    path = write_trace(small_trace, tmp_path / "t.h5")
    assert path.read_bytes()[8] in {2, 3}
    _patched(path, 8, version)
    with pytest.raises(TraceError) as caught, h5access.opened(path):
        pass
    assert ("without checksums" in str(caught.value)) == (version < 2)


def test_a_root_that_is_not_as_the_library_makes_it_is_not_looked_into(tmp_path: Path) -> None:
    path = tmp_path / "t.h5"
    with h5py.File(path, "w", libver=layout.LIBRARY_RANGE, track_order=True) as file:
        file.attrs["gaugebench_format"] = 1
        file.create_group("entry")
    with pytest.raises(TraceError, match="not built as a trace file is"), h5access.opened(path):
        pass


def test_a_role_that_is_none_is_told_of_the_file(small_trace: Trace, tmp_path: Path) -> None:
    path = write_trace(small_trace, tmp_path / "t.h5")
    with h5py.File(path, "r+", libver=layout.LIBRARY_RANGE) as file:
        rows = file["entry/channels"][:]
        rows["role"][0] = b"pump1.side"
        file["entry/channels"][...] = rows
    with pytest.raises(TraceError, match=r"t\.h5 is not a trace as documented: .*pump1\.side"):
        TraceFile(path)


def test_a_file_that_another_program_has_locked_can_be_read(
    small_trace: Trace, tmp_path: Path
) -> None:
    """As on drives that know no locks: none is asked for."""
    path = write_trace(small_trace, tmp_path / "t.h5")
    with path.open("r+b") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        assert len(TraceFile(path).trace().series) == 3
