"""Damaged, foreign and hostile files: one clear sentence, bounded memory and time, no crash."""

from __future__ import annotations

import resource
from pathlib import Path

import h5py
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from gaugebench.errors import TraceError
from gaugebench.model.figures import FigureSet
from gaugebench.model.trace import Trace
from gaugebench.store import layout
from gaugebench.store.opening import open_trace
from gaugebench.store.tracefile import TraceFile, save_findings, write_trace
from gaugebench.store.verify import verify

LIBRARY = layout.LIBRARY_RANGE
_ONCE = [HealthCheck.function_scoped_fixture, HealthCheck.too_slow]


def _refused(path: Path) -> str:
    with pytest.raises(TraceError) as caught:  # and it comes back: the whole run has a time-out
        TraceFile(path).trace()
    text = str(caught.value)
    assert text.endswith(".")
    assert "\n" not in text
    assert len(text) < 600
    assert len(verify(path)) >= 1
    return text


@pytest.fixture
def whole(small_trace: Trace, tmp_path: Path) -> bytes:
    path = write_trace(small_trace, tmp_path / "whole.h5")
    save_findings(path, FigureSet((), {}))
    data = path.read_bytes()
    path.unlink()
    return data


@given(data=st.data())
@settings(max_examples=60, deadline=None, suppress_health_check=_ONCE)
def test_changed_bytes_are_told_or_change_nothing(
    small_trace: Trace, whole: bytes, tmp_path: Path, data: st.DataObject
) -> None:
    """Nothing false appears: what opens at all is what was written."""
    damaged = bytearray(whole)
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(whole) - 1) | st.integers(0, 8191))
        piece = data.draw(st.binary(min_size=1, max_size=16) | st.just(b"\xff" * 8))
        damaged[at : at + len(piece)] = piece
    path = tmp_path / "t.h5"
    path.write_bytes(damaged)
    try:
        found = TraceFile(path).trace()
    except TraceError:
        return
    for got, true in zip(found.series, small_trace.series, strict=True):
        assert got.channel == true.channel
        assert got.values.tobytes() == true.values.tobytes()
        assert got.quality.tobytes() == true.quality.tobytes()
    assert found.particulars == small_trace.particulars
    assert found.marks == small_trace.marks


@given(share=st.floats(0, 0.999))
@settings(max_examples=30, deadline=None, suppress_health_check=_ONCE)
def test_a_file_that_was_cut_is_refused(whole: bytes, tmp_path: Path, share: float) -> None:
    path = tmp_path / "t.h5"
    path.write_bytes(whole[: int(len(whole) * share)])
    _refused(path)


@given(st.binary(max_size=300))
@settings(max_examples=30, deadline=None)
def test_noise_behind_the_signature_is_refused(
    tmp_path_factory: pytest.TempPathFactory, noise: bytes
) -> None:
    path = tmp_path_factory.mktemp("noise") / "t.h5"
    path.write_bytes(b"\x89HDF\r\n\x1a\n" + noise)
    _refused(path)


def test_what_is_no_hdf5_at_all_is_said(tmp_path: Path) -> None:
    path = tmp_path / "t.h5"
    path.write_bytes(b"time [s],pump1.main [bar]\n")
    assert "does not begin as HDF5 does" in _refused(path)
    assert "cannot be opened" in _refused(tmp_path / "none.h5")
    path.write_bytes(b"")
    _refused(path)


def test_a_foreign_file_is_told_apart(tmp_path: Path) -> None:
    for range_, words in ((LIBRARY, "not a Gaugebench trace"), (("earliest", "v110"), "checksums")):
        path = tmp_path / f"{range_[0]}.h5"
        with h5py.File(path, "x", libver=range_) as file:
            file["x"] = np.arange(10)
        assert words in _refused(path)


def _hostile(whole: bytes, tmp_path: Path) -> tuple[Path, h5py.File]:
    path = tmp_path / "t.h5"
    path.write_bytes(whole)
    return path, h5py.File(path, "r+", libver=LIBRARY)


def test_a_huge_declared_shape_costs_nothing(whole: bytes, tmp_path: Path) -> None:
    path, file = _hostile(whole, tmp_path)
    with file:
        file["entry/streams/kit/time"].resize((1 << 50,))
        file["entry/kit_pressure_gauge/pump1.main"].resize((1 << 50,))
    assert "declares more than the file holds" in _refused(path)


def test_a_bomb_of_zeros_costs_nothing(whole: bytes, tmp_path: Path) -> None:
    """Chunks that unpack to gigabytes are refused by their declared size, unread."""
    path, file = _hostile(whole, tmp_path)
    with file:
        del file["entry/marks"]
        file.create_dataset(
            "entry/marks", shape=(1 << 21,), dtype=[("key", "S64")], chunks=(1 << 18,),
            compression="gzip",
        )  # fmt: skip
        for low in range(0, 1 << 21, 1 << 18):
            file["entry/marks"][low : low + (1 << 18)] = np.zeros(1 << 18, [("key", "S64")])
    assert path.stat().st_size < 20_000_000
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    assert "too large" in _refused(path)
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 200_000


def test_links_that_go_round_or_out_are_not_followed(whole: bytes, tmp_path: Path) -> None:
    path, file = _hostile(whole, tmp_path)
    with file:
        del file["entry/streams/kit"]
        file["entry/streams/kit"] = h5py.SoftLink("/entry/streams/kit")
    assert "is not in the file" in _refused(path)

    other = tmp_path / "other.h5"
    with h5py.File(other, "x") as file:
        file["time"] = np.arange(2000.0)
    path, file = _hostile(whole, tmp_path)
    with file:
        del file["entry/streams/kit/time"]
        file["entry/streams/kit/time"] = h5py.ExternalLink("other.h5", "/time")
    assert "is not in the file" in _refused(path)

    path, file = _hostile(whole, tmp_path)
    with file:
        del file["entry/streams"]
        file["entry/streams"] = file["entry"]  # a group inside itself
    assert "is not in the file" in _refused(path)


def test_samples_kept_in_another_file_are_not_read(whole: bytes, tmp_path: Path) -> None:
    (tmp_path / "secret").write_bytes(bytes(16000))
    path, file = _hostile(whole, tmp_path)
    with file:
        name = "entry/kit_pressure_gauge/pump1.main"
        del file[name]
        file.create_dataset(name, (2000,), "f8", external=[(tmp_path / "secret", 0, 16000)])
    assert "not stored as the format says" in _refused(path)


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("entry/start_time", "yesterday"),
        ("entry/kit", "[1, 2]"),
        ("entry/kit", "{" * 100_000),
        ("entry/figures_json", '{"loadings": 3}'),
        ("entry/marks", np.zeros(3)),
        ("entry/streams_table", np.zeros((2, 2), [("name", "S4")])),
        ("entry/channels", np.zeros(1, [("stream", "S4"), ("role", "f8")])),
        ("entry/simulated", np.zeros(5)),
    ],
)
def test_wrong_content_is_one_sentence(
    whole: bytes, tmp_path: Path, name: str, data: object
) -> None:
    path, file = _hostile(whole, tmp_path)
    with file:
        del file[name]
        file[name] = np.bytes_(data.encode()) if isinstance(data, str) else data
    _refused(path)


def test_a_gigantic_attribute_is_not_read(whole: bytes, tmp_path: Path) -> None:
    path, file = _hostile(whole, tmp_path)
    with file:
        file["entry"].attrs["default"] = np.zeros(8_000_000)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    assert open_trace(path).series
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 40_000
