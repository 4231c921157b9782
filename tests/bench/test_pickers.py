"""Onset and knee against general-purpose pickers, on the labelled traces.

Outside methods: ruptures' dynamic programming with its piecewise-linear cost (Truong, Oudre and
Vayatis, Signal Processing 167, 2020), and the AIC picker of obspy (Maeda 1985). Both are told
where to look, which the program is not. Errors are shares of the limits that the labelled traces
are judged by; 1.0 is the limit.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from gaugebench.analyse.figures import analyse
from gaugebench.analyse.jsonform import as_json
from gaugebench.model.role import Role
from gaugebench.model.trace import Trace
from gaugebench.store.opening import open_trace

if TYPE_CHECKING:
    from tests.bench.conftest import Measured

pytestmark = [
    pytest.mark.compare,
    # What these libraries warn of is theirs to mend.
    pytest.mark.filterwarnings("ignore"),
]

PACKED = Path(__file__).parents[1] / "analyse" / "data" / "labelled"
FOLDER = Path(os.environ.get("GAUGEBENCH_LABELLED", PACKED))
"""The labelled traces: the packed few, or a folder of NAME.csv and NAME.truth.json."""


@dataclass(frozen=True)
class Hold:
    """One pump in one loading: the trace, what is true of it, and what the program found."""

    trace: Trace
    pump: int
    truth: dict[str, Any]
    found: dict[str, Any]
    interval_ms: float


def holds() -> Iterator[Hold]:
    for path in sorted(FOLDER.glob("*.truth.json")):
        truth = json.loads(path.read_text(encoding="utf-8"))
        stem = path.name.removesuffix(".truth.json")
        trace = open_trace(next(FOLDER.glob(f"{stem}.csv*")))
        found = as_json(analyse(trace))["loadings"]
        for wanted, got in zip(truth["loadings"], found, strict=True):
            for pump, figures in wanted["pumps"].items():
                yield Hold(trace, int(pump), figures, got["pumps"][pump], 1e3 / truth["rate_hz"])


def stretch(hold: Hold, role: Role, before_s: float, after_s: float, at_s: float) -> Any:
    series = hold.trace.find(role)
    assert series is not None
    return series.between(at_s - before_s, at_s + after_s)


def test_the_knee_against_a_change_point_search(measured: Measured) -> None:
    search = import_module("ruptures").Dynp
    ours, theirs = [], []
    for hold in holds():
        true, found = hold.truth["relief_crack"], hold.found["relief_crack"]
        if not true or true["optional"] or not found or found["pressure_pa"] is None:
            continue
        limit = (1.0 + 0.10 * hold.interval_ms) / 100 * true["pressure_pa"]
        rise = true["time_s"] - hold.truth["t50_s"]
        part = stretch(hold, Role.main(hold.pump), rise, rise, true["time_s"])
        step = max(1, len(part) // 400)  # the search takes time with the square of the length
        values = part.values[::step] / 1e6
        knee = search(model="clinear", min_size=3, jump=1).fit(values).predict(n_bkps=1)[0]
        theirs.append(abs(values[knee] * 1e6 - true["pressure_pa"]) / limit)
        ours.append(abs(found["pressure_pa"] - true["pressure_pa"]) / limit)
    here, there = (float(np.quantile(shares, 0.95)) for shares in (ours, theirs))
    measured("relief crack pressure, 95 %, in limits", here, "", limit=1.0)
    measured("the same by ruptures, told where to look", there, "", note=f"{len(ours)} holds")
    assert here <= min(1.0, there)


def test_the_onset_against_an_aic_picker(measured: Measured) -> None:
    pick = import_module("obspy.signal.trigger").aic_simple
    ours, theirs = [], []
    for hold in holds():
        true, found = hold.truth["destroke_onset"], hold.found["destroke_onset"]
        if not true or true["optional"] or not found:
            continue
        limit = (15 + 1.5 * hold.interval_ms) / 1e3
        part = stretch(hold, Role.control(hold.pump), 0.5, 0.3, true["time_s"])
        picked = float(part.times[int(np.argmin(pick(part.values[1:-1]))) + 1])
        theirs.append(abs(picked - true["time_s"]) / limit)
        ours.append(abs(found["time_s"] - true["time_s"]) / limit)
    here, there = (float(np.quantile(shares, 0.95)) for shares in (ours, theirs))
    measured("de-stroke instant, 95 %, in limits", here, "", limit=1.0)
    measured("the same by an AIC picker, told where to look", there, "", note=f"{len(ours)} holds")
    assert here <= min(1.0, there)
