"""Commands on traces: figures, conversion, checking, simulation."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated, Any

import typer

from gaugebench.cli.app import app
from gaugebench.cli.reading import takes_reading_flags
from gaugebench.errors import TraceError

Reading = dict[str, Any]


@app.command()
@takes_reading_flags
def figures(
    trace: Annotated[Path, typer.Argument(help="A trace: .h5, .csv, or a logger's text file.")],
    reading: Reading,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    unit: Annotated[str, typer.Option("--unit", help="Pressure unit: bar, MPa, psi …")] = "bar",
    sheet: Annotated[
        Path | None,
        typer.Option("--sheet", metavar="FILE", help="The machine sheet, for its control sense."),
    ] = None,
    table: Annotated[
        Path | None,
        typer.Option("--table", metavar="FILE", help="Write them as .csv or .xlsx too."),
    ] = None,
) -> None:
    """Take the figures from a trace and print them."""
    from gaugebench.analyse.figures import analyse
    from gaugebench.analyse.jsonform import as_json as to_json
    from gaugebench.session.finish import kept_settings
    from gaugebench.session.tables import figure_table
    from gaugebench.store.opening import open_trace

    if sheet is None:
        chosen = kept_settings(trace)
    else:
        from gaugebench.procedure.sheet import read, settings

        chosen = settings(read(sheet))
    found = analyse(open_trace(trace, **reading), chosen)
    if table is not None:
        from gaugebench.store.figuretable import write_figures

        typer.echo(f"Wrote {write_figures(found, table)}.", err=True)
    if as_json:
        typer.echo(json.dumps(to_json(found), allow_nan=False))
    else:
        typer.echo(figure_table(found, unit))


@app.command()
@takes_reading_flags
def conditions(
    trace: Annotated[Path, typer.Argument(help="A trace: .h5, .csv, or a logger's text file.")],
    reading: Reading,
    sheet: Annotated[
        Path | None,
        typer.Option("--sheet", metavar="FILE", help="The machine sheet, for its pumps."),
    ] = None,
) -> None:
    """Print what stands beside each loading, as JSON: engine speed and droop, oil, power, heat."""
    from gaugebench.analyse.conditions import conditions as beside
    from gaugebench.analyse.conditionsjson import conditions_json
    from gaugebench.analyse.figures import analyse
    from gaugebench.store.opening import open_trace

    chosen, pumps = None, None
    if sheet is not None:
        from gaugebench.procedure.pumpdata import pump_data
        from gaugebench.procedure.sheet import read, settings

        known = read(sheet)
        chosen, pumps = settings(known), pump_data(known)
    opened = open_trace(trace, **reading)
    rows = [
        {"start_s": loading.start_s, "end_s": loading.end_s}
        | conditions_json(beside(opened, loading, pumps))
        for loading in analyse(opened, chosen).loadings
    ]
    typer.echo(json.dumps({"schema": 1, "loadings": rows}, allow_nan=False))


@app.command()
@takes_reading_flags
def convert(
    source: Annotated[Path, typer.Argument(metavar="IN", help="The trace to read.")],
    target: Annotated[Path, typer.Argument(metavar="OUT", help="The .h5, .csv or .parquet.")],
    reading: Reading,
    save_recipe: Annotated[
        Path | None,
        typer.Option("--save-recipe", metavar="FILE", help="Keep how IN was read, as JSON."),
    ] = None,
) -> None:
    """Turn a trace into another format; the kind follows from the name's ending."""
    from gaugebench.session.convert import convert as run

    told = 0

    def progress(share: float) -> bool:
        nonlocal told
        if (tenth := int(10 * share)) > told:
            told = tenth
            typer.echo(f"{10 * tenth} % read", err=True)
        return True

    typer.echo(f"Wrote {run(source, target, reading, save_recipe, progress)}.")


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
def simulate(
    script: Annotated[Path, typer.Argument(metavar="SCRIPT", help="Who moves what, when (TOML).")],
    out: Annotated[
        Path, typer.Option("--out", metavar="TRACE.h5", help="The .h5, .csv or .csv.gz.")
    ],
    truth: Annotated[
        bool, typer.Option("--truth", help="Write what is true of it beside it, as JSON.")
    ] = False,
) -> None:
    """Carry out a script on the simulated machine and write the trace."""
    from gaugebench.session.simulated import simulate_to

    for path in simulate_to(script, out, truth=truth):
        typer.echo(f"Wrote {path}.")
