"""What this job's figures say, as named facts: true, false, or not known, each in a sentence.

The rules in `rules/limiting.toml` are written in these names. A fact is known only where a
verdict could be given: “cannot tell” leaves it unknown.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from gaugebench.analyse.verdict import Outcome
from gaugebench.model.figures import Limiter
from gaugebench.model.job import Heading, ReadingTaken
from gaugebench.model.role import Role
from gaugebench.model.saying import Saying, joined
from gaugebench.model.sheet import Check, Function
from gaugebench.model.terms import Engine, Measures, Stage
from gaugebench.procedure.balance import Comparison, shared_pairs
from gaugebench.procedure.judge import verdict_of
from gaugebench.procedure.rules import hint_pressure
from gaugebench.procedure.state import JobState
from gaugebench.procedure.travel import over_limit
from gaugebench.quantity import Dimension, show

OVER_RELIEF = frozenset({Limiter.RELIEF, Limiter.PORT_RELIEF, Limiter.BOOST})


_ELSEWHERE = frozenset({Limiter.TORQUE, Limiter.ENGINE, Limiter.LEVER})
"""What holds a pressure below a valve's setting without that valve having a part in it."""


@dataclass(frozen=True, slots=True)
class Fact:
    """One fact. holds: None where it is not known; words: what it rests on, or what is missing."""

    key: str
    holds: bool | None
    words: str


@dataclass(frozen=True, slots=True)
class _Seen:
    """A check's latest reading against its band."""

    check: Check
    reading: ReadingTaken
    outcome: Outcome | None
    is_low: bool
    is_high: bool


def facts(state: JobState, shown_in: str = "bar") -> dict[str, Fact]:
    """All facts of a job by name; what was observed by hand stands under its own name."""
    seen = {c.key: s for c in state.sheet.check if (s := _seen(state, c)) is not None}
    found: dict[str, Fact] = {}
    for fact in (
        *_general(state, seen, shown_in),
        *_pumps(state, seen, shown_in),
        *_functions(state, seen, shown_in),
        *_travel(state),
    ):
        found[fact.key] = fact
    for key, event in state.observed.items():
        found[key] = Fact(key, event.holds, event.note or key)
    return found


def _seen(state: JobState, check: Check) -> _Seen | None:
    reading = state.latest(check.key)
    if reading is None:
        return None
    verdict = verdict_of(state, check, reading)
    band = check.limits
    failed = verdict is not None and verdict.outcome is Outcome.FAIL
    value = reading.value.value
    return _Seen(
        check,
        reading,
        verdict.outcome if verdict else None,
        failed and band is not None and band.low is not None and value < band.low,
        failed and band is not None and band.high is not None and value > band.high,
    )


def _general(state: JobState, seen: Mapping[str, _Seen], unit: str) -> Iterator[Fact]:
    oil = _of(state, seen, stage=Stage.OIL)
    yield _side("oil.out", oil, "out", unit)
    yield _side("oil.in", oil, "in", unit)
    idle = _of(state, seen, stage=Stage.ENGINE, engine=Engine.HIGH)
    yield _side("engine.idle.low", idle, "low", unit)
    yield _side("engine.idle.in", idle, "in", unit)
    high = _of(state, seen, stage=Stage.PILOT, engine=Engine.HIGH)
    low = _of(state, seen, stage=Stage.PILOT, engine=Engine.LOW)
    yield _side("pilot.high_idle.low", high, "low", unit)
    yield _side("pilot.low_idle.low", low, "low", unit)
    yield _pilot_drop(high, low, unit)
    drop = _of(state, seen, figure=Measures.DROP)
    yield _side("engine.drop.high", drop, "high", unit)
    sound = state.engine.sound if state.engine else None
    how = state.engine.how if state.engine else "the engine was not proved yet"
    yield Fact("engine.sound", sound, how)
    yield Fact("engine.unsound", None if sound is None else not sound, how)
    yield _shared(state, unit)
    yield _all("times.all.slow", [_timed(state, seen, f, unit) for f in _with_time(state)], 2)


def _pumps(state: JobState, seen: Mapping[str, _Seen], unit: str) -> Iterator[Fact]:
    for pump in state.sheet.pump:
        n = pump.number
        controls = [c for c in state.sheet.check if c.stage is Stage.CONTROL and c.role.pump == n]
        sides = [_side("", seen.get(c.key) or _none([c]), "out", unit) for c in controls]
        yield _any(f"control.{n}.out", sides, "no control pressure was read")
        relief = _of(state, seen, stage=Stage.MAIN_RELIEF, figure=Measures.RELIEF, pump=n)
        yield _side(f"relief.{n}.low", relief, "low", unit)
        yield _side(f"relief.{n}.high", relief, "high", unit)
        yield from _cut_off(n, _of(state, seen, figure=Measures.CUT_OFF, pump=n), unit)
        yield _zero(state, n, unit)
        own = [f for f in _with_time(state) if n in f.pumps]
        timed = [_timed(state, seen, f, unit) for f in own]
        yield _all(f"times.{n}.slow", timed, 2)
        alone = [f for f in own if f.pumps == (n,)]
        yield _any(f"times.{n}.alone_slow", [_timed(state, seen, f, unit) for f in alone])


def _functions(state: JobState, seen: Mapping[str, _Seen], unit: str) -> Iterator[Fact]:
    for f in state.sheet.function:
        yield _timed(state, seen, f, unit)
        mates = [
            _timed(state, seen, g, unit)
            for g in _with_time(state)
            if g.name != f.name and set(g.pumps) & set(f.pumps)
        ]
        yield _any(f"times.beside.{f.name}.slow", mates)
        others = [
            s
            for s in seen.values()
            if s.check.stage is Stage.OTHER_RELIEFS and s.check.function == f.name
        ]
        wanted = [
            c for c in state.sheet.check if c.stage is Stage.OTHER_RELIEFS and c.function == f.name
        ]
        port = others[-1] if others else _none(wanted)
        yield _side(f"port.{f.name}.low", port, "low", unit)
        yield _any(f"relief.of.{f.name}.low", _reliefs(state, seen, f, unit), "no main relief")
        yield _cut_off_of(f, port, _of(state, seen, figure=Measures.CUT_OFF, pump=f.pumps[0]), unit)


def _reliefs(state: JobState, seen: Mapping[str, _Seen], f: Function, unit: str) -> Iterator[Fact]:
    """The main reliefs before a function: its pumps' own, and one that it shares."""
    for check in state.sheet.check:
        if check.stage is not Stage.MAIN_RELIEF or check.figure is not Measures.RELIEF:
            continue
        taken_on = state.sheet.find_function(check.function)
        is_same = taken_on is not None and taken_on.relief == f.relief
        if check.role.pump in f.pumps or is_same:
            yield _side("", seen.get(check.key) or _none([check]), "low", unit)


def _cut_off_of(f: Function, port: _Seen | str, cut: _Seen | str, unit: str) -> Fact:
    """Whether a low cut-off of its pump may be what lowers the hold of a function.

    Where the cut-off is known it answers, since a pump that is half de-stroked also sends less over
    the relief; where it is not, oil seen to go over a relief speaks for the relief.
    """
    fact = _side(f"cut_off.of.{f.name}.low", cut, "low", unit)
    if fact.holds is None and not isinstance(port, str) and port.reading.limiter in OVER_RELIEF:
        words = Saying(
            "{words}; held by the {limiter}", words=_words(port, unit), limiter=port.reading.limiter
        )
        return Fact(fact.key, holds=False, words=words)
    return fact


def _cut_off(n: int, seen: _Seen | str, unit: str) -> Iterator[Fact]:
    if isinstance(seen, str):
        for word in ("low", "high", "over_relief", "not_reached"):
            yield Fact(f"cut_off.{n}.{word}", None, seen)
        return
    limiter, words = seen.reading.limiter, _words(seen, unit)
    known = limiter not in {None, Limiter.UNCLEAR}
    held = (
        Saying("{words}; held by the {limiter}", words=words, limiter=limiter)
        if known
        else Saying("{words}; what held it is not known", words=words)
    )
    over = limiter in OVER_RELIEF if known else None
    yield Fact(f"cut_off.{n}.over_relief", over, held)
    low, high = _side("", seen, "low", unit), _side("", seen, "high", unit)
    # Only a pump that de-strokes shows where its cut-off stands.
    cuts = limiter is Limiter.CUT_OFF if known else None
    yield Fact(f"cut_off.{n}.low", _both(low.holds, cuts), held)
    yield Fact(f"cut_off.{n}.high", high.holds, held)
    short = limiter is Limiter.UNCLEAR or limiter is Limiter.ENGINE
    yield Fact(f"cut_off.{n}.not_reached", _both(low.holds, short), held)


def _both(one: bool | None, two: bool | None) -> bool | None:
    if one is False or two is False:
        return False
    return None if one is None or two is None else True


def _pilot_drop(high: _Seen | str, low: _Seen | str, unit: str) -> Fact:
    key = "pilot.drops"
    if isinstance(high, str) or isinstance(low, str):
        return Fact(key, None, "the pilot was not read at both idles")
    a, b = high.reading.value, low.reading.value
    drop, limit = a.value - b.value, hint_pressure("pilot", "drop")
    doubt = ((a.expanded or 0.0) ** 2 + (b.expanded or 0.0) ** 2) ** 0.5
    words = Saying("from high to low idle the pilot falls by {drop}", drop=show(drop, unit))
    if abs(drop - limit) <= doubt:
        return Fact(key, None, words)
    return Fact(key, drop > limit, words)


def _shared(state: JobState, unit: str) -> Fact:
    pairs: tuple[Comparison, ...] = shared_pairs(state, unit)
    for pair in pairs:
        if pair.apart:
            return Fact("shared.unequal", holds=True, words=pair.words)
    known = [p for p in pairs if p.apart is not None]
    if not known:
        return Fact("shared.unequal", None, "no shared hold was read at both pumps")
    return Fact("shared.unequal", holds=False, words=known[0].words)


def _zero(state: JobState, n: int, unit: str) -> Fact:
    key, role = f"zero.{n}.off", str(Role.main(n))
    found = [z for z in state.zeros if z.role == role]
    if not found:
        return Fact(key, None, Saying("the zero of {role} was not checked", role=role))
    value = found[-1].value
    words = Saying(
        "{role} reads {value} with no pressure on it", role=role, value=show(value.value, unit)
    )
    beyond = abs(value.value) - hint_pressure("zero", "off")
    return Fact(key, beyond > (value.expanded or 0.0), words)


def _travel(state: JobState) -> Iterator[Fact]:
    over = {h: over_limit(state, h) for h in Heading}
    forward, reverse = over[Heading.FORWARD], over[Heading.REVERSE]
    words = joined(Saying("{heading}: {words}", heading=h, words=o.words) for h, o in over.items())
    known = forward.over is not None and reverse.over is not None
    both = (forward.over and reverse.over) if known else None
    yield Fact("travel.both", both, words)
    yield Fact("travel.one", (forward.over != reverse.over) if known else None, words)


def _with_time(state: JobState) -> list[Function]:
    names = {c.function for c in state.sheet.check if c.figure is Measures.CYCLE}
    return [f for f in state.sheet.function if f.name in names]


def _timed(state: JobState, seen: Mapping[str, _Seen], f: Function, unit: str) -> Fact:
    found = _of(state, seen, figure=Measures.CYCLE, function=f.name)
    return _side(f"time.{f.name}.slow", found, "high", unit)


def _of(
    state: JobState,
    seen: Mapping[str, _Seen],
    *,
    stage: Stage | None = None,
    figure: Measures | None = None,
    engine: Engine | None = None,
    pump: int | None = None,
    function: str | None = None,
) -> _Seen | str:
    """The check that answers, read; else what is missing, in words."""
    wanted = [
        c
        for c in state.sheet.check
        if (stage is None or c.stage is stage)
        and (figure is None or c.figure is figure)
        and (engine is None or c.engine is engine)
        and (pump is None or c.role.pump == pump)
        and (function is None or c.function == function)
    ]
    read = [seen[c.key] for c in wanted if c.key in seen]
    return read[-1] if read else _none(wanted)


def _none(wanted: list[Check]) -> str:
    return (
        Saying("“{title}” was not read", title=wanted[0].title)
        if wanted
        else "the sheet has no such check"
    )


def _side(key: str, seen: _Seen | str, side: str, unit: str) -> Fact:
    if isinstance(seen, str):
        return Fact(key, None, seen)
    words = _words(seen, unit)
    if side == "low" and seen.reading.limiter in _ELSEWHERE and seen.check.loads:
        return Fact(
            key,
            holds=False,
            words=Saying(
                "{words}; held by the {limiter}", words=words, limiter=seen.reading.limiter
            ),
        )
    if seen.outcome is None:
        return Fact(key, None, Saying("{words}; the sheet gives no band", words=words))
    if seen.outcome is Outcome.CANNOT_TELL:
        return Fact(key, None, Saying("{words}: cannot tell", words=words))
    holds = {
        "low": seen.is_low,
        "high": seen.is_high,
        "out": seen.outcome is Outcome.FAIL,
        "in": seen.outcome is Outcome.PASS,
    }
    return Fact(key, holds[side], words)


def _words(seen: _Seen, unit: str) -> str:
    check, value = seen.check, seen.reading.value
    band = check.limits
    there = unit if check.dimension is Dimension.PRESSURE else None
    shown = there or (band.shown_in if band else value.unit)
    reads = show(value.value, shown)
    if band is None:
        return Saying("{title} {reads}", title=check.title, reads=reads)
    return Saying(
        "{title} {reads}, band {band}", title=check.title, reads=reads, band=band.text(there)
    )


def _all(key: str, found: list[Fact], least: int) -> Fact:
    """True where all are, and there are enough to speak of all; false where one is false."""
    unknown = [f for f in found if f.holds is None]
    known = [f for f in found if f.holds is not None]
    words = joined(f.words for f in known)
    if any(f.holds is False for f in known):
        return Fact(key, holds=False, words=words)
    if unknown or len(known) < least:
        missing = joined(f.words for f in unknown) or "too few of its functions are timed"
        return Fact(key, None, missing)
    return Fact(key, holds=True, words=words)


def _any(key: str, found: Iterable[Fact], none: str = "nothing else is timed") -> Fact:
    """True where one is, false where all are known and false."""
    rows = list(found)
    true = [f for f in rows if f.holds]
    unknown = [f for f in rows if f.holds is None]
    words = joined(f.words for f in true or unknown or rows) or none
    if true:
        return Fact(key, holds=True, words=words)
    return Fact(key, None if unknown or not rows else False, words)
