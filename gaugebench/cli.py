"""The command line, thin: it asks the rooms below and prints.

Exit status 0, or 1 with one sentence on standard error. With `--json` nothing but the JSON goes
to standard output.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Annotated

import typer

from gaugebench import __version__
from gaugebench.errors import GaugebenchError, SheetError, TraceError

app = typer.Typer(
    name="gaugebench",
    help="Read a hydraulic test kit live, record it, and take the figures from the record.",
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)

sheet_app = typer.Typer(
    help="Machine sheets: what the maker says a reading should be.", rich_markup_mode=None
)
app.add_typer(sheet_app, name="sheet")

RolesOption = Annotated[
    list[str] | None,
    typer.Option(
        "--role",
        metavar="COLUMN=ROLE",
        help="Which column plays which role, for example LowerPress=pump1.main. May be repeated.",
    ),
]


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
        from gaugebench.desk.app import run  # Qt, so only where a window is wanted

        raise typer.Exit(run([]))


@app.command()
def demo(
    out: Annotated[
        Path, typer.Option("--out", metavar="DIR", help="Where what it makes is put.")
    ] = Path("gaugebench-demo"),
    headless: Annotated[
        bool, typer.Option("--headless", help="Without a window, even where there is a screen.")
    ] = False,
) -> None:
    """Show the whole job on a simulated machine, from hook-up to figures."""
    from gaugebench.demo import run_demo

    run_demo(out, headless=headless, say=typer.echo)


@app.command()
def record(
    kit: Annotated[Path, typer.Option("--kit", metavar="KIT.toml", help="The kit file.")],
    out: Annotated[Path, typer.Option("--out", metavar="TRACE.h5", help="The trace to make.")],
    seconds: Annotated[
        float | None,
        typer.Option("--seconds", min=0.1, help="Stop by itself; else stop with Ctrl+C."),
    ] = None,
) -> None:
    """Record a kit to a trace file without the desk."""
    from gaugebench.session.headless import record_to

    record_to(kit, out, seconds, say=lambda text: typer.echo(text, err=True))


@app.command()
def figures(
    trace: Annotated[Path, typer.Argument(help="A trace: .h5, .csv, or a logger's text file.")],
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    role: RolesOption = None,
    unit: Annotated[str, typer.Option("--unit", help="Pressure unit: bar, MPa, psi …")] = "bar",
) -> None:
    """Take the figures from a trace and print them."""
    from gaugebench.analyse.figures import analyse
    from gaugebench.analyse.jsonform import as_json as to_json
    from gaugebench.session.tables import figure_table
    from gaugebench.store.opening import open_trace

    found = analyse(open_trace(trace, roles=_roles(role)))
    if as_json:
        typer.echo(json.dumps(to_json(found), allow_nan=False))
    else:
        typer.echo(figure_table(found, unit))


@app.command()
def convert(
    source: Annotated[Path, typer.Argument(metavar="IN", help="The trace to read.")],
    target: Annotated[Path, typer.Argument(metavar="OUT", help="The .h5 or .csv to make.")],
    role: RolesOption = None,
) -> None:
    """Turn a trace into another format; the kind follows from the name's ending."""
    from gaugebench.session.convert import convert as run

    made = run(source, target, _roles(role))
    typer.echo(f"Wrote {made}.")


@app.command()
def recover(
    folder: Annotated[Path, typer.Argument(metavar="[DIR]", help="Where to look.")] = Path(),
) -> None:
    """Finish records that a crash or a power cut left behind."""
    from gaugebench.session.finish import recover_all

    if not recover_all(folder, say=typer.echo):
        typer.echo(f"No unfinished record in {folder.resolve()}.")


@app.command()
def ports() -> None:
    """List the serial ports and what the system knows of each."""
    from gaugebench.acquire.ports import list_ports

    found = list_ports()
    for port in found:
        typer.echo(str(port))
    if not found:
        typer.echo("No serial port found; plug the kit in and run this again.")


@app.command()
def drivers() -> None:
    """List the drivers, what each is for, and its options."""
    from gaugebench.acquire.registry import all_drivers

    for driver in all_drivers():
        typer.echo(f"{driver.name}: {driver.summary}")
        for name, option in driver.options.model_fields.items():
            default = "required" if option.is_required() else f"default {option.default!r}"
            typer.echo(f"    {name} ({default}): {option.description or ''}")


@app.command()
def verify(
    trace: Annotated[Path, typer.Argument(help="A trace file (.h5).")],
) -> None:
    """Say whether a trace file is whole and follows its format."""
    from gaugebench.store.verify import verify as run

    faults = run(trace)
    for fault in faults:
        typer.echo(fault)
    if faults:
        raise TraceError(f"{trace}: {len(faults)} departures from the format, listed above.")
    typer.echo(f"{trace} is whole and follows the format.")


@app.command()
def listen(
    kit: Annotated[Path, typer.Option("--kit", metavar="KIT.toml", help="The kit file.")],
    seconds: Annotated[
        float | None, typer.Option("--seconds", min=1.0, help="Stop by itself; else Ctrl+C.")
    ] = None,
    unit: Annotated[str, typer.Option("--unit", help="Pressure unit: bar, MPa, psi …")] = "bar",
) -> None:
    """Show what a kit delivers, once a second; nothing is recorded."""
    from gaugebench.session.listening import listen as run

    run(kit, seconds, unit, say=typer.echo)


@app.command()
def simulate(
    script: Annotated[Path, typer.Argument(metavar="SCRIPT", help="Who moves what, when (TOML).")],
    out: Annotated[Path, typer.Option("--out", metavar="TRACE.h5", help="The trace to make.")],
    truth: Annotated[
        bool, typer.Option("--truth", help="Write what is true of it beside it, as JSON.")
    ] = False,
) -> None:
    """Carry out a script on the simulated machine and write the trace."""
    from gaugebench.session.simulated import simulate_to

    for path in simulate_to(script, out, truth=truth):
        typer.echo(f"Wrote {path}.")


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


def _roles(written: list[str] | None) -> dict[str, str]:
    roles: dict[str, str] = {}
    for item in written or []:
        column, sign, role = item.rpartition("=")
        if not sign or not column or not role:
            raise GaugebenchError(f"“--role {item}” should read COLUMN=ROLE.")
        roles[column] = role
    return roles


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
