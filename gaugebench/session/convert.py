"""From one trace format to another."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from gaugebench.errors import TraceError
from gaugebench.model.trace import Trace
from gaugebench.store.export import write_csv
from gaugebench.store.opening import open_trace
from gaugebench.store.tracefile import write_trace

Writer = Callable[[Trace, Path], Path]


def writer_for(target: Path) -> Writer:
    """What writes the kind of file that a name ends in. Raises `TraceError`."""
    writers: dict[str, Writer] = {".h5": write_trace, ".csv": write_csv}
    writer = writers.get(target.suffix.lower())
    if writer is None:
        raise TraceError(f"“{target.name}” should end in {' or '.join(writers)}.")
    return writer


def convert(source: Path, target: Path, roles: Mapping[str, str]) -> Path:
    """Read `source` and write it as what `target` ends in; the path it became.

    Nothing is overwritten: a taken name gets a number. Raises `TraceError`.
    """
    write = writer_for(target)
    return write(open_trace(source, roles=roles), target)
