"""The demonstration: an invented visit to a simulated machine, from hook-up to figures.

The simulated board writes to a pseudo-terminal, and everything from there on is what a real kit
would go through: driver, ring, live marks, journal, trace file, figures.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from gaugebench.errors import DeskError
from gaugebench.first_start import check_window
from gaugebench.model.figures import FigureSet
from gaugebench.model.kit import Kit
from gaugebench.session.finish import figures_of
from gaugebench.session.session import Session
from gaugebench.session.tables import figure_table
from gaugebench.simulate.visit import PARTICULARS, demo_kit, demo_script, practice_kit

NAME = "practice visit"
AFTER_S = 1.0
"""Recorded on after the board fell silent, so that its last line is in."""


def run_demo(out: Path, *, headless: bool, say: Callable[[str], None]) -> Path:
    """Run the visit; the trace's path. In `out`: the trace, the figures, pictures of the desk.

    headless: draw the desk without showing it and end by itself; else it stays open for a look.
    Raises `SourceError`, `RecordError`.
    """
    out.mkdir(parents=True, exist_ok=True)
    shown = not headless and _can_show(say)
    if not shown:
        os.environ["QT_QPA_PLATFORM"] = "offscreen"
    # Qt, and only after its platform is settled.
    from gaugebench.desk.guided import DeskTour

    say(f"{PARTICULARS.machine}, {PARTICULARS.site}.")
    say("The machine is simulated; its board speaks through a serial line as a real one would.")
    script = demo_script()
    with _hooked_up() as (kit, power_on):
        session = Session(kit, out)
        session.open()
        try:
            power_on()
            say(f"Recording {script.duration_s:.0f} s …")
            tour = DeskTour(session, PARTICULARS, NAME)
            trace = tour.run(script.duration_s + AFTER_S, out)
        finally:
            session.close()
    found = figures_of(trace)
    table = _write_table(found, trace)
    say(table.read_text(encoding="utf-8"))
    pictures = tour.review(trace, out)
    say("What was made:")
    for path in (trace, table, *pictures):
        say(f"  {path.resolve()}")
    if shown:
        tour.stay_open()
    tour.close()
    return trace


def _can_show(say: Callable[[str], None]) -> bool:
    if not has_display(os.environ, sys.platform):
        return False
    try:
        check_window()
    except DeskError as fault:
        say(f"{fault} The demo goes on without a window.")
        return False
    return True


def has_display(environment: Mapping[str, str], platform: str) -> bool:
    """Whether a window can be shown: on Linux a display must be named in the environment."""
    if platform.startswith(("win", "darwin")):
        return True
    if environment.get("QT_QPA_PLATFORM") in {"offscreen", "minimal"}:
        return False
    return bool(environment.get("DISPLAY") or environment.get("WAYLAND_DISPLAY"))


@contextmanager
def _hooked_up() -> Iterator[tuple[Kit, Callable[[], None]]]:
    """The kit of the visit, and what lets the board at its other end begin to speak."""
    if os.name != "posix":
        # No pseudo-terminals there: the same machine, read without a line between.
        yield practice_kit(), lambda: None
        return
    from gaugebench.simulate.board import Board

    board = Board(demo_script())
    try:
        yield demo_kit(board.port), board.start
    finally:
        board.stop()


def _write_table(found: FigureSet, trace: Path) -> Path:
    path = trace.with_suffix(".figures.txt")
    path.write_text(figure_table(found, "bar") + "\n", encoding="utf-8")
    return path
