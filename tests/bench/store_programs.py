"""Run as a program, so that peak memory is that of one job: what the measurements of the store do.

    store_programs.py plain FILE          read a CSV with the engine alone
    store_programs.py stream FILE         read it through the importer, chunk by chunk
    store_programs.py file FILE TARGET    turn it into a trace file

Prints one JSON object: seconds, cpu_s (of all threads), rows, peak_mb, rejected.
"""

from __future__ import annotations

import json
import sys
import time
from pathlib import Path

import pyarrow as pa
import pyarrow.csv as pcsv


def plain(path: Path) -> tuple[int, int]:
    """The engine's own read of the whole file: typed columns, bad rows skipped."""
    skipped = []
    types = {name: pa.float64() for name in ("time [s]", "pump1.main [bar]", "pump2.main [bar]")}

    def skip(row: object) -> str:
        skipped.append(row)
        return "skip"

    table = pcsv.read_csv(
        path,
        parse_options=pcsv.ParseOptions(invalid_row_handler=skip),
        convert_options=pcsv.ConvertOptions(column_types=types),
    )
    return table.num_rows, len(skipped)


def stream(path: Path) -> tuple[int, int]:
    """The importer: laid out, timed, in order, in Pa, bad rows collected."""
    from gaugebench.store.importing.importer import Streams
    from gaugebench.store.importing.plan import plan_import
    from gaugebench.store.importing.recipe import Recipe

    streams = Streams(plan_import(path, Recipe()))
    count = sum(len(rows.times) for rows in streams.rows())
    return count, sum(streams.trace().rejects.values())


def to_file(path: Path, target: Path) -> tuple[int, int]:
    """The importer, and the trace file written beside it."""
    from gaugebench.store.importing.importer import import_to_file
    from gaugebench.store.importing.recipe import Recipe
    from gaugebench.store.tracefile import TraceFile

    head = TraceFile(import_to_file(path, target, Recipe()))
    return max(head.rows.values()), sum(head.head.rejects.values())


def main() -> None:
    """Do one job and tell."""
    import numpy  # noqa: F401 - loaded beforehand, so that imports are not measured

    import gaugebench.store.importing.importer  # noqa: F401
    from gaugebench.quantity import unit

    unit("bar")  # the registry of units, likewise
    began, used = time.perf_counter(), time.process_time()
    job, path = sys.argv[1], Path(sys.argv[2])
    if job == "file":
        rows, rejected = to_file(path, Path(sys.argv[3]))
    else:
        rows, rejected = {"plain": plain, "stream": stream}[job](path)
    seconds = time.perf_counter() - began
    # Not getrusage: its peak is handed down from the parent process.
    status = Path("/proc/self/status").read_text()
    peak = float(status.partition("VmHWM:")[2].split()[0]) / 1024
    cpu = time.process_time() - used
    told = {"seconds": seconds, "cpu_s": cpu, "rows": rows, "peak_mb": peak, "rejected": rejected}
    print(json.dumps(told))  # noqa: T201


if __name__ == "__main__":
    main()
