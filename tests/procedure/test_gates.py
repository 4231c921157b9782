"""What may be done when. The order and the gates are common practice, no source."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from gaugebench.errors import JobError, UnitError
from gaugebench.model.job import Hands, Phase, Value
from gaugebench.model.role import Role
from gaugebench.model.terms import Stage
from gaugebench.procedure import closing, prompt, rules
from gaugebench.procedure.ports import wrong_ports
from gaugebench.procedure.state import replay

BAR = 1e5


def test_a_job_begins_hands_in_and_nothing_is_stalled(job: Any) -> None:
    assert job.state.hands is Hands.IN
    job.ready()
    check = job.state.check("pump1-cut-off")
    assert any("Hands are in" in r for r in prompt.stall_refusals(job.state, check, job.now))
    job.hands(Hands.UNDER_LOAD)
    assert prompt.stall_refusals(job.state, check, job.now) == []


def test_under_load_needs_a_name(job: Any) -> None:
    assert "Confirm by name" in job.refused("hands", hands="under load", confirmed_by=" ")


def test_no_stall_before_the_ports_were_checked(job: Any) -> None:
    job.hands(Hands.UNDER_LOAD)
    check = job.state.check("pump1-cut-off")
    assert any("wrong-port" in r for r in prompt.stall_refusals(job.state, check, job.now))


def test_wrong_ports_are_told() -> None:
    right = {Role.main(1): 30 * BAR, Role.control(1): 35 * BAR, Role.parse("pilot"): 38 * BAR}
    assert wrong_ports(right) == ()
    found = wrong_ports({**right, Role.control(1): 46 * BAR, Role.parse("pilot"): 12 * BAR})
    assert len(found) == 2
    assert all("No stall" in f and rules.label() in f for f in found)


def test_a_rebuilt_pump_is_not_stalled_before_its_run_in(new_job: Callable[..., Any]) -> None:
    job = new_job(rebuilt=True)
    job.ready()
    job.hands(Hands.UNDER_LOAD)
    check = job.state.check("pump1-cut-off")
    for entry in rules.run_in():
        (found,) = prompt.stall_refusals(job.state, check, job.now)
        assert entry in found
        job.do("ticked", list_name="run-in", entry=entry)
    assert prompt.stall_refusals(job.state, check, job.now) == []


def test_travel_is_stalled_only_by_the_sheets_own_way(new_job: Callable[..., Any]) -> None:
    from gaugebench.procedure import sheet

    data = sheet.invented_data()
    for function in data["function"]:
        function.pop("blocking", None)
        if function["name"] == "bucket":
            function["stall"] = False
    job = new_job(sheet=data)
    job.ready()
    job.hands(Hands.UNDER_LOAD)
    for key in ("travel-left-held", "swing-relief", "pump1-cut-off"):
        assert len(prompt.stall_refusals(job.state, job.state.check(key), job.now)) == 1


def test_the_order_is_that_of_a_visit(job: Any) -> None:
    stages = list(Stage)
    found = [stages.index(c.stage) for c in prompt.order(job.state)]
    assert found == sorted(found)
    first = prompt.next_check(job.state)
    assert first is not None
    assert first.key == "low-idle"


def test_all_after_the_pilot_is_provisional_until_it_is_right(job: Any) -> None:
    check = job.state.check("pump1-cut-off")
    job.read("pilot-low", 37.0, 0.5)
    told = prompt.prompt(job.state, check.key, job.now)
    assert "was not read yet" in (told.provisional or "")
    job.read("pilot-high", 31.0, 0.5)
    told = prompt.prompt(job.state, check.key, job.now)
    assert "not proved" in (told.provisional or "")
    job.read("pilot-high", 39.0, 0.5)
    assert prompt.prompt(job.state, check.key, job.now).provisional is None


def test_a_change_waits_until_what_it_alters_was_read_as_found(job: Any) -> None:
    job.ready()
    assert "as found first" in job.refused(
        "change made",
        change="cut-off raised",
        what="cut-off raised",
        does="x",
        undo="y",
        read_again=("pump1-cut-off", "pump2-cut-off"),
    )
    job.read("pump1-cut-off", 325)
    job.read("pump2-cut-off", 325)
    job.alter("cut-off raised")
    job.read("main-relief-1", 342)
    # While the cut-off is raised its reading says nothing.
    event = job.reading("pump1-cut-off", 345, 1.0)
    assert "Put it back first" in (job.sheet.may(event) or "")


def test_a_relief_reading_needs_the_cut_off_out_of_the_way(job: Any) -> None:
    job.ready()
    event = job.reading("main-relief-1", 330, 1.0)
    assert "first needs this" in (job.sheet.may(event) or "")


def test_no_screw_before_as_found_is_locked_nor_under_load(job: Any) -> None:
    turn = {
        "turn": "t1",
        "screw": "relief 1",
        "check": "main-relief-1",
        "turns": 0.05,
        "before": Value(value=330e5, unit="Pa", expanded=1e5),
    }
    job.ready()
    assert "Lock as-found" in job.refused("screw turned", **turn)
    job.do("as found locked")
    job.hands(Hands.UNDER_LOAD)
    assert "hands in" in job.refused("screw turned", **turn)
    job.hands(Hands.IN)
    job.do("screw turned", **turn)
    assert "Read the pressure after" in job.refused("screw turned", **{**turn, "turn": "t2"})


def test_as_found_stays_as_it_was(job: Any) -> None:
    job.ready()
    job.read("pump1-cut-off", 312)
    job.do("as found locked", signed_by="K. Orme")
    late = job.reading("pump1-cut-off", 325, 1.0, phase=Phase.AS_FOUND)
    assert "locked" in (job.sheet.may(late) or "")
    job.read("pump1-cut-off", 325)
    found = job.state.reading("pump1-cut-off", Phase.AS_FOUND)
    assert found is not None
    assert found.value.value == 312e5


def test_as_found_is_not_locked_over_a_waiting_reading(job: Any) -> None:
    assert "Nothing was read" in job.refused("as found locked")
    job.ready()
    job.do("offer made", offer="o1", sure="two fit", fits=())
    assert "wait in the queue" in job.refused("as found locked")
    job.do("offer dropped", offer="o1", why="a slip of the lever")
    assert job.refused("as found locked") == ""


def _close(job: Any) -> tuple[str, ...]:
    return closing.blocks(job.state)


def test_each_thing_left_altered_blocks_closing(job: Any) -> None:
    job.ready()
    for key in ("pump1-cut-off", "pump2-cut-off"):
        job.read(key, 325)
    job.alter("cut-off raised")
    job.read("main-relief-1", 342)
    job.read("main-relief-2", 342)
    for check in job.state.sheet.check:
        if job.state.latest(check.key) is None:
            job.do("not tested", check=check.key, why="not asked for")
    job.do("as found locked")
    job.do("signed", phase="as left", who="R. Vale", capacity="technician")
    assert any("Not put back" in b for b in _close(job))
    assert "Not put back" in job.refused("job closed")
    job.do("change restored", change="cut-off raised")
    assert [b for b in _close(job) if "read again" in b] == list(_close(job))
    assert len(_close(job)) == 2
    job.read("pump1-cut-off", 325)
    job.read("pump2-cut-off", 324)
    assert _close(job) == ()
    job.do("job closed")
    assert "closed" in job.refused("note", text="late")


def test_a_turned_screw_is_read_after_lock_nut_and_load_and_once_more(job: Any) -> None:
    job.ready()
    job.read("pump1-cut-off", 312)
    job.do("as found locked")
    before = Value(value=320e5, unit="Pa", expanded=1e5)
    job.do(
        "screw turned",
        turn="t1",
        screw="cut-off 1",
        check="pump1-cut-off",
        turns=0.05,
        before=before,
    )
    after = Value(value=325e5, unit="Pa", expanded=1e5)
    assert "before the lock nut" in job.refused(
        "screw read", turn="t1", moment="after the lock nut", value=after
    )
    for moment, word in (
        ("after the turn", "lock nut"),
        ("after the lock nut", "load cycle"),
        ("after one load cycle", "once more"),
    ):
        assert any(word in b for b in _close(job))
        job.do("screw read", turn="t1", moment=moment, value=after)
    assert any("once more" in b for b in _close(job))
    due = prompt.next_check(job.state)
    assert due is not None
    assert due.key == "pump1-cut-off"
    job.read("pump1-cut-off", 325)
    assert not any("screw" in b for b in _close(job))
    assert prompt.next_check(job.state) is None
    (row,) = closing.put_back(job.state)
    assert row.how == "turn out by 18° (0.05 turn)"
    assert not row.done


@pytest.mark.parametrize(
    ("turns", "words"),
    [
        (0.125, "in by 1/8 turn (45°)"),
        (-1 / 12, "out by 1/12 turn (30°)"),
        (1.25, "in by 1 1/4 turn (450°)"),
        (2.0, "in by 2 turn (720°)"),
        (155 / 360, "in by 155° (0.43 turn)"),
        (0.0, "by nothing"),
    ],
)
def test_turns_are_told_as_at_the_screw(turns: float, words: str) -> None:
    assert closing.turns_text(turns) == words


def test_out_of_band_needs_adjusting_or_a_reason(job: Any) -> None:
    job.ready()
    job.read("pump1-cut-off", 300)
    assert any("out of its band" in b for b in _close(job))
    job.do("not adjusted", check="pump1-cut-off", why="the customer declined")
    assert not any("out of its band" in b for b in _close(job))


def test_a_reading_in_the_wrong_unit_is_refused(job: Any) -> None:
    value = Value(value=900, unit="Pa")
    found = job.refused("reading", check="low-idle", phase="as found", value=value, how="by hand")
    assert found == "“Low idle speed” is read in rpm, not in Pa."
    assert "no check" in job.refused("not tested", check="x", why="y")


def test_replaying_the_events_gives_the_state(job: Any) -> None:
    job.ready()
    job.read("pump1-cut-off", 312)
    job.do("as found locked")
    job.hands(Hands.UNDER_LOAD)
    assert replay(job.sheet.events) == job.state


def test_a_job_without_its_opening_is_refused(job: Any) -> None:
    job.ready()
    with pytest.raises(JobError, match="begins with"):
        replay(job.sheet.events[1:])
    with pytest.raises(JobError, match="no events"):
        replay([])


def test_the_conditions_card_is_held_against_the_check(job: Any) -> None:
    job.ready()
    job.do("conditions", conditions={"engine": "low idle", "mode": "fine"})
    found = prompt.readiness(job.state, job.state.check("control-1-neutral"), job.now)
    assert len(found) == 2


def test_cautions_come_at_their_moment(job: Any) -> None:
    told = prompt.prompt(job.state, "travel-left-held", job.now)
    assert any("blocking it" in c for c in told.cautions)
    assert told.cautions[-1] == rules.deference()
    # About 100 psi: safety guidance on injection injuries (biologyinsights.com).
    assert any("7 bar" in c.text for c in rules.cautions("hands in"))


def test_a_role_that_is_none_is_refused() -> None:
    with pytest.raises(UnitError):
        Role.parse("pilote")
