"""Recognition on labelled traces of a machine that is not the project's own simulation.

The traces stand with the tests of the analysis. Each kind of manoeuvre is a function of a sheet of
its own; what is true of a trace says which pumps were loaded and what held them.
"""

from __future__ import annotations

import gzip
import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from gaugebench.analyse.figures import analyse
from gaugebench.analyse.settings import Sense, Settings
from gaugebench.model.channel import Channel, Transducer
from gaugebench.model.job import OfferMade, Source
from gaugebench.model.trace import Trace
from gaugebench.procedure import recognise
from gaugebench.store.opening import open_trace

FOLDER = Path(__file__).parents[1] / "analyse" / "data" / "labelled"
NAMES = sorted(p.name.removesuffix(".truth.json") for p in FOLDER.glob("*.truth.json"))
FUNCTIONS = {"lift": (1, 2), "one": (1,), "two": (2,)}


def _sheet(sense: str) -> dict[str, Any]:
    checks = [
        {
            "key": f"{function}-{figure}-{pump}",
            "title": f"{function} {figure} {pump}",
            "stage": "main relief" if figure == "relief" else "cut-off",
            "figure": figure,
            "measures": f"pump{pump}.main",
            "function": function,
            "engine": "high idle",
            "lever": "full",
            "band": "at least 100 bar",
            "source": "made up",
        }
        for function, pumps in FUNCTIONS.items()
        for pump in pumps
        for figure in ("relief", "cut-off")
    ]
    return {
        "schema": 1,
        "machine": {
            "name": "labelled",
            "control": "positive" if sense == "falling" else "negative",
            "all_functions": True,
        },
        "pump": [{"number": 1}, {"number": 2}],
        "relief": [{"name": "main", "kind": "main", "shared": True}],
        "function": [
            {"name": name, "pumps": list(pumps), "merged": len(pumps) > 1, "relief": "main"}
            for name, pumps in FUNCTIONS.items()
        ],
        "check": checks,
    }


def _open(name: str, folder: Path) -> Trace:
    """The trace, with a transducer class on its channels so that a verdict may rest on them."""
    path = folder / f"{name}.csv"
    path.write_bytes(gzip.decompress((FOLDER / f"{name}.csv.gz").read_bytes()))
    trace = open_trace(path)

    def classed(channel: Channel) -> Channel:
        chain = replace(channel.chain, range_low=0.0, range_high=60e6)
        return replace(channel, chain=chain, transducer=Transducer(accuracy_pct_fs=0.25))

    return replace(
        trace, series=tuple(replace(s, channel=classed(s.channel)) for s in trace.series)
    )


def _mains(offers: tuple[OfferMade, ...]) -> dict[str, OfferMade]:
    return {o.fits[0].check[-1]: o for o in offers}


@pytest.mark.parametrize("name", NAMES)
def test_each_loading_is_offered_first_for_what_it_was(
    name: str, new_job: Callable[..., Any], tmp_path: Path
) -> None:
    truth = json.loads((FOLDER / f"{name}.truth.json").read_text(encoding="utf-8"))
    figures = analyse(_open(name, tmp_path), Settings(control_sense=Sense(truth["control_sense"])))
    job = new_job(sheet=_sheet(truth["control_sense"]))
    assert len(figures.loadings) == len(truth["loadings"])
    for n, (loading, true) in enumerate(zip(figures.loadings, truth["loadings"], strict=True)):
        pumps = tuple(int(p) for p in true["pumps"])
        function = next(f for f, fed in FUNCTIONS.items() if fed == pumps)
        source = Source(trace=name, loading=n)
        for number, pump in true["pumps"].items():
            right = f"{function}-{pump['limited_by']}-{number}"
            # Asked for what it was, for what it was not, and for nothing.
            other = f"{function}-{'cut-off' if 'relief' in right else 'relief'}-{number}"
            for asked in (right, other, None):
                found = recognise.offers(job.state, loading, source, job.now, asked)
                offer = _mains(found)[number]
                assert offer.fits[0].check == right
                wrong = [
                    o.fits[0].check
                    for o in found
                    if recognise.fills_itself(o)
                    and o.fits[0].check
                    != f"{function}-{true['pumps'][o.fits[0].check[-1]]['limited_by']}"
                    f"-{o.fits[0].check[-1]}"
                ]
                assert wrong == []
                assert recognise.fills_itself(offer) <= (asked == right)


def test_there_are_labelled_traces() -> None:
    assert len(NAMES) >= 5
