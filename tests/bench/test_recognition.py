"""Recognition: how often a loading is offered for what it was, and whether any is taken wrongly.

Two truths: labelled traces of a machine that is not the project's own (GAUGEBENCH_LABELLED names a
folder of NAME.csv and NAME.truth.json; by default the packed few), and sequences on the project's
simulated machine, whose settings are drawn anew for each. Every loading is asked about three times:
for what it was, for something else, and for nothing. Share taken wrongly must be 0.
"""

from __future__ import annotations

import gzip
import json
import os
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from gaugebench.analyse.figures import analyse
from gaugebench.analyse.settings import Sense, Settings
from gaugebench.model.channel import Channel, Transducer
from gaugebench.model.figures import FigureSet
from gaugebench.model.job import JobOpened, OfferMade, Source
from gaugebench.model.trace import Trace
from gaugebench.procedure import recognise, sheet
from gaugebench.procedure.state import JobState, begin
from gaugebench.report.visit import rigged
from gaugebench.simulate.moves import Move, Script
from gaugebench.simulate.plant import BAR, Plant
from gaugebench.simulate.script import run
from gaugebench.store.opening import open_trace

pytestmark = pytest.mark.bench
PACKED = Path(__file__).parents[1] / "analyse" / "data" / "labelled"
LABELLED = Path(os.environ.get("GAUGEBENCH_LABELLED", PACKED))
AT = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
SEQUENCES = 8
KINDS = {"lift": (1, 2), "one": (1,), "two": (2,)}
"""What the labelled machine does, by the pumps that are loaded."""
WORKED = {
    "bucket": "pump1-cut-off",
    "arm": "pump2-cut-off",
    "swing": "swing-relief",
    "travel left": "travel-left-held",
    "travel right": "travel-right-held",
}
"""What is worked in a sequence, and the check that reads it while the cut-off is in service."""


@dataclass
class Tally:
    """first: offered first for what it was. among: it was among those offered."""

    due: int = 0
    first: int = 0
    among: int = 0
    taken: int = 0
    wrong: int = 0

    def note(self, offer: OfferMade | None, right: str, found: tuple[OfferMade, ...]) -> None:
        """One loading, asked about once."""
        self.due += 1
        fits = [f.check for f in offer.fits] if offer is not None else []
        self.first += fits[:1] == [right]
        self.among += right in fits
        for each in found:
            if recognise.fills_itself(each):
                self.taken += 1
                self.wrong += each.fits[0].check != right and each is offer


def _sheet(sense: str) -> dict[str, Any]:
    checks = [
        {
            "key": f"{kind}-{figure}-{pump}", "title": f"{kind} {figure} {pump}",
            "stage": "main relief" if figure == "relief" else "cut-off", "figure": figure,
            "measures": f"pump{pump}.main", "function": kind, "engine": "high idle",
            "lever": "full", "band": "at least 100 bar", "source": "made up",
        }
        for kind, pumps in KINDS.items() for pump in pumps for figure in ("relief", "cut-off")
    ]  # fmt: skip
    functions = [
        {"name": kind, "pumps": list(pumps), "merged": len(pumps) > 1, "relief": "main"}
        for kind, pumps in KINDS.items()
    ]
    control = "positive" if sense == "falling" else "negative"
    return {
        "schema": 1,
        "machine": {"name": "labelled", "control": control, "all_functions": True},
        "pump": [{"number": 1}, {"number": 2}],
        "relief": [{"name": "main", "kind": "main", "shared": True}],
        "function": functions,
        "check": checks,
    }


def _job(data: dict[str, Any]) -> JobState:
    return begin(JobOpened(at=AT, job="measured", sheet=data))


def _read(name: str, folder: Path) -> Trace:
    """A labelled trace, with a class on its transducers so that a verdict may rest on them."""
    path = LABELLED / f"{name}.csv"
    if not path.exists():
        path = folder / f"{name}.csv"
        path.write_bytes(gzip.decompress((LABELLED / f"{name}.csv.gz").read_bytes()))
    trace = open_trace(path)

    def classed(channel: Channel) -> Channel:
        chain = replace(channel.chain, range_low=0.0, range_high=60e6)
        return replace(channel, chain=chain, transducer=Transducer(accuracy_pct_fs=0.25))

    own = tuple(replace(s, channel=classed(s.channel)) for s in trace.series)
    return replace(trace, series=own)


def _of_pump(found: tuple[OfferMade, ...], state: JobState, pump: int) -> OfferMade | None:
    return next((o for o in found if state.check(o.fits[0].check).role.pump == pump), None)


def test_labelled_traces(measured: Callable[..., None], tmp_path: Path) -> None:
    tally, names = Tally(), sorted(p.name.removesuffix(".truth.json")
                                   for p in LABELLED.glob("*.truth.json"))  # fmt: skip
    assert names, f"no labelled trace in {LABELLED}"
    for name in names:
        truth = json.loads((LABELLED / f"{name}.truth.json").read_text(encoding="utf-8"))
        sense = truth["control_sense"]
        figures = analyse(_read(name, tmp_path), Settings(control_sense=Sense(sense)))
        state = _job(_sheet(sense))
        for n, loading in enumerate(figures.loadings[: len(truth["loadings"])]):
            pumps = truth["loadings"][n]["pumps"]
            kind = next(k for k, fed in KINDS.items() if fed == tuple(map(int, pumps)))
            for number, pump in pumps.items():
                right = f"{kind}-{pump['limited_by']}-{number}"
                other = f"{kind}-{'cut-off' if 'relief' in right else 'relief'}-{number}"
                for asked in (right, other, None):
                    found = recognise.offers(state, loading, Source(trace=name), AT, asked)
                    tally.note(_of_pump(found, state, int(number)), right, tuple(found))
    _tell(measured, f"{len(names)} labelled traces", tally)
    assert tally.first == tally.due


def _drawn(noise: np.random.Generator) -> Plant:
    """A machine whose settings stand anywhere near where they should, or well off."""
    plant = Plant().with_function("travel left", port_a=noise.uniform(270, 350) * BAR)
    plant = plant.with_function("swing", port_a=noise.uniform(235, 285) * BAR)
    reliefs = [replace(r, crack=noise.uniform(290, 345) * BAR) for r in plant.reliefs]
    cut_offs = [replace(c, start=noise.uniform(290, 350) * BAR) for c in plant.cutoffs]
    return replace(plant, reliefs=(reliefs[0], reliefs[1]), cutoffs=(cut_offs[0], cut_offs[1]))


HELD_S, EVERY_S = 4.0, 5.6
"""Long enough for bucket and arm to travel to their stops from anywhere."""


def _sequence(noise: np.random.Generator) -> tuple[FigureSet, list[Move]]:
    moves = [
        Move(str(name), 1.5 + EVERY_S * n, HELD_S)
        for n, name in enumerate(noise.permutation(list(WORKED)))
    ]
    plant = rigged(_drawn(noise))
    plant = plant.with_function("bucket", start=noise.uniform(0.5, 1.04))
    plant = plant.with_function("arm", start=noise.uniform(0.7, 1.39))
    script = Script(1.5 + EVERY_S * len(moves), plant=plant, moves=tuple(moves))
    data = sheet.invented_data()
    return analyse(run(script)[0], sheet.settings(_job(data).sheet)), moves


def test_simulated_sequences(measured: Callable[..., None]) -> None:
    tally, lost = Tally(), 0
    data = sheet.invented_data()
    data["machine"]["all_functions"] = True
    state = _job(data)
    for seed in range(SEQUENCES):
        noise = np.random.default_rng(seed)
        figures, moves = _sequence(noise)
        for move in moves:
            held = move.start_s + HELD_S - 0.2
            loading = next((x for x in figures.loadings if x.start_s < held < x.end_s), None)
            if loading is None:
                lost += 1
                continue
            right = WORKED[move.function]
            others = [c for c in WORKED.values() if c != right]
            for asked in (right, str(noise.choice(others)), None):
                found = tuple(recognise.offers(state, loading, Source(trace="s"), AT, asked))
                pump = state.check(right).role.pump or 0
                tally.note(_of_pump(found, state, pump), right, found)
    _tell(measured, f"{SEQUENCES} simulated sequences", tally)
    measured("loadings of simulated sequences that were not found", lost, "", limit=0)
    assert lost == 0
    assert tally.among == tally.due


def _tell(measured: Callable[..., None], of: str, tally: Tally) -> None:
    note = f"{tally.due} times asked"
    measured(f"recognition, {of}: offered first for what it was", 100 * tally.first / tally.due,
             "%", note=note)  # fmt: skip
    measured(f"recognition, {of}: among what was offered", 100 * tally.among / tally.due, "%",
             note=note)  # fmt: skip
    measured(f"recognition, {of}: taken without asking", 100 * tally.taken / tally.due, "%")
    measured(f"recognition, {of}: taken wrongly", tally.wrong, "", limit=0)
    assert tally.wrong == 0
