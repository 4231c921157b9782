"""A report from a job's file and the traces that lie beside it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path, PureWindowsPath

from gaugebench.errors import TraceError
from gaugebench.model.saying import Saying, Written
from gaugebench.model.trace import Trace
from gaugebench.procedure.jobfile import read
from gaugebench.procedure.state import replay
from gaugebench.report.speech import ENGLISH, Speech
from gaugebench.report.writing import write
from gaugebench.store.opening import open_trace


def report_job(
    job_file: Path,
    out: Path | None,
    *,
    paper: str = "A4",
    pressure: str = "bar",
    speech: Speech = ENGLISH,
    say: Callable[[str], None],
) -> Path:
    """Write the report of a job's file; by default a PDF of the same name beside it.

    A trace that is missing or cannot be read does not keep the report from being made: it is told
    to `say`, and the report names it as missing. Raises `JobError`.
    """
    replayed = read(job_file)
    for fault in replayed.faults:
        say(fault)
    state = replay(replayed.events)
    traces: dict[str, Trace] = {}
    for added in state.traces:
        # A job may come from anyone: what it names is looked for beside it and nowhere else.
        if PureWindowsPath(added.trace).name != added.trace:
            say(
                Saying(
                    "The trace “{trace}” does not lie beside the job and is left out.",
                    trace=Written(added.trace),
                )
            )
            continue
        try:
            traces[added.trace] = open_trace(job_file.parent / added.trace)
        except TraceError as fault:
            say(str(fault))
    target = out if out is not None else job_file.with_suffix(".pdf")
    return write(state, traces, target, paper=paper, pressure=pressure, speech=speech)
