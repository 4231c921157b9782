"""Figures do not depend on what should not matter: unit, clock, order, rate, bystanders, names."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from gaugebench.analyse.figures import analyse
from gaugebench.analyse.jsonform import as_json
from gaugebench.model.figures import FigureSet
from gaugebench.model.role import Role
from gaugebench.model.trace import Series, Trace
from gaugebench.quantity import Dimension
from tests.analyse.conftest import Labelled

SOME = st.sampled_from(["trace002", "trace010", "trace017", "trace025", "trace029"])
few = settings(
    max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
Reviewed = Callable[[str], FigureSet]
PRESSURES = ("initial_pa", "peak_pa", "raw_peak_pa", "settled_pa", "control_settled_pa")
INSTANTS = ("t50_s",)
PLAIN = ("settle_s", "overshoot_pct")


def figures(trace: Trace) -> list[dict[str, Any]]:
    return as_rows(analyse(trace))


def as_rows(found: FigureSet) -> list[dict[str, Any]]:
    loadings: list[dict[str, Any]] = as_json(found)["loadings"]
    return loadings


def each(trace: Trace, change: Callable[[Series], Series]) -> Trace:
    return replace(trace, series=tuple(change(s) for s in trace.series))


def same(got: float | None, want: float | None, share: float, least: float = 0.0) -> bool:
    if got is None or want is None:
        return got is want
    return abs(got - want) <= share * abs(want) + least


def compare(
    got: list[dict[str, Any]],
    want: list[dict[str, Any]],
    scale: float = 1.0,
    later_s: float = 0.0,
    share: float = 1e-6,
    time_s: float = 1e-6,
) -> None:
    """All figures agree: pressures by `scale`, instants by `later_s`."""
    assert [sorted(g["pumps"]) for g in got] == [sorted(w["pumps"]) for w in want]
    for g_all, w_all in zip(got, want, strict=True):
        for pump, w in w_all["pumps"].items():
            g = g_all["pumps"][pump]
            assert g["limited_by"] == w["limited_by"]
            for name in PRESSURES:
                allowed = 10 * share if name == "initial_pa" else share
                assert same(g[name], w[name] and w[name] * scale, allowed), name
            for name in INSTANTS:
                assert same(g[name], w[name] and w[name] + later_s, 0, time_s), name
            for name in PLAIN:
                assert same(g[name], w[name], 100 * share, 100 * time_s), name
            for name in ("relief_crack", "destroke_onset"):
                a, b = g[name], w[name]
                assert (a is None) == (b is None), name
                if a and b:
                    assert same(a["time_s"], b["time_s"] + later_s, 0, time_s)
                    wanted = b["pressure_pa"] and b["pressure_pa"] * scale
                    assert same(a["pressure_pa"], wanted, 10 * share)
        for name in ("imbalance_pct", "sync_lag_s", "cycle_time_s"):
            assert same(g_all[name], w_all[name], 100 * share, 100 * time_s), name


@few
@given(name=SOME, factor=st.sampled_from([6894.757293168361, 98066.5, 1e5, 1e6]))
def test_a_change_of_unit_changes_nothing(
    labelled: Callable[[str], Labelled], reviewed: Reviewed, name: str, factor: float
) -> None:
    trace = labelled(name).trace

    def change(series: Series) -> Series:
        if series.channel.dimension is not Dimension.PRESSURE:
            return series
        return replace(series, values=(series.values / factor) * factor)

    compare(figures(each(trace, change)), as_rows(reviewed(name)))


@few
@given(name=SOME, scale=st.floats(0.15, 1.25))
def test_a_machine_of_other_pressures_only_scales_them(
    labelled: Callable[[str], Labelled], reviewed: Reviewed, name: str, scale: float
) -> None:
    trace = labelled(name).trace

    def change(series: Series) -> Series:
        if series.channel.dimension is not Dimension.PRESSURE:
            return series
        return replace(series, values=series.values * scale)

    compare(figures(each(trace, change)), as_rows(reviewed(name)), scale=scale)


@few
@given(name=SOME, later_s=st.floats(-5, 5000))
def test_a_shift_of_the_clock_only_shifts_instants(
    labelled: Callable[[str], Labelled], reviewed: Reviewed, name: str, later_s: float
) -> None:
    trace = labelled(name).trace
    moved = each(trace, lambda s: replace(s, times=s.times + later_s))
    # Bins sit on a fixed grid of the clock, so the stretches looked at differ by up to a bin.
    compare(figures(moved), as_rows(reviewed(name)), later_s=later_s, share=1e-3, time_s=2e-3)


@few
@given(name=SOME, order=st.permutations(range(6)))
def test_the_order_of_channels_does_not_matter(
    labelled: Callable[[str], Labelled], reviewed: Reviewed, name: str, order: list[int]
) -> None:
    trace = labelled(name).trace
    mixed = replace(trace, series=tuple(trace.series[i] for i in order))
    assert figures(mixed) == as_rows(reviewed(name))


@pytest.mark.parametrize("name", ["trace002", "trace029"])
def test_a_bystander_does_not_matter(
    labelled: Callable[[str], Labelled], reviewed: Reviewed, name: str
) -> None:
    trace = labelled(name).trace
    noise = np.random.default_rng(2).normal(5e6, 3e6, len(trace.series[0]))
    role = Role("load_sense")
    other = replace(
        trace.series[0],
        channel=replace(trace.series[0].channel, name="load_sense", role=role),
        values=noise,
    )
    assert figures(replace(trace, series=(other, *trace.series))) == as_rows(reviewed(name))


@pytest.mark.parametrize("name", ["trace010", "trace023", "trace025", "trace029", "visit004"])
def test_swapped_pumps_give_mirrored_figures(
    labelled: Callable[[str], Labelled], reviewed: Reviewed, name: str
) -> None:
    trace = labelled(name).trace

    def change(series: Series) -> Series:
        role = series.channel.role
        if role is None or role.pump is None or role.port is None:
            return series
        other = Role.parse(f"pump{3 - role.pump}.{role.port}")
        return replace(series, channel=replace(series.channel, role=other, name=other.name))

    swapped, straight = figures(each(trace, change)), as_rows(reviewed(name))
    for a, b in zip(swapped, straight, strict=True):
        assert {str(3 - int(p)): v for p, v in a["pumps"].items()} == b["pumps"]
        for mirrored in ("imbalance_pct", "sync_lag_s"):
            if b[mirrored] is not None:
                assert a[mirrored] == pytest.approx(-b[mirrored], abs=1e-9)
        assert a["cycle_time_s"] == b["cycle_time_s"]
        assert a["in_sync_s"] is None or a["in_sync_s"] == pytest.approx(b["in_sync_s"], abs=0.011)


@pytest.mark.parametrize("name", ["trace002", "trace017", "trace025"])
def test_half_the_rate_gives_the_same_levels(
    labelled: Callable[[str], Labelled], reviewed: Reviewed, name: str
) -> None:
    trace = labelled(name).trace
    half = each(
        trace,
        lambda s: replace(s, times=s.times[::2], values=s.values[::2], quality=s.quality[::2]),
    )
    for a, b in zip(figures(half), as_rows(reviewed(name)), strict=True):
        for pump, want in b["pumps"].items():
            got = a["pumps"][pump]
            assert got["limited_by"] == want["limited_by"]
            for name_, share in (("settled_pa", 0.002), ("initial_pa", 0.01), ("peak_pa", 0.012)):
                assert got[name_] == pytest.approx(want[name_], rel=share), name_
            assert got["t50_s"] == pytest.approx(want["t50_s"], abs=0.004)
