"""Commands on the work: machine sheets, reports, a practice visit."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from gaugebench.cli.app import app
from gaugebench.errors import JobError, SheetError

sheet_app = typer.Typer(
    help="Machine sheets: what the maker says a reading should be.", rich_markup_mode=None
)
app.add_typer(sheet_app, name="sheet")


@app.command()
def report(
    job: Annotated[Path, typer.Argument(metavar="JOB", help="The job's file.")],
    out: Annotated[
        Path | None, typer.Option("--out", help="The .pdf, .html or .xlsx to make.")
    ] = None,
    paper: Annotated[str, typer.Option("--paper", help="A4 or Letter.")] = "A4",
    unit: Annotated[str, typer.Option("--unit", help="Pressure unit: bar, MPa, psi …")] = "bar",
    language: Annotated[
        str, typer.Option("--language", help="What the report is written in: en or de.")
    ] = "en",
) -> None:
    """Write the report of a job from its worksheet and its traces."""
    from gaugebench.desk.words import LANGUAGES, Speaker  # the words alone: no window
    from gaugebench.report.files import report_job

    if language not in LANGUAGES:
        raise JobError(f"A report is written in {' or '.join(LANGUAGES)}, not in “{language}”.")
    made = report_job(
        job,
        out,
        paper=paper,
        pressure=unit,
        speech=Speaker(language),
        say=lambda text: typer.echo(text, err=True),
    )
    typer.echo(f"Wrote {made}.")


@app.command()
def visit(
    out: Annotated[
        Path, typer.Option("--out", metavar="DIR", help="An empty folder for all of it.")
    ],
) -> None:
    """Work through an invented visit with three faults, from as found to the signed report."""
    from gaugebench.report.visit import visit as work_through

    work_through(out, datetime.now(UTC).astimezone(), say=typer.echo)


@app.command("log")
def gather_log(
    out: Annotated[
        Path, typer.Option("--out", metavar="FILE", help="The text file to make, to be sent.")
    ],
) -> None:
    """Put the diagnostic log, which holds nothing of a customer's, into one file to be sent."""
    from gaugebench import diagnostics

    typer.echo(f"Wrote {diagnostics.gather(out)}; read it before you send it.")


@sheet_app.command("check")
def check_sheet(
    sheet: Annotated[Path, typer.Argument(metavar="FILE", help="The machine sheet (TOML).")],
) -> None:
    """Name every fault of a machine sheet with its key."""
    from gaugebench.procedure.sheet import check

    faults = check(sheet)
    for fault in faults:
        typer.echo(fault)
    if faults:
        raise SheetError(f"{sheet}: {len(faults)} to mend, listed above.")
    typer.echo(f"No fault found in {sheet}.")


@sheet_app.command("blank")
def blank_sheet() -> None:
    """Print a commented blank to fill in from the maker's sheet."""
    from gaugebench.procedure.sheet import blank

    typer.echo(blank())
