"""Files made to hurt, with every checksum valid: one sentence, little memory, little time.

They are looked at in a process of its own, whose peak of memory and processor time are measured;
what kills or holds it fails the test.
"""

from __future__ import annotations

import importlib.util
import json
import random
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import h5py
import numpy as np
import pytest

from gaugebench.errors import TraceError
from gaugebench.model.figures import FigureSet
from gaugebench.model.trace import Trace
from gaugebench.store import h5chunks, layout
from gaugebench.store.h5structure import Structure
from gaugebench.store.tracefile import TraceFile, save_findings, write_trace

HERE = Path(__file__).parent
MOST_MB = 120
"""Beyond what an honest small file costs (10 MB). The bombs among them cost 1000 MB and more."""
MOST_CPU_S = 10.0
"""Processor time, not time of day; they take 0.1 s on an idle machine and took minutes."""


def _module(name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(name, HERE / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


VARIANTS = {make.__name__: make for make in _module("hostile_variants").VARIANTS}
lookup3 = _module("lookup3").lookup3


def _looked_at(paths: list[Path]) -> dict[str, dict[str, Any]]:
    done = subprocess.run(
        [sys.executable, HERE / "hostile_files.py", *map(str, paths)],
        capture_output=True, text=True, check=False, timeout=250,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout[-500:] + done.stderr[-2000:]
    return {told["name"]: told for told in map(json.loads, done.stdout.splitlines())}


@pytest.fixture
def whole(small_trace: Trace, tmp_path: Path) -> Path:
    path = write_trace(small_trace, tmp_path / "whole.h5")
    save_findings(path, FigureSet((), {}))
    return path


def test_each_hostile_file_is_refused_with_a_sentence_and_costs_little(
    whole: Path, tmp_path: Path
) -> None:
    paths = [whole]
    for name, make in VARIANTS.items():
        paths.append(tmp_path / f"{name}.h5")
        paths[-1].write_bytes(whole.read_bytes())
        with h5py.File(paths[-1], "r+", libver=layout.LIBRARY_RANGE) as file:
            make(file)
    told = _looked_at(paths)
    honest = told.pop("whole")
    assert (honest["said"], honest["checked"]) == ("", "")
    assert told.keys() == VARIANTS.keys()
    for name, one in told.items():
        said = one["said"]
        assert said.endswith("."), (name, one)
        assert "\n" not in said, name
        assert len(said) < 400, name
        assert one["checked"], name
        assert one["grown_mb"] < MOST_MB, one
        assert one["cpu_s"] < MOST_CPU_S, one


def _blocks(data: bytes) -> Iterator[tuple[bytes, int, int]]:
    """Blocks of an HDF5 file's structure: signature, where it begins, where its checksum is."""
    yield b"superblock", 0, 44
    for signature, length in ((b"OHDR", 0), (b"BTHD", 34), (b"FRHP", 142), (b"EAHD", 68)):
        at = data.find(signature)
        while at >= 0:
            end = at + (length or _header_bytes(data, at))
            if data[end : end + 4] == lookup3(data[at:end]).to_bytes(4, "little"):
                yield signature, at, end
            at = data.find(signature, at + 4)


def _header_bytes(data: bytes, at: int) -> int:
    flags = data[at + 5]
    begins = 6 + (16 if flags & 0x20 else 0) + (4 if flags & 0x10 else 0)
    width = 1 << (flags & 3)
    return begins + width + int.from_bytes(data[at + begins : at + begins + width], "little")


def test_a_structure_changed_with_its_checksums_made_valid_neither_kills_nor_holds(
    whole: Path, tmp_path: Path
) -> None:
    """Without the look at headers one such file in 70 ends the program or holds it for ever."""
    data = whole.read_bytes()
    by_kind: dict[bytes, list[tuple[int, int]]] = {}
    for signature, at, end in _blocks(data):
        by_kind.setdefault(signature, []).append((at, end))
    assert by_kind.keys() == {b"superblock", b"OHDR", b"BTHD", b"FRHP", b"EAHD"}
    draw = random.Random(5)  # noqa: S311
    paths = []
    for number in range(100):
        changed = bytearray(data)
        # The trees' headers are what the library trusts most: they are half of what is changed.
        kind = b"BTHD" if number % 2 else draw.choice(sorted(by_kind))
        at, end = draw.choice(by_kind[kind])
        for _ in range(draw.randint(1, 3)):
            changed[draw.randrange(at + 4, end)] = draw.choice([0, 1, 255, draw.randrange(256)])
        changed[end : end + 4] = lookup3(bytes(changed[at:end])).to_bytes(4, "little")
        paths.append(tmp_path / f"{number}.h5")
        paths[-1].write_bytes(changed)
    told = _looked_at(paths)
    assert len(told) == len(paths)
    assert sum(bool(one["said"]) for one in told.values()) > 30
    for one in told.values():
        assert one["said"] == "" or one["said"].endswith("."), one
        assert one["grown_mb"] < MOST_MB, one
        assert one["cpu_s"] < MOST_CPU_S, one


@pytest.mark.parametrize("kept", ["float64", "uint16", "pairs", "odd", "noughts", "full"])
def test_our_reading_of_chunks_is_the_librarys(tmp_path: Path, kept: str) -> None:
    """Held against h5py's own reading, and its checksums against those the library wrote."""
    random_ = np.random.default_rng(3)
    every_kind: dict[str, np.ndarray[Any, Any]] = {
        "float64": random_.normal(2e7, 1e5, 40_000),
        "uint16": random_.integers(0, 1024, 40_000).astype(np.uint16),
        "pairs": np.round(random_.normal(0, 1, (5000, 2)), 2),
        "noughts": np.zeros(20_000, np.uint16),
        "full": np.full(20_000, 0xFFFF, np.uint16),
        "odd": np.array([b"x" * n for n in range(1, 70)] * 40, "S69"),
    }
    data = every_kind[kept]
    path = tmp_path / "t.h5"
    with h5py.File(path, "x", libver=layout.LIBRARY_RANGE) as file:
        file.create_dataset("packed", data=data, **layout.STORED)
        file.create_dataset("plain", data=data, chunks=True, fletcher32=True)
        noise = np.frombuffer(random_.bytes(data.nbytes), data.dtype).reshape(data.shape)
        file.create_dataset("noise", data=noise, **layout.STORED)
        every = frozenset({h5chunks.SHUFFLE, h5chunks.DEFLATE, h5chunks.FLETCHER})
        for name in ("packed", "plain", "noise"):
            found = h5chunks.Chunked(file[name], name, every)
            for part in (slice(None), slice(7, 8), slice(700, 2500), slice(5, 5), slice(-3, None)):
                assert found[part].tobytes() == file[name][part].tobytes()
            assert found[11].tobytes() == file[name][11].tobytes()
            assert len(found) == len(data)


def test_a_chunk_with_one_bit_changed_is_told(whole: Path) -> None:
    with h5py.File(whole) as file:
        where = file["entry/kit_pressure_gauge/pump1.main"].id.get_chunk_info(0)
    data = bytearray(whole.read_bytes())
    data[where.byte_offset + where.size // 2] ^= 4
    whole.write_bytes(data)
    with pytest.raises(TraceError, match=r"“kit_pressure_gauge/pump1.main” are damaged"):
        TraceFile(whole).trace()
    assert len(TraceFile(whole).window(0.0, 1.0, only={"P2"}).series[0]) == 1000


def test_many_channels_make_structures_that_are_still_sound(tmp_path: Path) -> None:
    """Names that do not fit a header go to heaps and trees, as attributes over 64 kB do."""
    path = tmp_path / "t.h5"
    with h5py.File(path, "x", libver=layout.LIBRARY_RANGE) as file:
        for number in range(400):
            file.create_group(f"entry/{'long name ' * 20}{number}")
            file.attrs[f"a{number}"] = number
        file.attrs["long"] = np.zeros(20_000)
    with Structure(path) as structure, h5py.File(path) as file:
        structure.check(structure.root)
        links = (root := file["/"]).id.links
        structure.check(links.get_info(b"entry").u)
        assert root.name == "/"
