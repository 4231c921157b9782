"""Whatever is done in whatever order, the worksheet refuses in words or takes it, and shows it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from gaugebench.model.job import EVENT
from gaugebench.procedure import sheet, view
from gaugebench.procedure.state import replay

INVENTED = sheet.invented()
CHECKS = st.sampled_from([*(c.key for c in INVENTED.check), "no such check"])
SCREWS = st.sampled_from([*(s.name for s in INVENTED.screw), "no such screw"])
NAMES = st.sampled_from(["a", "b", ""])
PHASES = st.sampled_from(["as found", "as left"])


def _value(unit: str) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries(
        {
            "value": st.floats(-1e8, 1e8, allow_nan=False),
            "unit": st.just(unit),
            "expanded": st.none() | st.floats(0, 1e7),
        }
    )


@st.composite
def _reading(draw: st.DrawFn) -> dict[str, Any]:
    check = draw(CHECKS)
    found = INVENTED.find_check(check)
    unit = found.dimension.value if found else "Pa"
    return {
        "kind": "reading",
        "check": check,
        "phase": draw(PHASES),
        "value": draw(_value(draw(st.sampled_from([unit, unit, unit, "Pa"])))),
        "how": "by hand",
        "limiter": draw(st.none() | st.sampled_from(["relief", "cut-off", "unclear"])),
    }


def _fields(kind: str, **fields: st.SearchStrategy[Any]) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries({"kind": st.just(kind), **fields})


EVENTS = st.one_of(
    _reading(),
    _reading(),
    _fields("hands", hands=st.sampled_from(["hands in", "under load"]), confirmed_by=NAMES),
    _fields("as found locked"),
    _fields("not adjusted", check=CHECKS, why=NAMES),
    _fields("not tested", check=CHECKS, why=NAMES),
    _fields(
        "change made",
        change=st.sampled_from(["cut-off raised", "swap-1"]),
        what=st.sampled_from(["cut-off raised", "swapped", "boost off"]),
        does=st.just("something is altered"),
        undo=st.just("put it back"),
        read_again=st.lists(CHECKS, max_size=2),
    ),
    _fields("change restored", change=st.sampled_from(["cut-off raised", "swap-1"])),
    _fields(
        "screw turned",
        turn=NAMES,
        screw=SCREWS,
        check=CHECKS,
        turns=st.floats(-2, 2),
        before=_value("Pa"),
    ),
    _fields(
        "screw read",
        turn=NAMES,
        moment=st.sampled_from(["after the turn", "after the lock nut", "after one load cycle"]),
        value=_value("Pa"),
    ),
    _fields("cycle timed", check=CHECKS, phase=PHASES, seconds=_value("s")),
    _fields(
        "entry struck", of=st.just("cycle timed"), number=st.integers(0, 2), why=st.just("a slip")
    ),
    _fields("swap judged", change=NAMES, swap=NAMES, outcome=st.just("followed"), why=NAMES),
    _fields("offer dropped", offer=NAMES),
    _fields("observed", fact=st.sampled_from(["ports right", "other"]), holds=st.booleans()),
    _fields("engine proved", sound=st.booleans(), how=NAMES),
    _fields("signed", phase=PHASES, who=NAMES, capacity=st.just("technician")),
    _fields("job closed"),
)


@given(deeds=st.lists(EVENTS, max_size=25))
@settings(max_examples=60, deadline=None)
def test_nothing_breaks_it(new_job: Callable[..., Any], deeds: list[dict[str, Any]]) -> None:
    job = new_job()
    for deed in deeds:
        job.wait(1)
        event = EVENT.validate_python({"at": job.now, **deed})
        refused = job.sheet.may(event)
        if refused is None:
            job.sheet.take(event)
        else:
            assert refused.endswith((".", "!"))
    board = view.board(job.state, job.now)
    assert len(board.rows) == len(INVENTED.check)
    assert (job.state.closed is None) or board.blocks == ()
    # Screws were turned only hands in and after as-found was locked, whatever was tried.
    locked = False
    for event in job.sheet.events:
        locked = locked or event.kind == "as found locked"
        assert event.kind != "screw turned" or locked
    assert replay(job.sheet.events) == job.state
