"""The last step of a record: its figures and final marks go into the trace file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from gaugebench.analyse.figures import analyse
from gaugebench.analyse.settings import Settings
from gaugebench.errors import AnalysisError, RecordError, TraceError
from gaugebench.model.figures import FigureSet
from gaugebench.store.opening import open_trace
from gaugebench.store.recover import find, recover
from gaugebench.store.tracefile import save_findings


def figures_of(path: Path, settings: Settings | None = None) -> FigureSet:
    """The figures of a trace file. Raises `TraceError`, `AnalysisError`."""
    return analyse(open_trace(path), settings or Settings())


def add_figures(path: Path, settings: Settings | None = None) -> None:
    """Analyse a trace file and save figures and marks in it; marks set by hand stay.

    A trace in which there is nothing to analyse stays as it is. Raises `TraceError`.
    """
    try:
        found = figures_of(path, settings)
    except AnalysisError:
        return  # it says so again, to the person, where the figures are asked for
    save_findings(path, found)


def recover_all(folder: Path, say: Callable[[str], None]) -> int:
    """Finish every record that was left behind in a folder; how many there were.

    One that cannot be finished does not keep the others from it. Raises `RecordError` at the end,
    naming those that could not.
    """
    leftovers = find(folder)
    failed: list[str] = []
    for leftover in leftovers:
        say(f"Found {leftover}.")
        if leftover.held_by is not None:
            failed.append(f"{leftover.folder.name} is being written by {leftover.held_by}")
            continue
        try:
            path = recover(leftover)
            add_figures(path)
        except (RecordError, TraceError) as fault:
            failed.append(f"{leftover.folder.name}: {fault}".rstrip("."))
        else:
            say(f"Recovered {path}.")
    if failed:
        raise RecordError(f"Not finished: {'; '.join(failed)}.")
    return len(leftovers)
