"""The flags that say how a logger's text file is read, shared by the commands that read one."""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any

import typer

from gaugebench.errors import GaugebenchError

# Name in `open_trace` → the flag. Roles and units are pairs; the recipe is a file.
FLAGS: dict[str, Any] = {
    "roles": Annotated[
        list[str] | None,
        typer.Option(
            "--role",
            metavar="COLUMN=ROLE",
            help="Which column plays which role, e.g. LowerPress=pump1.main. May be repeated.",
        ),
    ],
    "units": Annotated[
        list[str] | None,
        typer.Option(
            "--unit-of",
            metavar="COLUMN=UNIT",
            help="The unit of a column that does not state it, e.g. P1=bar. May be repeated.",
        ),
    ],
    "recipe": Annotated[
        Path | None,
        typer.Option("--recipe", metavar="FILE", help="A saved way to read such files."),
    ],
    "separator": Annotated[
        str | None, typer.Option("--separator", help="Between cells: , ; | tab or space.")
    ],
    "decimal": Annotated[str | None, typer.Option("--decimal", help="The decimal mark: . or ,")],
    "thousands": Annotated[
        str | None, typer.Option("--thousands", help="Between thousands: . , ' or space.")
    ],
    "encoding": Annotated[str | None, typer.Option("--encoding", help="E.g. utf-8 or cp1252.")],
    "header_line": Annotated[
        int | None, typer.Option("--header-line", min=0, help="Its line, from 1; 0: there is none.")
    ],
    "time_column": Annotated[
        str | None, typer.Option("--time-column", help="The column of times.")
    ],
    "time_unit": Annotated[
        str | None, typer.Option("--time-unit", help="s, ms, us, min, h, days, epoch-s, epoch-ms.")
    ],
    "date_order": Annotated[str | None, typer.Option("--date-order", help="dmy, mdy or ymd.")],
    "rate_hz": Annotated[
        float | None,
        typer.Option("--rate", help="Rows or counts a second, where no time is given."),
    ],
    "missing": Annotated[
        list[str] | None,
        typer.Option("--missing", help="A word that stands for “no number”. May be repeated."),
    ],
    "drop_duplicates": Annotated[
        bool, typer.Option("--drop-duplicates", help="Leave out rows equal to the one before.")
    ],
}
_WORDS = {"tab": "\t", "space": " "}


def takes_reading_flags(command: Callable[..., None]) -> Callable[..., None]:
    """Give a command the flags above; it is called with `reading`, what `open_trace` takes."""

    @functools.wraps(command)
    def call(**given: Any) -> None:
        command(**{n: v for n, v in given.items() if n not in FLAGS}, reading=said(given))

    own = inspect.signature(command, eval_str=True)
    mine = [p for p in own.parameters.values() if p.name != "reading"]
    shared = [
        inspect.Parameter(
            name,
            inspect.Parameter.KEYWORD_ONLY,
            default=False if name == "drop_duplicates" else None,
            annotation=flag,
        )
        for name, flag in FLAGS.items()
    ]
    parameters = [*(p.replace(kind=inspect.Parameter.KEYWORD_ONLY) for p in mine), *shared]
    # What the command line is made from: the signature, and the annotations that it is read by.
    call.__signature__ = own.replace(parameters=parameters)  # type: ignore[attr-defined]
    call.__annotations__ = {p.name: p.annotation for p in parameters}
    return call


def said(given: dict[str, Any]) -> dict[str, Any]:
    """What was said about a text file, as `open_trace` takes it: nothing that was left out."""
    found: dict[str, Any] = {
        name: _WORDS.get(value, value) if isinstance(value, str) else value
        for name in FLAGS
        if (value := given.get(name)) not in (None, [], False)
    }
    for name, flag in (("roles", "--role"), ("units", "--unit-of")):
        if name in found:
            found[name] = pairs(found[name], flag)
    if "recipe" in found:
        from gaugebench.store.importing.recipe import load_recipe

        found["recipe"] = load_recipe(found["recipe"])
    return found


def pairs(written: list[str], flag: str) -> dict[str, str]:
    """`NAME=VALUE` items as a mapping. Raises `GaugebenchError` naming the item."""
    found: dict[str, str] = {}
    for item in written:
        name, _, value = item.rpartition("=")
        if not name or not value:
            what = flag.removeprefix("--").partition("-")[0].upper()
            raise GaugebenchError(f"“{flag} {item}” should read COLUMN={what}.")
        found[name] = value
    return found
