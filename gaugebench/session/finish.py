"""The last step of a record: its figures and final marks go into the trace file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from gaugebench.analyse.figures import analyse
from gaugebench.analyse.settings import Settings
from gaugebench.errors import AnalysisError, RecordError, TraceError
from gaugebench.model.figures import FigureSet
from gaugebench.store.opening import is_trace_file, open_trace
from gaugebench.store.recover import find, recover
from gaugebench.store.tracefile import TraceFile, save_findings


def kept_settings(path: Path) -> Settings:
    """The settings that the figures in a trace file were taken with; the defaults where there are
    none, or where the file is of another kind. So figures come out the same again, and a sheet's
    control sense that stood at the record goes wherever the trace goes. Raises `TraceError`.
    """
    if not is_trace_file(path):
        return Settings()
    found = TraceFile(path).annexe.figures
    try:
        return Settings() if found is None else Settings.from_mapping(found.settings)
    except ValueError as fault:
        raise TraceError(
            f"The settings kept in {path.name} are damaged ({fault}); take its figures anew in "
            "Review and save them."
        ) from fault


def figures_of(path: Path, settings: Settings | None = None) -> FigureSet:
    """The figures of a trace file, by default with the settings it keeps. Raises `TraceError`,
    `AnalysisError`."""
    return analyse(open_trace(path), settings or kept_settings(path))


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
