"""What a loading was: which checks it may belong to, how sure that is, and why.

A loading is held against every function of the sheet by what it shows: which pumps are in it, the
level, what holds it, and whether something travelled before it stopped. Whatever fits is offered;
nothing is filled in where two fit, nor where the fit rests on leaving others out alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from gaugebench.analyse.budget import for_verdict
from gaugebench.model.figures import Answer, Figure, Limiter, LoadingFigures, PumpFigures
from gaugebench.model.job import Fit, How, OfferMade, ReadingTaken, Source, Value
from gaugebench.model.saying import Saying, joined
from gaugebench.model.sheet import Check, Function
from gaugebench.model.terms import FunctionKind, Measures
from gaugebench.procedure.state import JobState
from gaugebench.quantity import Dimension, show

NEAR, FAR = 0.08, 0.30
"""Share of a band's aim within which a level speaks for a check, and beyond which against it."""
_OVER = {Limiter.RELIEF, Limiter.PORT_RELIEF, Limiter.BOOST}
ONE = "one check fits"
_STOPS = {FunctionKind.SWING, FunctionKind.TRAVEL}


@dataclass(frozen=True, slots=True)
class _Slot:
    """One number that a loading gives, and the figures of checks that it may be."""

    answer: Figure
    figures: frozenset[Measures]
    pump: int | None
    limiter: Limiter | None


def offers(
    state: JobState,
    loading: LoadingFigures,
    source: Source,
    at: datetime,
    asked: str | None = None,
) -> tuple[OfferMade, ...]:
    """One offer for each number of a loading that some check could be.

    asked: the check that the worksheet asks for now, which speaks for it and no more.
    """
    made = []
    for n, slot in enumerate(_slots(loading)):
        fits = [f for c in state.sheet.check if (f := _fit(state, c, slot, loading, asked))]
        fits.sort(key=lambda f: (len(f.misfits), -len(f.fits)))
        if not fits:
            continue
        good = [f for f in fits if not f.misfits]
        near = [f for f in fits if f.misfits and _moves_alike(state, f, loading)]
        rest = near or ([] if good else fits)
        name = f"{source.trace}#{source.loading}.{n}"
        made.append(
            OfferMade(
                at=at,
                offer=name,
                sure=_sure(state, loading, (good, near), slot, asked),
                fits=(*good, *rest[:4]),
                limiter=slot.limiter,
                conditions=state.conditions,
                source=source,
                cautions=slot.answer.cautions,
            )
        )
    return tuple(made)


def fills_itself(offer: OfferMade) -> bool:
    """Whether an offer may be taken without asking: one check fits, and it was asked for."""
    good = [f for f in offer.fits if not f.misfits]
    return offer.sure == ONE and len(good) == 1 and not offer.cautions


def accept(
    state: JobState, offer: OfferMade, check: str, at: datetime, how: How = How.ACCEPTED
) -> ReadingTaken | None:
    """The reading that accepting an offer for a check makes; None where it is no fit of it."""
    fit = next((f for f in offer.fits if f.check == check), None)
    if fit is None:
        return None
    return ReadingTaken(
        at=at,
        check=check,
        phase=state.phase,
        value=fit.value,
        how=how,
        conditions=offer.conditions,
        source=offer.source,
        limiter=offer.limiter,
        cautions=offer.cautions,
        offer=offer.offer,
    )


def _slots(loading: LoadingFigures) -> list[_Slot]:
    slots = []
    for number, pump in sorted(loading.pumps.items()):
        limiter = pump.limited_by.limiter
        if isinstance(pump.settled, Figure):
            slots.append(_Slot(pump.settled, _held_by(pump), number, limiter))
        if isinstance(pump.control_settled, Figure):
            figures = frozenset({Measures.CONTROL})
            slots.append(_Slot(pump.control_settled, figures, number, limiter))
    pairs: tuple[tuple[Answer, Measures], ...] = (
        (loading.cycle_time, Measures.CYCLE),
        (loading.imbalance, Measures.IMBALANCE),
    )
    slots += [
        _Slot(a, frozenset({figure}), None, None) for a, figure in pairs if isinstance(a, Figure)
    ]
    return slots


def _held_by(pump: PumpFigures) -> frozenset[Measures]:
    limiter = pump.limited_by.limiter
    if limiter in _OVER:
        # Of a cut-off check it tells that the cut-off does not come in: offered, with that said.
        return frozenset({Measures.RELIEF, Measures.SETTLED, Measures.CUT_OFF})
    if limiter is Limiter.CUT_OFF:
        return frozenset({Measures.CUT_OFF, Measures.SETTLED})
    if limiter is Limiter.UNCLEAR:
        return frozenset({Measures.RELIEF, Measures.CUT_OFF, Measures.SETTLED})
    return frozenset({Measures.SETTLED})


def _fit(
    state: JobState, check: Check, slot: _Slot, loading: LoadingFigures, asked: str | None
) -> Fit | None:
    if check.figure not in slot.figures:
        return None
    if slot.pump is not None and check.role.pump != slot.pump:
        return None
    function = state.sheet.find_function(check.function)
    if function is None and check.figure is not Measures.IMBALANCE:
        return None
    value = to_value(slot.answer, check.dimension)
    fits, misfits = _by_function(function, loading)
    _by_level(check, value, fits, misfits)
    if check.figure is Measures.CUT_OFF and slot.limiter in _OVER:
        misfits.append("oil goes over a relief: the cut-off does not come in")
    elif slot.limiter is Limiter.UNCLEAR:
        misfits.append("what holds the pressure is not clear")
    elif slot.limiter is not None:
        fits.append(Saying("held by the {limiter}", limiter=slot.limiter.value))
    _by_conditions(state, check, fits, misfits)
    if check.key == asked:
        fits.append("it is the check that was asked for")
    return Fit(
        check=check.key,
        function=function.name if function else "",
        value=value,
        fits=tuple(fits),
        misfits=tuple(misfits),
    )


def _by_function(function: Function | None, loading: LoadingFigures) -> tuple[list[str], list[str]]:
    fits: list[str] = []
    misfits: list[str] = []
    if function is None:
        return fits, misfits
    seen, fed = sorted(loading.pumps), sorted(function.pumps)
    if seen != fed:
        misfits.append(
            Saying(
                "{pumps} loaded, {name} is fed by {pumps2}",
                pumps=_pumps(seen),
                name=function.name,
                pumps2=_pumps(fed),
            )
        )
    else:
        fits.append(Saying("{pumps} loaded, as for {name}", pumps=_pumps(seen), name=function.name))
    travelled = isinstance(loading.cycle_time, Figure)
    if travelled and function.kind in _STOPS:
        misfits.append(
            Saying("something travelled and stopped, which {name} does not", name=function.name)
        )
    elif travelled:
        fits.append(Saying("something travelled and stopped, as {name} does", name=function.name))
    return fits, misfits


def _by_level(check: Check, value: Value, fits: list[str], misfits: list[str]) -> None:
    band = check.limits
    if band is None:
        return
    aim = band.aim if band.aim is not None else (band.low if band.low is not None else band.high)
    if not aim:
        return
    off = abs(value.value - aim) / abs(aim)
    if band.holds(value.value) or off <= NEAR:
        fits.append("the level is near its band")
    elif off > FAR:
        misfits.append("the level is far from its band")


def _by_conditions(state: JobState, check: Check, fits: list[str], misfits: list[str]) -> None:
    card = state.conditions
    if card.mode and check.mode and card.mode != check.mode:
        misfits.append(
            Saying(
                "the conditions card says mode {mode}, the check is in {mode2}",
                mode=card.mode,
                mode2=check.mode,
            )
        )
    made = {a.event.change for a in state.open_changes}
    missing = [n for n in check.needs if n not in made]
    if missing:
        misfits.append(Saying("it first needs this: {does}", does=_does(state, missing[0])))
    for altered in state.open_changes:
        change = altered.event
        if check.key in change.read_again and change.change not in check.needs:
            misfits.append(Saying("it says nothing while this stands: {does}", does=change.does))
    if check.needs and not missing:
        fits.append(Saying("what it needs stands: {does}", does=_does(state, check.needs[0])))


def _sure(
    state: JobState,
    loading: LoadingFigures,
    found: tuple[Sequence[Fit], Sequence[Fit]],
    slot: _Slot,
    asked: str | None,
) -> str:
    good, near = found
    if not good:
        return "no check fits as it is; the nearest are shown"
    if len(good) > 1:
        return Saying("{count} checks fit; choose one", count=len(good))
    only = good[0]
    if near:
        return Saying(
            "one check fits, and “{check}” but for this: {misfits}",
            check=_title(state, near[0].check),
            misfits=near[0].misfits[0],
        )
    twins = _twins(state, loading, only, slot)
    if twins:
        return Saying("one check fits, but {list} would look the same", list=joined(twins, ", "))
    if only.check != asked:
        return "one check fits, but another was asked for" if asked else "one check fits, unasked"
    if not state.sheet.machine.all_functions:
        return "one check fits; a function that the sheet does not list may look the same"
    if not any("near its band" in f for f in only.fits):
        return "one check fits, but its level is unusual"
    return ONE


def _moves_alike(state: JobState, fit: Fit, loading: LoadingFigures) -> bool:
    """Whether pumps and travel suit the function, whatever else speaks against the check."""
    return not _by_function(state.sheet.find_function(fit.function), loading)[1]


def _twins(state: JobState, loading: LoadingFigures, only: Fit, slot: _Slot) -> list[str]:
    """Functions that no check of this figure tells apart from the one that fits."""
    told = {
        c.function
        for c in state.sheet.check
        if c.figure in slot.figures and (slot.pump is None or c.role.pump == slot.pump)
    }
    twins = []
    for function in state.sheet.function:
        if function.name == only.function or function.name in told:
            continue
        _, misfits = _by_function(function, loading)
        if not misfits:
            twins.append(function.name)
    return twins


def to_value(figure: Figure, dimension: Dimension) -> Value:
    """A figure as a job keeps it; without an uncertainty where no verdict may rest on it."""
    scale = 0.01 if dimension is Dimension.RATIO and figure.unit == "%" else 1.0
    expanded = for_verdict(figure)
    u = None if expanded is None else expanded * scale
    return Value(value=figure.value * scale, unit=dimension.value, expanded=u)


def _pumps(numbers: Sequence[int]) -> str:
    if len(numbers) == 1:
        return Saying("pump {number}", number=numbers[0])
    return Saying("pumps {numbers}", numbers=joined((str(n) for n in numbers), " + "))


def describe(state: JobState, offer: OfferMade, shown_in: str = "bar") -> str:
    """An offer in one sentence, for the queue."""
    if not offer.fits:
        return "A loading that fits no check of the sheet."
    first = offer.fits[0]
    unit = shown_in if first.value.unit == Dimension.PRESSURE.value else first.value.unit
    parts = {
        "value": show(first.value.value, unit),
        "title": _title(state, first.check),
        "sure": offer.sure,
        "fits": joined(first.fits, ", "),
    }
    if not first.misfits:
        return Saying("{value} for “{title}”: {sure}; {fits}.", **parts)
    against = joined(first.misfits, ", ")
    return Saying(
        "{value} for “{title}”: {sure}; {fits}; against it: {against}.", **parts, against=against
    )


def _does(state: JobState, key: str) -> str:
    """A temporary change in the sheet's words."""
    change = state.sheet.find_change(key)
    return change.does if change else key


def _title(state: JobState, key: str) -> str:
    """A check in the sheet's words."""
    check = state.sheet.find_check(key)
    return check.title if check else key
