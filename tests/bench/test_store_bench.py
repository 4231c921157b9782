"""How fast the record is written, imported and opened. Ratios are taken within one run."""

from __future__ import annotations

import json
import statistics
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import h5py
import numpy as np
import pyarrow as pa
import pyarrow.csv as pcsv
import pytest

from gaugebench.model.block import Block
from gaugebench.model.channel import Channel, StreamSpec
from gaugebench.model.conditioning import Chain
from gaugebench.model.event import Setup
from gaugebench.model.role import Role
from gaugebench.model.trace import Series, Trace
from gaugebench.quantity import Reference
from gaugebench.store.book.book import Book
from gaugebench.store.recorder import Recorder
from gaugebench.store.tracefile import TraceFile, write_trace

pytestmark = [pytest.mark.bench, pytest.mark.timeout(900)]
PROGRAM = Path(__file__).with_name("store_programs.py")
BAR = Chain(raw_factor=1e5)


def _channels(count: int) -> tuple[Channel, ...]:
    return tuple(
        Channel(f"P{n}", Role.main(n), reference=Reference.GAUGE, raw_unit="bar", chain=BAR)
        for n in range(1, count + 1)
    )


def test_sustained_writing_of_8_channels_at_10_khz(tmp_path: Path, measured: Any) -> None:
    seconds, rows, rate = 20.0, 100, 10_000
    setup = Setup((StreamSpec("kit", _channels(8), rate),), datetime.now(UTC))
    recorder = Recorder(tmp_path / "fast.h5", setup)
    raw = np.round(np.random.default_rng(1).uniform(0, 400, (rows, 8)), 3)
    quality = np.zeros((rows, 8), np.uint16)
    largest = 0
    began, used = time.perf_counter(), time.process_time()
    for index in range(int(seconds * rate / rows)):
        times = (index * rows + np.arange(rows, dtype=np.float64)) / rate
        recorder.put(Block(0, index * rows, times, raw, quality))
        largest = max(largest, recorder.state.queue)
        time.sleep(max(0.0, began + (index + 1) * rows / rate - time.perf_counter()))
    share = (time.process_time() - used) / (time.perf_counter() - began)
    state = recorder.state
    sealing = time.perf_counter()
    path = recorder.stop()
    sealing = time.perf_counter() - sealing
    measured("journal, 8 channels x 10 kHz, share of one core (with making the samples)",
             100 * share, "%")  # fmt: skip
    measured("journal, largest queue", largest, "blocks", note=f"blocks of {rows} rows")
    measured("journal, samples lost", state.lost, "samples", limit=0)
    measured("sealing and comparing 20 s of it", sealing, "s")
    assert state.lost == 0
    assert TraceFile(path).rows == {"kit": int(seconds * rate)}


@pytest.fixture(scope="module")
def ten_million(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("csv") / "ten_million.csv"
    random = np.random.default_rng(2)
    count, piece = 10_000_000, 1_000_000
    with path.open("wb") as file:
        for at in range(0, count, piece):
            table = pa.table({
                "time [s]": np.round(np.arange(at, at + piece) * 1e-3, 3),
                "pump1.main [bar]": np.round(random.uniform(0, 400, piece), 2),
                "pump2.main [bar]": np.round(random.uniform(0, 400, piece), 2),
            })  # fmt: skip
            options = pcsv.WriteOptions(include_header=at == 0)
            pcsv.write_csv(table, file, options)
            file.write(b"17,bad\n")
    return path


def _run(*arguments: object) -> dict[str, Any]:
    done = subprocess.run(
        [sys.executable, PROGRAM, *map(str, arguments)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    told: dict[str, Any] = json.loads(done.stdout)
    return told


def test_import_of_10_million_rows(ten_million: Path, tmp_path: Path, measured: Any) -> None:
    ten_million.read_bytes()  # from memory in every run
    plain, stream = [], []
    for _ in range(3):
        plain.append(_run("plain", ten_million))
        stream.append(_run("stream", ten_million))
    filed = _run("file", ten_million, tmp_path / "ten.h5")
    base = statistics.median(r["seconds"] for r in plain)
    ours = statistics.median(r["seconds"] for r in stream)
    measured("plain read of 10 M rows x 3 by the engine", base, "s",
             note=f"peak {plain[0]['peak_mb']:.0f} MB")  # fmt: skip
    measured("import of 10 M rows x 3, against the plain read", ours / base, "times", limit=1.6)
    work = statistics.median(r["cpu_s"] for r in stream) / statistics.median(
        r["cpu_s"] for r in plain
    )
    measured("the same, work of all threads against that of the plain read", work, "times",
             limit=1.6)  # fmt: skip
    peak = max(r["peak_mb"] for r in stream)
    measured("import of 10 M rows x 3, peak memory", peak, "MB", limit=400)
    measured("import of 10 M rows x 3 into a trace file", filed["seconds"], "s",
             note=f"{filed['seconds'] / base:.1f} times the plain read")  # fmt: skip
    measured("the same, peak memory", filed["peak_mb"], "MB", limit=400)
    for told in (*plain, *stream, filed):
        assert (told["rows"], told["rejected"]) == (10_000_000, 10)


def test_opening_an_hour_of_8_channels_at_1_khz(tmp_path: Path, measured: Any) -> None:
    rows = 3_600_000
    times = np.arange(rows, dtype=np.float64) * 1e-3
    random = np.random.default_rng(3)
    flags = np.zeros(rows, np.uint16)
    series = []
    for channel in _channels(8):
        raw = np.round(random.normal(200, 2, rows) * 4096 / 600) * 600 / 4096
        series.append(Series(channel, times, raw * 1e5, flags, "kit", raw))
    path = write_trace(Trace(tuple(series)), tmp_path / "hour.h5")
    path.read_bytes()

    def overviews() -> None:
        file = TraceFile(path)
        for channel in _channels(8):
            assert channel.role is not None
            file.overview(channel.role, 0.0, 3600.0, 1600)

    def arrays() -> None:
        with h5py.File(path) as file:
            for channel in _channels(8):
                file[f"entry/kit_pressure_gauge/{channel.role}"][:]

    def window() -> None:
        TraceFile(path).window(1800.0, 1810.0)

    found = {}
    for name, job in (("overview", overviews), ("arrays", arrays), ("window", window)):
        spent = []
        for _ in range(5):
            began = time.perf_counter()
            job()
            spent.append(time.perf_counter() - began)
        found[name] = statistics.median(spent)
    measured("opening 1 h x 8 x 1 kHz to its overview (8 x 1600 buckets)",
             1000 * found["overview"], "ms")  # fmt: skip
    measured("the same, against reading the 8 raw arrays", found["overview"] / found["arrays"],
             "times")  # fmt: skip
    measured("a 10 s window of it, 8 channels", 1000 * found["window"], "ms")
    measured("size of that hour", path.stat().st_size / 1e6, "MB")


def test_finding_one_of_10_000_jobs(tmp_path: Path, measured: Any) -> None:
    with Book(tmp_path / "book.sqlite") as book:
        base = book._base
        base.execute("BEGIN")
        for n in range(10_000):
            machine = f"Machine {n % 700}"
            base.execute("INSERT OR IGNORE INTO machine VALUES (?, ?, ?)", (n, machine, f"S{n}"))
            base.execute(
                "INSERT INTO job VALUES (?, ?, ?, NULL, ?, 'A. Tester', ?, 'slow left track')",
                (n, f"J-{n:05}", n, f"Quarry {n % 40}", f"20{n % 26:02}-01-01"),
            )
            base.execute(
                "INSERT INTO job_search (rowid, words) VALUES (?, ?)",
                (n, f"J-{n:05} {machine} S{n} Quarry {n % 40} A. Tester slow left track"),
            )
        base.execute("COMMIT")
        worst = 0.0
        for text in ("J-04711", "slow", "quarry 3 machine", "S99", "tester left", "nothing", ""):
            began = time.perf_counter()
            book.search(text)
            worst = max(worst, time.perf_counter() - began)
        assert book.search("J-04711")[0].job == "J-04711"
        measured("finding jobs among 10 000, slowest of seven searches", 1000 * worst, "ms",
                 limit=100)  # fmt: skip
