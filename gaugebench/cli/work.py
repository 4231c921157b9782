"""Commands on the work: machine sheets, reports, the job book."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from gaugebench.cli.app import app
from gaugebench.errors import SheetError

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
) -> None:
    """Write the report of a job from its worksheet and its traces."""
    from gaugebench.report.files import report_job

    made = report_job(
        job, out, paper=paper, pressure=unit, say=lambda text: typer.echo(text, err=True)
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


book_app = typer.Typer(
    help="The job book: which traces belong to which job.", rich_markup_mode=None
)
app.add_typer(book_app, name="book")

BookFile = Annotated[
    Path | None, typer.Option("--book", metavar="FILE", help="Another book than your own.")
]


@book_app.command("rebuild")
def rebuild_book(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The folder of trace files.")],
    book: BookFile = None,
) -> None:
    """Make the book anew from the trace files in a folder and below it."""
    from gaugebench.store.book.book import Book

    def progress(share: float) -> bool:
        typer.echo(f"{100 * share:.0f} %", err=True)
        return True

    with Book(book) as open_book:
        made = open_book.rebuild(folder, progress)
    for sentence in made.left_out:
        typer.echo(sentence, err=True)
    typer.echo(f"{made.traces} traces of {made.jobs} jobs are in the book.")


@book_app.command("find")
def find_in_book(
    words: Annotated[list[str] | None, typer.Argument(help="Serial, customer, machine …")] = None,
    book: BookFile = None,
) -> None:
    """Find jobs in which all the words appear, the newest first; all jobs without words."""
    from gaugebench.store.book.book import Book

    with Book(book) as open_book:
        found = open_book.search(" ".join(words or []))
    for job in found:
        typer.echo(f"{job.number}: {job.opened_on}  {job.job}, {job.machine} {job.serial}")
    if not found:
        typer.echo("No job found.")
