"""From one trace format to another."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from gaugebench.errors import TraceError
from gaugebench.store.export import write_csv
from gaugebench.store.opening import open_trace
from gaugebench.store.tracefile import write_trace


def convert(source: Path, target: Path, roles: Mapping[str, str]) -> Path:
    """Read `source` and write it as what `target` ends in; the path it became.

    Nothing is overwritten: a taken name gets a number. Raises `TraceError`.
    """
    writers = {".h5": write_trace, ".csv": write_csv}
    writer = writers.get(target.suffix.lower())
    if writer is None:
        raise TraceError(f"“{target.name}” should end in {' or '.join(writers)}.")
    return writer(open_trace(source, roles=roles), target)
