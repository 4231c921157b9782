"""Commands on the job book, and on a machine's jobs over its hours."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from gaugebench.cli.app import app

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


@book_app.command("pack")
def pack_job(
    number: Annotated[int, typer.Argument(metavar="NUMBER", help="As `book find` tells it.")],
    out: Annotated[Path, typer.Option("--out", metavar="FILE", help="The one file to make.")],
    also: Annotated[
        list[Path] | None,
        typer.Option("--also", metavar="FILE", help="Worksheet, report … May be repeated."),
    ] = None,
    book: BookFile = None,
) -> None:
    """Put a job's traces into one file with checksums, to hand it over."""
    from gaugebench.store.book.book import Book
    from gaugebench.store.book.handover import hand_over

    with Book(book) as open_book:
        typer.echo(f"Wrote {hand_over(open_book, number, out, also or ())}.")


@book_app.command("unpack")
def unpack_job(
    bundle: Annotated[Path, typer.Argument(metavar="FILE", help="A job that was packed.")],
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Where its files go.")],
    book: BookFile = None,
) -> None:
    """Take a job that was handed over into a folder and into the book, its checksums held."""
    from gaugebench.store.book.book import Book
    from gaugebench.store.book.handover import take_in

    with Book(book) as open_book:
        number, made = take_in(open_book, bundle, folder)
    for path in made:
        typer.echo(f"Wrote {path}.")
    typer.echo(f"It is job {number} of the book.")


@app.command()
def history(
    jobs: Annotated[list[Path], typer.Argument(metavar="JOB…", help="Files of jobs.")],
    serial: Annotated[str, typer.Option("--serial", help="Only of this machine.")] = "",
    unit: Annotated[str, typer.Option("--unit", help="Pressure unit: bar, MPa, psi …")] = "bar",
) -> None:
    """Print each check of a machine job after job, with hours, reading and verdict."""
    from gaugebench.procedure import history as past
    from gaugebench.procedure.jobfile import read
    from gaugebench.procedure.state import replay

    states = past.find([replay(read(path).events) for path in jobs], serial=serial)
    heads = ("check", "band", "hours", "date", "phase", "reading", "verdict")
    rows = [heads, *past.table(past.checks(states, unit))]
    widths = [max(len(row[n]) for row in rows) for n in range(len(heads))]
    for row in rows:
        cells = (cell.ljust(width) for cell, width in zip(row, widths, strict=True))
        typer.echo("  ".join(cells).rstrip())
