"""Figures of a measured trace: constant-speed pushes of a ram, the last three over its relief.

Source: osrf/mbari_wec_gz, bench data of an electro-hydraulic ram (see tests/data/ram_bench).
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from gaugebench.analyse.figures import analyse
from gaugebench.errors import AnalysisError, TraceError
from gaugebench.model.figures import Figure, FigureSet
from gaugebench.model.trace import Trace
from gaugebench.quantity import Dimension, Reference, unit
from gaugebench.store.opening import open_trace

LOG = Path(__file__).parent / "data" / "ram_bench" / "last_pushes.exp.gz"
PSI = unit("psi").factor


@pytest.fixture(scope="module")
def trace() -> Trace:
    return open_trace(LOG, roles={"LowerHydPress": "pump1.main", "RPM": "engine.speed"})


@pytest.fixture(scope="module")
def found(trace: Trace) -> FigureSet:
    return analyse(trace)


def settled(found: FigureSet) -> list[Figure]:
    figures = [loading.pumps[1].settled for loading in found.loadings]
    assert all(isinstance(f, Figure) for f in figures)
    return [f for f in figures if isinstance(f, Figure)]


def test_every_push_is_a_loading(found: FigureSet) -> None:
    assert len(found.loadings) == 5


def test_settled_is_the_plateau(found: FigureSet) -> None:
    # The plateaus that the data's own description gives, psig. Below the relief the pressure
    # wanders by 2.5 % within a push, so the steady last part may lie that far from its mean.
    below, over = settled(found)[:2], settled(found)[2:]
    for figure, plateau in zip(below, (2307, 2618), strict=True):
        assert figure.value / PSI == pytest.approx(plateau, rel=0.025)
    for figure, plateau in zip(over, (2888, 2904, 2917), strict=True):
        assert figure.value / PSI == pytest.approx(plateau, rel=0.01)


def test_the_pushes_over_the_relief_are_those_that_lose_speed(
    trace: Trace, found: FigureSet
) -> None:
    # The motor's turns for each inch a second of the ram stay near 271 while the relief is shut,
    # and are fewer once oil goes over it: a witness that owes nothing to the pressure.
    by_name = {s.channel.name: s for s in trace.series}
    ratios = []
    for figure in settled(found):
        assert figure.window is not None
        window = figure.window.start_s, figure.window.end_s
        rpm, speed = (by_name[n].between(*window).values for n in ("RPM", "Spd"))
        ratios.append(abs(np.median(rpm) / np.median(speed)))
    shut, over = ratios[:2], ratios[2:]
    assert min(shut) > max(over)


def test_references_stay_what_they_are(trace: Trace) -> None:
    by_name = {s.channel.name: s.channel for s in trace.series}
    assert by_name["LowerHydPress"].reference is Reference.GAUGE
    assert by_name["LowerSpringPressure"].reference is Reference.ABSOLUTE
    assert by_name["LowerSpringPressure"].dimension is Dimension.PRESSURE


def test_an_absolute_pressure_gives_no_gauge_figures() -> None:
    wrong = open_trace(LOG, roles={"LowerSpringPressure": "pump1.main"})
    with pytest.raises(AnalysisError, match="gauge pressure"):
        analyse(wrong)


def test_a_role_for_a_column_that_is_not_there_is_named() -> None:
    with pytest.raises(TraceError, match="Pressure"):
        open_trace(LOG, roles={"Pressure": "pump1.main"})
