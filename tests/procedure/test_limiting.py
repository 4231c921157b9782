"""The fault table on simulated faults: its first row is the right one, or says that it cannot tell.

The readings in `data/simulated.json` are what the ports of the simulated machine read in each
check; `test_the_stored_readings_are_the_simulations` makes them anew.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from math import hypot
from pathlib import Path
from typing import Any

import pytest

from gaugebench.model.figures import Limiter
from gaugebench.model.job import ReadingTaken
from gaugebench.procedure import limiting
from gaugebench.procedure.limiting import CANNOT_TELL, NOTHING, Row, Standing, table
from gaugebench.quantity import Dimension
from gaugebench.simulate.layout import FUNCTIONS, PLACE, WIDTH
from gaugebench.simulate.machine import Machine
from gaugebench.simulate.plant import BAR, CutOff, Plant, Pump

DATA = Path(__file__).parent / "data" / "simulated.json"
NEVER = CutOff(start=600 * BAR)
HOLDS = {"bucket": 1, "arm": 2, "swing": 2, "travel left": 2, "travel right": 1}
TIMED = {"boom": 1, "arm": 2, "bucket": 1}
# Half-width of the k = 2 interval of each kind of reading, as a kit of class 0.25 gives it.
EXPANDED = {"Pa": 1.5e5, "rpm": 8.0, "°C": 1.0, "s": 0.02}
FINE = 0.4e5


def _pumps(n: int, **changes: float) -> Plant:
    plant = Plant()
    worn = replace(Pump(), **changes)  # type: ignore[arg-type]
    return replace(plant, pumps=(worn, Pump()) if n == 1 else (Pump(), worn))


def _relief(n: int, bar: float) -> Plant:
    plant = Plant()
    pair = list(plant.reliefs)
    pair[n - 1] = replace(pair[n - 1], crack=bar * BAR)
    return replace(plant, reliefs=(pair[0], pair[1]))


def _cut_off(n: int, bar: float) -> Plant:
    plant = Plant()
    pair = list(plant.cutoffs)
    pair[n - 1] = replace(pair[n - 1], start=bar * BAR)
    return replace(plant, cutoffs=(pair[0], pair[1]))


def _signal(n: int, share: float) -> Plant:
    plant = Plant()
    pair = list(plant.strokings)
    pair[n - 1] = replace(pair[n - 1], signal_share=share)
    return replace(plant, strokings=(pair[0], pair[1]))


def _pilot(**changes: float) -> Plant:
    plant = Plant()
    return replace(plant, pilot=replace(plant.pilot, **changes))


def _engine(**changes: float) -> Plant:
    plant = Plant()
    return replace(plant, engine=replace(plant.engine, **changes))


FAULTS: dict[str, tuple[Callable[[], Plant], str]] = {
    "pump 1 badly worn": (lambda: _pumps(1, leak=40 * Pump().leak), "weak-pump:1"),
    "cut-off 2 low": (lambda: _cut_off(2, 268), "cut-off-low:2"),
    "cut-off 2 above the relief": (lambda: _cut_off(2, 358), "cut-off-over:2"),
    "main relief 1 low": (lambda: _relief(1, 285), "relief:1"),
    "main relief 2 high": (lambda: _relief(2, 350), "relief-high:2"),
    "travel left relief low": (
        lambda: Plant().with_function("travel left", port_a=290 * BAR),
        "port:travel left",
    ),
    "swing relief low": (
        lambda: Plant().with_function("swing", port_a=225 * BAR),
        "port:swing",
    ),
    "pilot relief low": (lambda: _pilot(crack=26 * BAR), "pilot-low"),
    "pilot pump worn": (lambda: _pilot(leak=4.5e-11, displacement=8e-6), "pilot-worn"),
    "signal hose 1 leaks": (lambda: _signal(1, 0.6), "control:1"),
    "engine weak": (lambda: _engine(torque_nm=560.0), "engine-weak"),
    "high idle low": (lambda: _engine(high_idle=1850.0), "idle"),
    "oil hot": (lambda: replace(Plant(), oil_celsius=78.0), "oil"),
    "bucket valve chokes": (
        lambda: Plant().with_function("bucket", inlet=0.7e-6),
        "function-slow:bucket",
    ),
    "nothing": (Plant, NOTHING),
}


def _held(plant: Plant) -> Plant:
    return replace(
        plant, functions=tuple(f.blocked() if f.name in HOLDS else f for f in plant.functions)
    )


def _hold(machine: Machine, function: str, pump: int) -> tuple[float, float, float]:
    machine.lever(function, 1.0)
    machine.advance(1.2)
    reading = machine.reading()
    machine.lever(function, 0.0)
    machine.advance(0.4)
    return reading.main[pump - 1], reading.control[pump - 1], reading.rpm


def technician(plant: Plant) -> dict[str, Any]:
    """Every reading of a visit, and the control pressure in each hold (to tell what held it)."""
    found: dict[str, Any] = {}
    low = Machine(plant, plant.engine.low_idle, 1e-3).reading()
    found["low-idle"], found["pilot-low"] = low.rpm, low.pilot
    machine = Machine(_held(plant), None, 1e-3)
    idle = machine.reading()
    found |= {"high-idle": idle.rpm, "oil": idle.celsius, "pilot-high": idle.pilot}
    for n in (1, 2):
        found[f"control-{n}-neutral"] = idle.control[n - 1]
    names = {"bucket": "pump1-cut-off", "arm": "pump2-cut-off", "swing": "swing-relief"}
    for function, pump in HOLDS.items():
        key = names.get(function, f"{function.replace(' ', '-')}-held")
        found[key] = list(_hold(machine, function, pump))
    machine = Machine(_held(replace(plant, cutoffs=(NEVER, NEVER))), None, 1e-3)
    for function, pump in (("bucket", 1), ("arm", 2)):
        found[f"main-relief-{pump}"] = list(_hold(machine, function, pump))
    # Both pumps lift a heavy boom, at 50 to 80 % of relief, never at a stall.
    lifting = Machine(plant.with_function("boom", load=4.0e5), None, 1e-3)
    unloaded = lifting.reading().rpm
    lifting.lever("boom", 1.0)
    lifting.advance(2.5)
    found["speed-drop"] = unloaded - lifting.reading().rpm
    for function, pump in TIMED.items():
        found |= _timed(plant, function, pump)
    return found


def _timed(plant: Plant, function: str, pump: int) -> dict[str, float]:
    machine, found = Machine(plant, None, 1e-3), {}
    k = [f.name for f in plant.functions].index(function)
    machine.lever(function, 1.0)
    while machine.time_s < 15.0:
        machine.advance(0.02)
        if function != "boom" and abs(machine.time_s - 1.0) < 1e-6:
            found[f"control-{pump}-full"] = machine.reading().control[pump - 1]
        if machine.state[FUNCTIONS + WIDTH * k + PLACE] >= plant.functions[k].stroke - 1e-3:
            break
    return {**found, f"{function}-time": machine.time_s}


def _limiter(state: Any, key: str, readings: Any) -> Limiter:
    """A de-stroked pump is held by its cut-off; an engine pulled down by more than a tenth limits;
    else oil goes over the relief where the level is the one that the relief check found."""
    main, control, rpm = readings[key]
    if rpm < 0.9 * readings["high-idle"]:
        return Limiter.ENGINE
    if control < 10 * BAR:
        return Limiter.CUT_OFF
    if key.startswith("main-relief") or key == "swing-relief" or "held" in key:
        return Limiter.RELIEF
    relief = readings[f"main-relief-{state.check(key).role.pump}"][0]
    return Limiter.RELIEF if abs(main - relief) < 3 * BAR else Limiter.UNCLEAR


def fill(job: Any, readings: dict[str, Any], leave: tuple[str, ...] = ()) -> None:
    """Enter the readings, those of `leave` left out; relief checks with the cut-off cancelled."""
    order = sorted(readings, key=lambda k: k.startswith("main-relief"))
    for key in order:
        if key.startswith("main-relief") and not job.state.open_changes:
            job.alter("cut-off raised")
        if key in leave:
            continue
        value, more = readings[key], {}
        if isinstance(value, list):
            more["limiter"] = _limiter(job.state, key, readings)
            value = value[0]
        check = job.state.check(key)
        unit = check.dimension.value
        u = FINE if unit == "Pa" and check.role.name in {"pilot"} else EXPANDED[unit]
        job.sheet.take(
            ReadingTaken.model_validate(
                {
                    "at": job.now,
                    "check": key,
                    "phase": job.state.phase,
                    "how": "by hand",
                    "value": {"value": value, "unit": unit, "expanded": u},
                    **more,
                }
            )
        )


@pytest.fixture(scope="module")
def stored() -> dict[str, dict[str, Any]]:
    found: dict[str, dict[str, Any]] = json.loads(DATA.read_text(encoding="utf-8"))
    return found


def _prove_engine(job: Any, plant: Plant) -> None:
    """The engine by itself: its full torque against what its plate says, from the plant."""
    share = plant.engine.torque_nm / Plant().engine.torque_nm
    job.do(
        "engine proved",
        sound=share > 0.95,
        how=f"on a brake it gives {100 * share:.0f} % of its torque",
    )


def _first(job: Any) -> Row:
    return table(job.state)[0]


@pytest.mark.parametrize("fault", FAULTS)
def test_the_first_row_is_the_right_one(
    fault: str, stored: dict[str, Any], new_job: Callable[..., Any]
) -> None:
    plant, expected = FAULTS[fault]
    job = new_job()
    fill(job, stored[fault])
    _prove_engine(job, plant())
    rows = table(job.state)
    assert rows[0].key == expected, "\n".join(f"{r.key} {r.standing} {r}" for r in rows[:4])
    assert expected == NOTHING or rows[0].evidence_for
    # Nothing else is shown as a fault of its own.
    assert sum(r.standing is Standing.SHOWN for r in rows) == (expected != NOTHING)


def test_a_zero_that_is_off_comes_before_the_reliefs_it_falsifies(
    stored: dict[str, Any], new_job: Callable[..., Any]
) -> None:
    job = new_job()
    shift = 12 * BAR
    readings = {
        k: [v[0] + shift, *v[1:]]
        if isinstance(v, list) and job.state.check(k).role.pump == 1
        else v
        for k, v in stored["nothing"].items()
    }
    fill(job, readings)
    zero = {"value": shift, "unit": "Pa", "expanded": 1e5}
    job.do("zero checked", role="pump1.main", moment="before", value=zero)
    rows = table(job.state)
    assert rows[0].key == "zero:1"
    assert [r for r in rows if r.standing is Standing.SHOWN] == [rows[0]]


def test_torque_and_engine_are_told_apart_only_once_the_engine_is_proved(
    stored: dict[str, Any], new_job: Callable[..., Any]
) -> None:
    job = new_job()
    fill(job, stored["engine weak"])
    first = _first(job)
    assert first.key == CANNOT_TELL
    assert "engine was not proved" in first.next_check
    job.do("engine proved", sound=True, how="on a brake")
    assert _first(job).key == "torque-high"


def test_a_slow_bucket_alone_is_no_pump(
    stored: dict[str, Any], new_job: Callable[..., Any]
) -> None:
    job = new_job()
    fill(job, stored["pump 1 badly worn"], leave=("boom-time", "arm-time"))
    first = _first(job)
    assert first.key == CANNOT_TELL
    assert "Boom up" in first.next_check


@pytest.mark.parametrize("missing", ["oil", "high-idle", "pilot-high", "arm-time"])
def test_no_pump_is_blamed_without_speed_oil_pilot_and_the_other_pump(
    missing: str, stored: dict[str, Any], new_job: Callable[..., Any]
) -> None:
    job = new_job()
    readings = stored["pump 1 badly worn"]
    fill(job, readings, leave=(missing,))
    _prove_engine(job, Plant())
    assert _first(job).key == CANNOT_TELL
    fill(job, {missing: readings[missing]})
    assert _first(job).key == "weak-pump:1"


@pytest.mark.parametrize(
    ("changed", "expected"),
    [
        # A cut-off set high, yet under its relief: the pump de-strokes, above its band.
        ({"pump2-cut-off": 335.0}, "cut-off-high:2"),
        ({"control-1-neutral": 14.0, "control-2-neutral": 14.0}, "control-both"),
        ({"boom-time": 5.2, "arm-time": 6.6, "bucket-time": 4.0}, "both-slow"),
    ],
)
def test_faults_of_both_pumps_and_of_a_setting(
    changed: dict[str, float],
    expected: str,
    stored: dict[str, Any],
    new_job: Callable[..., Any],
) -> None:
    # The sound machine's readings, those of the fault moved out of their bands by hand.
    readings = dict(stored["nothing"])
    for key, value in changed.items():
        kept = readings[key]
        scaled = value if key.endswith("time") else value * BAR
        readings[key] = [scaled, *kept[1:]] if isinstance(kept, list) else scaled
    job = new_job()
    fill(job, readings)
    _prove_engine(job, Plant())
    assert _first(job).key == expected


def test_a_reading_on_its_limit_cannot_be_told(job: Any) -> None:
    job.ready()
    job.read("pump1-cut-off", 319.5, 1.0, limiter=Limiter.CUT_OFF)
    first = _first(job)
    assert first.key == CANNOT_TELL
    assert "nearer to the limit than its uncertainty" in " ".join(first.evidence_for)


def test_what_no_rule_explains_is_not_called_fine(job: Any) -> None:
    job.ready()
    job.read("swing-relief", 310, 1.0)
    first = _first(job)
    assert first.key == CANNOT_TELL
    assert "no rule explains it" in first.title


def test_an_empty_job_cannot_be_told(job: Any) -> None:
    assert _first(job).title == "Cannot tell: nothing was read yet"


def test_two_readings_of_one_pressure_that_differ_are_no_pump(
    new_job: Callable[..., Any],
) -> None:
    from gaugebench.procedure import sheet

    data = sheet.invented_data()
    data["relief"][0]["shared"] = True
    for f in data["function"]:
        if f["relief"] == "main 2":
            f["relief"] = "main 1"
    job = new_job(sheet=data)
    job.ready()
    job.read("pump1-cut-off", 322, 1.0, limiter=Limiter.CUT_OFF)
    job.read("pump2-cut-off", 329, 1.0, limiter=Limiter.CUT_OFF)
    first = _first(job)
    assert first.key == "shared"
    assert "transducer" in first.title


def test_a_shared_relief_read_at_one_pump_answers_for_both(new_job: Callable[..., Any]) -> None:
    from gaugebench.procedure import sheet

    data = sheet.invented_data()
    data["relief"][0]["shared"] = True
    for f in data["function"]:
        if f["relief"] == "main 2":
            f["relief"] = "main 1"
    data["check"] = [c for c in data["check"] if c["key"] not in ("main-relief-2",)]
    job = new_job(sheet=data)
    job.ready()
    job.read("travel-left-held", 290, limiter=Limiter.RELIEF)
    assert _first(job).key == CANNOT_TELL, "the main relief was not read yet"
    job.read("pump1-cut-off", 325, limiter=Limiter.CUT_OFF)
    job.read("pump2-cut-off", 325, limiter=Limiter.CUT_OFF)
    job.alter("cut-off raised")
    job.read("main-relief-1", 342, limiter=Limiter.RELIEF)
    assert _first(job).key == "port:travel left"


def test_every_fact_of_the_rules_is_one_that_is_worked_out(
    stored: dict[str, Any], new_job: Callable[..., Any]
) -> None:
    from gaugebench.procedure.facts import facts

    job = new_job()
    fill(job, stored["nothing"])
    known = facts(job.state)
    for cause in limiting._causes(job.state):
        for key in (*cause.must, *cause.unless, *cause.against, *cause.backing):
            assert key in known, f"{cause.key} asks for {key}"


def test_what_a_cause_covers_is_a_cause(job: Any) -> None:
    causes = limiting._causes(job.state)
    keys = {c.key for c in causes}
    for cause in causes:
        for name in cause.covers:
            assert name == "*" or name in keys or any(k.startswith(f"{name}:") for k in keys)


def test_travel_both_ways_is_mechanical_one_way_hydraulic(new_job: Callable[..., Any]) -> None:
    for reverse_mm, expected in ((600, "track-mechanical"), (40, "track-hydraulic")):
        job = new_job()
        job.ready()
        for heading, mm in (("forward", 650), ("reverse", reverse_mm)):
            job.do(
                "travel walked",
                phase="as found",
                heading=heading,
                speed="low",
                deviation_m=mm / 1000,
                to="left",
                distance_m=20,
                expanded_m=0.02,
            )
        assert _first(job).key == expected


def _agree(found: dict[str, Any], kept: dict[str, Any]) -> None:
    assert found.keys() == kept.keys()
    for key, value in found.items():
        a, b = (value, kept[key]) if isinstance(value, list) else ([value], [kept[key]])
        assert hypot(*(x - y for x, y in zip(a, b, strict=True))) <= 0.01 * hypot(*b), key


def test_the_shipped_sheet_finds_nothing_amiss_with_the_sound_machine(job: Any) -> None:
    fill(job, technician(Plant()))
    assert _first(job).key == NOTHING


@pytest.mark.bench
@pytest.mark.parametrize("fault", FAULTS)
def test_the_stored_readings_are_the_simulations(fault: str, stored: dict[str, Any]) -> None:
    _agree(technician(FAULTS[fault][0]()), stored[fault])


def test_units_of_the_stored_readings(job: Any, stored: dict[str, Any]) -> None:
    for key, value in stored["nothing"].items():
        check = job.state.check(key)
        assert isinstance(value, list) == check.loads
        if check.dimension is Dimension.PRESSURE:
            assert (value[0] if isinstance(value, list) else value) > 1e5
