"""Commands that read a kit: demonstrate, record, listen, finish what a crash left behind."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated

import typer

from gaugebench.cli.app import app


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
    sheet: Annotated[
        Path | None,
        typer.Option("--sheet", metavar="FILE", help="The machine sheet, for its control sense."),
    ] = None,
) -> None:
    """Record a kit to a trace file without the desk."""
    from gaugebench.session.headless import record_to

    chosen = None
    if sheet is not None:
        from gaugebench.procedure.sheet import read, settings

        chosen = settings(read(sheet))
    record_to(kit, out, seconds, lambda text: typer.echo(text, err=True), settings=chosen)


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
    from gaugebench.acquire.registry import all_drivers, troubles

    for driver in all_drivers():
        typer.echo(f"{driver.name}: {driver.summary}")
        for name, option in driver.options.model_fields.items():
            default = "required" if option.is_required() else f"default {option.default!r}"
            typer.echo(f"    {name} ({default}): {option.description or ''}")
    for trouble in troubles():
        typer.echo(f"Not available: {trouble}")


@app.command()
def calibrate(
    table: Annotated[
        Path, typer.Argument(metavar="TABLE.csv", help="Columns applied,up,down,up,down …")
    ],
    full_scale: Annotated[
        float | None,
        typer.Option("--full-scale", min=1e-9, help="Else the highest applied pressure."),
    ] = None,
    degree: Annotated[
        int, typer.Option("--degree", min=1, max=2, help="1: a line; 2: a parabola.")
    ] = 1,
    unit: Annotated[str, typer.Option("--unit", help="The table's unit, for the words.")] = "bar",
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
) -> None:
    """Say a transducer's errors and its curve from applied and indicated pressures."""
    from gaugebench.session import calibrating

    found = calibrating.calibrated(calibrating.read_table(table), full_scale, degree)
    if as_json:
        typer.echo(json.dumps(calibrating.as_json(found), allow_nan=False, ensure_ascii=False))
    else:
        typer.echo(calibrating.as_text(found, unit))
