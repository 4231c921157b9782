"""Recognition: what a loading is offered for, and that nothing is filled in wrongly."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest

from gaugebench.analyse.budget import ACCURACY_UNKNOWN
from gaugebench.model.figures import (
    Absent,
    Answer,
    Figure,
    FigureSet,
    LimitedBy,
    Limiter,
    LoadingFigures,
    PumpFigures,
)
from gaugebench.model.job import Source
from gaugebench.model.trace import Trace
from gaugebench.procedure import follow, recognise

BAR = 1e5
AT = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
NONE = Absent("not looked at in this test")


def _pump(bar: float, limiter: Limiter, *cautions: str) -> PumpFigures:
    settled = Figure(bar * BAR, "Pa", 1.5e5, cautions=cautions)
    absent: dict[str, Any] = dict.fromkeys(PumpFigures.__dataclass_fields__, NONE)
    return PumpFigures(**{**absent, "settled": settled, "limited_by": LimitedBy(limiter, "")})


def _loading(
    pumps: dict[int, PumpFigures], travel_s: float | None = None, start_s: float = 1.0
) -> LoadingFigures:
    time: Answer = NONE if travel_s is None else Figure(travel_s, "s", 0.05)
    absent: dict[str, Any] = dict.fromkeys(LoadingFigures.__dataclass_fields__, NONE)
    return LoadingFigures(
        **{
            **absent,
            "start_s": start_s,
            "end_s": start_s + 4,
            "pumps": pumps,
            "cycle_time": time,
        }
    )


def _offers(job: Any, loading: LoadingFigures, asked: str | None = None) -> list[Any]:
    return list(recognise.offers(job.state, loading, Source(trace="t", loading=0), AT, asked))


def test_a_travel_before_the_stop_leaves_the_bucket_alone(job: Any) -> None:
    job.ready()
    loading = _loading({1: _pump(325, Limiter.CUT_OFF)}, travel_s=3.0)
    pressure, time = _offers(job, loading, asked="pump1-cut-off")
    assert pressure.sure == recognise.ONE
    assert [f.check for f in pressure.fits if not f.misfits] == ["pump1-cut-off"]
    assert recognise.fills_itself(pressure)
    assert time.fits[0].check == "bucket-time"
    assert "another was asked for" in time.sure


def test_without_a_travel_two_fit_and_nothing_fills_itself(job: Any) -> None:
    job.ready()
    (offer,) = _offers(job, _loading({1: _pump(325, Limiter.CUT_OFF)}), asked="pump1-cut-off")
    assert {f.check for f in offer.fits if not f.misfits} == {"pump1-cut-off", "travel-right-held"}
    assert offer.sure == "2 checks fit; choose one"
    assert not recognise.fills_itself(offer)


def test_what_nobody_asked_for_waits(job: Any) -> None:
    job.ready()
    loading = _loading({1: _pump(325, Limiter.CUT_OFF)}, travel_s=3.0)
    assert not any(recognise.fills_itself(o) for o in _offers(job, loading))


def test_a_function_that_no_check_tells_apart_is_named(new_job: Callable[..., Any]) -> None:
    from gaugebench.procedure import sheet

    data = sheet.invented_data()
    data["function"].append({"name": "thumb", "pumps": [1], "relief": "main 1"})
    job = new_job(sheet=data)
    job.ready()
    loading = _loading({1: _pump(325, Limiter.CUT_OFF)}, travel_s=3.0)
    offer = _offers(job, loading, asked="pump1-cut-off")[0]
    assert "thumb would look the same" in offer.sure
    assert not recognise.fills_itself(offer)


def test_a_cut_off_that_does_not_come_in_is_offered_with_that_said(job: Any) -> None:
    job.ready()
    loading = _loading({2: _pump(342, Limiter.RELIEF)}, travel_s=5.0)
    offer = _offers(job, loading, asked="pump2-cut-off")[0]
    fit = next(f for f in offer.fits if f.check == "pump2-cut-off")
    assert fit.misfits == ("oil goes over a relief: the cut-off does not come in",)
    assert not recognise.fills_itself(offer)


def test_the_relief_is_offered_once_the_cut_off_is_out_of_the_way(job: Any) -> None:
    job.ready()
    loading = _loading({1: _pump(342, Limiter.RELIEF)}, travel_s=3.0)
    before = _offers(job, loading, "main-relief-1")[0]
    assert "it first needs this: the cut-off test switch" in str(before.fits)
    job.read("pump1-cut-off", 325)
    job.read("pump2-cut-off", 325)
    job.alter("cut-off raised")
    after = _offers(job, loading, "main-relief-1")[0]
    assert after.fits[0].check == "main-relief-1"
    assert after.fits[0].misfits == ()


def test_no_verdict_rests_on_an_accuracy_that_is_not_known(job: Any) -> None:
    job.ready()
    pump = _pump(325, Limiter.CUT_OFF, ACCURACY_UNKNOWN)
    offer = _offers(job, _loading({1: pump}, travel_s=3.0), "pump1-cut-off")[0]
    assert offer.fits[0].value.expanded is None
    assert not recognise.fills_itself(offer)


def test_an_unusual_level_is_asked_about(job: Any) -> None:
    job.ready()
    loading = _loading({1: _pump(260, Limiter.CUT_OFF)}, travel_s=3.0)
    offer = _offers(job, loading, asked="pump1-cut-off")[0]
    assert "unusual" in offer.sure
    assert not recognise.fills_itself(offer)


def test_the_queue_keeps_everything_until_it_is_accepted_or_dropped(job: Any) -> None:
    job.ready()
    figures = FigureSet((_loading({1: _pump(325, Limiter.CUT_OFF)}),), {})
    done = follow.follow(job.sheet, figures, "a.h5", job.now)
    assert done.filled == ()
    (stall,) = job.state.stalls
    # 325 bar at 110 cm³ and 2000 rpm: p·Q/600 kW with p in bar and Q in L/min.
    assert stall.power_w == pytest.approx(325 * 220 / 600 * 1e3)
    assert stall.seconds == 4.0
    assert list(job.state.offers) == list(done.queued)
    follow.accept(job.sheet, done.queued[0], "pump1-cut-off", job.now)
    reading = job.state.latest("pump1-cut-off")
    assert reading.source.trace == "a.h5"
    assert reading.limiter is Limiter.CUT_OFF
    assert job.state.offers == {}


def test_a_hold_that_the_coach_put_into_the_budget_is_not_counted_twice(job: Any) -> None:
    job.ready()
    figures = FigureSet((_loading({1: _pump(325, Limiter.CUT_OFF)}),), {})
    end = timedelta(seconds=figures.loadings[0].end_s)
    trace = Trace((), started=job.now + timedelta(seconds=60) - end)
    job.wait(60)
    told = {"function": "", "seconds": 3.5, "power_w": 1e5}
    job.do("stall ended", **told)
    follow.follow(job.sheet, figures, "a.h5", job.now, trace)
    assert [s.seconds for s in job.state.stalls] == [3.5]
    job.wait(60)
    later = Trace((), started=job.now - end)
    follow.follow(job.sheet, figures, "b.h5", job.now, later)
    assert [s.seconds for s in job.state.stalls] == [3.5, 4.0]


def test_what_was_asked_for_fills_itself_in(job: Any) -> None:
    job.ready()
    figures = FigureSet((_loading({1: _pump(325, Limiter.CUT_OFF)}, 3.0),), {})
    done = follow.follow(job.sheet, figures, "a.h5", job.now, asked=["pump1-cut-off"])
    assert done.filled == ("pump1-cut-off",)
    assert job.state.latest("pump1-cut-off").how == "filled in by itself"


FUNCTIONS: dict[str, tuple[tuple[int, ...], str]] = {
    "boom": ((1, 2), "boom-time"),
    "arm": ((2,), "pump2-cut-off"),
    "bucket": ((1,), "pump1-cut-off"),
    "swing": ((2,), "swing-relief"),
    "travel left": ((2,), "travel-left-held"),
    "travel right": ((1,), "travel-right-held"),
    "not in the sheet": ((1,), ""),
    "no check for it": ((1, 2), ""),
}


def _random(noise: np.random.Generator, function: str) -> LoadingFigures:
    """A loading of a function on a machine that may be well out of its bands."""
    pumps = FUNCTIONS[function][0]
    level, limiter = noise.normal(325, 15), Limiter.CUT_OFF
    if function == "swing":
        level, limiter = noise.normal(284, 15), Limiter.RELIEF
    elif noise.random() < 0.3:
        limiter = Limiter(noise.choice([Limiter.RELIEF, Limiter.UNCLEAR]))
    stroke = {"boom": 4.0, "arm": 5.1, "bucket": 3.0, "not in the sheet": 3.4}.get(function)
    travels = stroke is not None and noise.random() < 0.6
    travel = float(noise.normal(stroke or 0.0, 0.3)) if travels else None
    return _loading({n: _pump(level, limiter) for n in pumps}, travel)


def _sheet(*, all_functions: bool) -> dict[str, Any]:
    from gaugebench.procedure import sheet

    data = sheet.invented_data()
    data["machine"]["all_functions"] = all_functions
    return data


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("all_functions", [True, False])
def test_offered_rightly_and_never_filled_in_wrongly(
    new_job: Callable[..., Any], seed: int, all_functions: bool
) -> None:
    # The truth is which function was worked; the program sees the figures alone. In half of the
    # cases the technician works the function that was asked for. Where the sheet does not claim
    # to list all functions, some are worked that it does not list.
    noise = np.random.default_rng(seed)
    job = new_job(sheet=_sheet(all_functions=all_functions))
    job.ready()
    worked = [f for f, (_, check) in FUNCTIONS.items() if check or not all_functions]
    offered = filled = wrong = known = 0
    for _ in range(250):
        function = str(noise.choice(worked))
        check = FUNCTIONS[function][1]
        asked = check if noise.random() < 0.5 else FUNCTIONS[str(noise.choice(worked))][1]
        found = _offers(job, _random(noise, function), asked or None)
        takes = [o.fits[0] for o in found if recognise.fills_itself(o)]
        filled += len(takes)
        wrong += sum(t.function != function for t in takes)
        if check and not check.endswith("time"):
            known += 1
            offered += check in [f.check for o in found for f in o.fits]
    assert wrong == 0
    assert (filled > 0) is all_functions
    assert offered >= 0.97 * known
