"""Cycle times, torque, costs and the pumps' rows."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy import stats

from gaugebench.model.figures import Absent, Figure
from gaugebench.model.job import Phase, Value
from gaugebench.procedure import balance, costs, cycles, merging, pumps, sheet, torque

BAR = 1e5


def _time(job: Any, key: str, *seconds: float, **more: Any) -> None:
    for s in seconds:
        value = Value(value=s, unit="s", expanded=0.04)
        fields = {"rpm": 1990.0, "droop_pct": 1.0, "phase": job.state.phase, **more}
        job.do("cycle timed", check=key, seconds=value, **fields)


def test_three_repeats_make_a_reading(job: Any) -> None:
    _time(job, "bucket-time", 3.0, 3.1)
    found = cycles.cycle(job.state, "bucket-time", Phase.AS_FOUND)
    assert found is not None
    assert found.still == 1
    assert cycles.reading(job.state, "bucket-time", job.now) is None
    _time(job, "bucket-time", 3.05)
    reading = cycles.reading(job.state, "bucket-time", job.now)
    assert reading is not None
    job.sheet.take(reading)
    # Mean and Student's interval against scipy; 0.04 s is shared by all three.
    t = np.array([3.0, 3.1, 3.05])
    half = stats.t.ppf((1 + 0.9545) / 2, 2) * stats.sem(t)
    assert reading.value.value == pytest.approx(t.mean())
    assert reading.value.expanded == pytest.approx(float(np.hypot(0.04, half)), rel=1e-3)


def test_the_time_at_rated_speed_stands_beside_and_only_where_allowed(job: Any) -> None:
    _time(job, "bucket-time", 3.0, 3.0, 3.0, rpm=1900.0)
    found = cycles.cycle(job.state, "bucket-time", Phase.AS_FOUND)
    assert found is not None
    assert isinstance(found.corrected, Figure)
    # Time is inverse to speed: 3.0 s at 1900 rpm is 2.85 s at 2000 rpm.
    assert found.corrected.value == pytest.approx(2.85)
    assert found.mean.value == pytest.approx(3.0)
    for check, more in (
        ("arm-time", {"droop_pct": 4.0}),
        ("boom-time", {"unloaded": False}),
    ):
        _time(job, check, 4.0, 4.0, 4.0, **more)
        other = cycles.cycle(job.state, check, Phase.AS_FOUND)
        assert other is not None
        assert isinstance(other.corrected, Absent)


def test_flow_from_the_cylinder_and_void_where_merged(job: Any) -> None:
    _time(job, "bucket-time", 3.0, 3.0, 3.0)
    _time(job, "boom-time", 4.0, 4.0, 4.0)
    bucket = cycles.cycle(job.state, "bucket-time", Phase.AS_FOUND)
    boom = cycles.cycle(job.state, "boom-time", Phase.AS_FOUND)
    assert bucket is not None
    assert boom is not None
    assert isinstance(bucket.flow, Figure)
    # π/4 · 0.1151² · 1.05 m in 3 s, as in any fluid-power handbook.
    assert bucket.flow.value == pytest.approx(np.pi / 4 * 0.1151**2 * 1.05 / 3.0)
    assert bucket.flow.expanded is not None
    assert 0.03 <= bucket.flow.expanded / bucket.flow.value <= 0.05
    assert isinstance(boom.flow, Absent)


def test_merge_on_and_off_are_timed_apart(job: Any) -> None:
    _time(job, "boom-time", 4.0, 4.0, 4.0)
    _time(job, "boom-time", 8.0, 8.0, 8.0, merged=False, regenerated=False)
    (found,) = merging.compared(job.state, Phase.AS_FOUND)
    assert found.gain == pytest.approx(0.5)
    # Relative uncertainties of a ratio add in squares (JCGM 100, 5.1.6); nothing scattered here.
    assert found.expanded == pytest.approx(0.5 * np.hypot(0.04 / 4.0, 0.04 / 8.0))
    assert "merge saves 50 % ± 1 % of the time" in found.words
    # Two cylinders of π/4 · 0.12² · 1.25 m in 8 s, now that no other oil joins.
    assert isinstance(found.flow_off, Figure)
    assert found.flow_off.value == pytest.approx(2 * np.pi / 4 * 0.12**2 * 1.25 / 8.0)
    # The check's own reading is of the machine as it works by itself.
    reading = cycles.reading(job.state, "boom-time", job.now)
    assert reading is not None
    assert reading.value.value == pytest.approx(4.0)


@pytest.mark.parametrize(
    ("expanded", "words"), [(0.5, "no gain beyond the uncertainty"), (None, "is not judged")]
)
def test_a_merge_that_makes_no_difference_is_said_and_never_without_an_uncertainty(
    job: Any, expanded: float | None, words: str
) -> None:
    for merged in (True, False):
        value = Value(value=8.0 if merged else 8.2, unit="s", expanded=expanded)
        job.do("cycle timed", check="boom-time", phase="as found", seconds=value, merged=merged)
    (found,) = merging.compared(job.state, Phase.AS_FOUND)
    assert words in found.words


def test_only_repeats_that_are_else_alike_are_compared(job: Any) -> None:
    _time(job, "boom-time", 4.0, merged=True, regenerated=True)
    _time(job, "boom-time", 8.0, merged=False, regenerated=False)
    assert merging.compared(job.state, Phase.AS_FOUND) == ()


def test_the_droop_is_of_the_unloaded_speed() -> None:
    assert cycles.droop_pct(2050.0, 2009.0) == pytest.approx(2.0)


def test_pumps_are_compared_by_flow_on_what_they_do_not_share(job: Any) -> None:
    # π/4 · 0.1151² · 1.05 m³ in 3 s against 110 cm³ at 1990 rpm; π/4 · 0.1301² · 1.4 m³ in 5.1 s.
    _time(job, "bucket-time", 3.0, 3.0, 3.0)
    _time(job, "arm-time", 6.5, 6.5, 6.5)
    _time(job, "boom-time", 4.0, 4.0, 4.0)
    one, two = sorted(balance.deliveries(job.state, Phase.AS_FOUND), key=lambda d: d.pump)
    full = 110e-6 * 1990 / 60
    assert one.share == pytest.approx(np.pi / 4 * 0.1151**2 * 1.05 / 3.0 / full)
    assert two.share == pytest.approx(np.pi / 4 * 0.1301**2 * 1.4 / 6.5 / full)
    assert one.expanded == pytest.approx(0.04, abs=0.01)
    told = balance.flow_words(job.state)
    assert "Pumps 2 and 1 differ" in told[-1] or "Pumps 1 and 2 differ" in told[-1]
    assert all("estimate" in line for line in told[:-1])


def _load(job: Any, p1: float, p2: float, rpm: float, **more: Any) -> None:
    fields: dict[str, Any] = {"moving": True, "held_s": 3.0, "unloaded_rpm": 2040.0, **more}
    value = Value(value=rpm, unit="rpm", expanded=5.0)
    job.do("load point", main_pa=(p1 * BAR, p2 * BAR), rpm=value, **fields)


def test_torque_is_never_judged_at_a_stall_nor_outside_50_to_80_percent(job: Any) -> None:
    # The relief's aim is 342 bar: 171 to 273.6 bar.
    _load(job, 325, 325, 2030, moving=False)
    _load(job, 150, 200, 2000)
    _load(job, 200, 280, 1700)
    _load(job, 200, 210, 1700, held_s=0.5)
    assert torque.wanted_pa(job.state) == pytest.approx((171e5, 273.6e5))
    found = torque.torque(job.state)
    assert not any(p.counts for p in found.points)
    assert found.worst_drop_rpm is None
    assert found.cause.startswith("Not judged")


def test_the_engine_is_proved_before_torque_is_blamed(job: Any) -> None:
    _load(job, 200, 210, 1700)
    assert torque.torque(job.state).worst_drop_rpm == pytest.approx(340)
    assert "prove the engine" in torque.torque(job.state).cause
    job.do("engine proved", sound=False, how="boost pressure low")
    assert "engine is weak" in torque.torque(job.state).cause
    job.do("engine proved", sound=True, how="on a brake")
    assert "torque is set high" in torque.torque(job.state).cause


def test_an_engine_that_carries_both_pumps(job: Any) -> None:
    _load(job, 200, 210, 1960)
    assert torque.torque(job.state).cause == "The engine carries both pumps."


def test_heat_over_a_relief_is_pressure_times_flow_over_600(job: Any) -> None:
    # P = p·Q/600 kW, p in bar and Q in L/min (definition). 110 cm³ at 2000 rpm: 220 L/min.
    found = costs.heat_over_relief(job.state.sheet, 1, 300 * BAR, 2000.0, (1.0, 1.0))
    assert found is not None
    full = 300 * 220 / 600
    assert found.kw[0] == pytest.approx(0.80 * full)
    assert found.kw[1] == pytest.approx(0.90 * full)
    assert found.litres_per_hour[0] < found.litres_per_hour[1]
    assert "estimate" in found.text


def test_oil_over_a_relief_is_costed_once_it_was_seen(job: Any) -> None:
    job.ready()
    job.read("pump1-cut-off", 325, limiter="cut-off")
    assert costs.of_job(job.state) == ()
    job.read("pump2-cut-off", 342, limiter="relief")
    (found,) = costs.of_job(job.state)
    assert "relief of pump 2" in found.what
    assert "estimate" in found.text


def test_power_short_of_the_engines_has_bounds() -> None:
    found = costs.short_of_engine(sheet.invented(), 60e3, 6e3)
    assert found is not None
    assert found.kw == pytest.approx((110 - 66 / 0.8, 110 - 54 / 0.9))
    assert "estimate" in found.text


def test_a_pump_is_never_called_good(job: Any) -> None:
    job.read("pump1-cut-off", 325)
    (one, two) = pumps.pump_rows(job.state)
    assert one.needed == (
        "a time or flow on a function of its own",
        "engine speed at high idle",
        "oil temperature",
    )
    assert "pressure at its cut-off" in two.needed
    job.ready()
    job.read("bucket-time", 3.0, 0.05)
    (one, _) = pumps.pump_rows(job.state)
    assert one.needed == ()
    for word in ("good", "OK", "fine", "healthy"):
        assert word not in one.text
