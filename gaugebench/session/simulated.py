"""A simulated visit as a trace file, with the truth beside it."""

from __future__ import annotations

import json
from pathlib import Path

from gaugebench.errors import TraceError
from gaugebench.session.convert import writer_for
from gaugebench.simulate.script import run
from gaugebench.simulate.scriptfile import read_script


def simulate_to(script_file: Path, out: Path, *, truth: bool) -> list[Path]:
    """Carry out a script and write its trace; with `truth`, a `.truth.json` beside it.

    Nothing is overwritten: a taken name gets a number. Raises `ScriptError`, `TraceError`.
    """
    write = writer_for(out)
    trace, known = run(read_script(script_file))
    made = [write(trace, out)]
    if truth:
        beside = made[0].with_suffix(".truth.json")
        try:
            with beside.open("x", encoding="utf-8") as file:
                json.dump(known, file, indent=1)
        except FileExistsError as fault:
            raise TraceError(f"{beside} is there already; name another file.") from fault
        made.append(beside)
    return made
