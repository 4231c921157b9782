"""Writing a report to a file, as what its name ends in says."""

from __future__ import annotations

import os
import stat
from collections.abc import Mapping
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

from gaugebench.errors import JobError
from gaugebench.model.saying import Saying, Written
from gaugebench.model.trace import Trace
from gaugebench.procedure.state import JobState
from gaugebench.report.content import report
from gaugebench.report.speech import ENGLISH, Speech
from gaugebench.report.spoken import spoken
from gaugebench.store.newfile import part_beside

KINDS = (".pdf", ".html", ".xlsx")
PAPERS = ("A4", "Letter")


def write(
    job: JobState,
    traces: Mapping[str, Trace],
    path: Path,
    *,
    paper: str = "A4",
    pressure: str = "bar",
    made_at: datetime | None = None,
    speech: Speech = ENGLISH,
) -> Path:
    """Write the report of a job to `path` (.pdf, .html or .xlsx) and return that path.

    traces: the job's traces by the name that the job gives them; one that is missing is named in
    the report. pressure: the unit pressures are shown in. made_at: printed in the footer, by
    default now; speech: the language it is written in; all else depends on the job and the traces
    alone. Raises `JobError` where the kind
    is not known or the file cannot be written.
    """
    kind = path.suffix.lower()
    if kind not in KINDS:
        raise JobError(
            Saying(
                "A report is written as {kinds}, not as “{name}”.",
                kinds=", ".join(KINDS),
                name=Written(path.name),
            )
        )
    if paper not in PAPERS:
        raise JobError(Saying("The paper is A4 or Letter, not “{paper}”.", paper=Written(paper)))
    made = report(job, traces, made_at or datetime.now(UTC).astimezone(), pressure)
    content = spoken(made, speech)
    data: bytes
    if kind == ".pdf":
        from gaugebench.report.pdf import pdf  # takes a while to load

        data = pdf(content, paper)
    elif kind == ".html":
        from gaugebench.report.html import html

        data = html(content).encode()
    else:
        from gaugebench.report.xlsx import xlsx

        data = xlsx(content)
    _put(path, data)
    return path


def _put(path: Path, data: bytes) -> None:
    """Whole or not at all: a report half written is worse than none.

    A new file gets the rights that this user's files get; one that is replaced keeps its own.
    """
    part = part_beside(path)
    try:
        with part.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if path.exists():
            part.chmod(stat.S_IMODE(path.stat().st_mode))
        part.replace(path)
    except OSError as fault:
        told = Saying(
            "The report {path} cannot be written: {why}.", path=Written(path), why=fault.strerror
        )
        raise JobError(told) from fault
    finally:
        with suppress(OSError):  # what went wrong first is what is told
            part.unlink(missing_ok=True)
