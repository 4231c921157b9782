"""The command line's frame: how it starts, and how it fails.

Exit status 0, or 1 with one sentence on standard error. With `--json` nothing but the JSON goes
to standard output.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from gaugebench import __version__, diagnostics, first_start
from gaugebench.errors import GaugebenchError

app = typer.Typer(
    name="gaugebench",
    help="Read a hydraulic test kit live, record it, and take the figures from the record.",
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"gaugebench {__version__}")
        raise typer.Exit


@app.callback(invoke_without_command=True)
def desk(
    context: typer.Context,
    _version_asked: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """Open the desk; with a command, run that instead."""
    if context.invoked_subcommand is None:
        raise typer.Exit(open_desk())


@app.command("open")
def open_trace(
    trace: Annotated[Path | None, typer.Argument(help="A trace to show in Review.")] = None,
) -> None:
    """Open the desk, with a trace where one is named."""
    raise typer.Exit(open_desk(trace))


def open_desk(trace: Path | None = None) -> int:
    """Open the window until it is closed. Raises `DeskError` where none can be shown."""
    first_start.check_window()
    diagnostics.start()
    try:
        from gaugebench.desk.app import run  # Qt, so only where a window is wanted

        return run([str(trace)] if trace is not None else [])
    finally:
        diagnostics.stop()


def main() -> None:
    """Entry point of the `gaugebench` command."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    try:
        status = app(standalone_mode=False)
    except GaugebenchError as fault:
        _fail(str(fault))
    except typer.TyperException as fault:
        _fail(fault.format_message())
    except (typer.Abort, KeyboardInterrupt):
        _fail("Stopped.")
    except BrokenPipeError:
        sys.stderr.close()  # the reader of a pipe went away; nothing to add
        raise SystemExit(1) from None
    else:
        raise SystemExit(status if isinstance(status, int) else 0)


def _fail(sentence: str) -> None:
    typer.echo(sentence, err=True)
    raise SystemExit(1)
