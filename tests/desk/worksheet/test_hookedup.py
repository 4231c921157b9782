"""What was done in Hook-up is in the job that is open, or in the one that is opened next."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest

from gaugebench.desk.hookup.rest import rest_of
from gaugebench.desk.hookup.visit import Visit
from gaugebench.procedure.prompt import PORTS_RIGHT
from gaugebench.procedure.state import JobState
from gaugebench.simulate.visit import practice_kit

if TYPE_CHECKING:
    from tests.desk.conftest import FakeFeed
    from tests.desk.worksheet.conftest import Bench

AT = datetime(2026, 3, 2, 8, 30, tzinfo=UTC)
NOISE = np.random.default_rng(4).normal(0.0, 2e3, 300)


def _state(bench: Bench) -> JobState:
    assert bench.place.job.sheet is not None
    return bench.place.job.sheet.state


def _hook_up(visit: Visit, minute: int = 0) -> None:
    """Zeros of a kit, fitted and looked over."""
    at = AT + timedelta(minutes=minute)
    channels = [(e.input, e.to_channel()) for s in practice_kit().source for e in s.channel]
    visit.check_zeros(channels, [rest_of(1e4 + NOISE)] * len(channels), "before", at)
    visit.saw("Eye protection and gloves on.", at)
    visit.note("wrong ports", "Wrong-port check at low idle in neutral: passed.", at)
    visit.checked_ports(at, are_right=True)


def test_what_was_done_before_the_job_was_opened_is_in_it(bench: Bench) -> None:
    _hook_up(bench.window.hookup.visit)
    bench.practise()
    state = _state(bench)
    zeros = {(z.role, z.moment) for z in state.zeros}
    assert zeros == {(r, "before") for r in (
        "pilot", "pump1.main", "pump1.control", "pump2.main", "pump2.control",
    )}  # fmt: skip
    assert all(z.value.value == pytest.approx(1e4, abs=500) for z in state.zeros)
    assert [c.caution for c in state.cautions_seen] == ["Eye protection and gloves on."]
    assert state.observed[PORTS_RIGHT].holds
    assert [n.text for n in state.notes] == ["Wrong-port check at low idle in neutral: passed."]
    # The next job may be another machine.
    bench.place.clear()
    bench.practise()
    assert _state(bench).zeros == ()
    assert PORTS_RIGHT not in _state(bench).observed


def test_what_is_done_while_the_job_is_open_comes_in_at_once_and_once(bench: Bench) -> None:
    bench.practise()
    visit = bench.window.hookup.visit
    visit.saw("Open the tank's vent slowly.", AT)
    seen = [c.caution for c in _state(bench).cautions_seen]
    assert seen == ["Open the tank's vent slowly."]
    _hook_up(visit)
    count = _state(bench).count
    bench.place.hooked_up.hand_over()
    assert _state(bench).count == count
    visit.checked_ports(AT + timedelta(minutes=9), are_right=False)
    assert not _state(bench).observed[PORTS_RIGHT].holds, "no stall until it has passed again"


def test_zeros_after_the_work_are_asked_for_before_the_job_is_closed(bench: Bench) -> None:
    bench.practise()
    ending, visit = bench.place.ending, bench.window.hookup.visit
    bench.show(ending.write_button)
    assert not ending.wanting.isVisible(), "no kit, no zeros to ask for"
    _hook_up(visit)
    assert "zeros after the work" in ending.wanting.text()
    channels = [(e.input, e.to_channel()) for s in practice_kit().source for e in s.channel]
    visit.check_zeros(channels, [rest_of(2e4 + NOISE)] * len(channels), "after", AT)
    assert not ending.wanting.isVisible()


def test_a_resumed_job_does_not_get_the_same_twice(bench: Bench) -> None:
    _hook_up(bench.window.hookup.visit)
    bench.practise()
    path, count = bench.place.job.path, _state(bench).count
    assert path is not None
    bench.place.job.close()
    assert bench.place.resume(path)
    assert _state(bench).count == count


def test_a_kit_that_is_opened_later_is_in_the_job_with_its_fittings(
    bench: Bench, feed: FakeFeed
) -> None:
    bench.practise()
    assert _state(bench).kit == ()
    kit = practice_kit().model_dump(by_alias=True)
    kit["source"][0]["channel"][1]["fitting"] = "M16 × 2; hose bore 2 mm; hose length 1.5 m"
    feed.kit = type(practice_kit()).model_validate(kit)  # type: ignore[assignment]
    bench.window.attach(feed)
    used = {k.role: k.fitting for k in _state(bench).kit}
    assert used["pump1.main"] == "M16 × 2; hose bore 2 mm; hose length 1.5 m"
    count = _state(bench).count
    bench.window.attach(feed)
    assert _state(bench).count == count, "the same kit is stated once"


def test_nothing_is_added_to_a_closed_job(bench: Bench) -> None:
    bench.practise()
    bench.read("pilot-low", "37.2", "0.3")
    place = bench.place
    bench.press(place.status.lock_button)
    for row in place.checks.rows:
        if row.state == "to do":
            place.job.do("not tested", check=row.key, why="practice")
    place.job.do("signed", phase="as left", who="R. Okonjo", capacity="technician")
    assert place.job.do("job closed")
    bench.window.hookup.visit.saw("Open the tank's vent slowly.", AT)
    assert not place.notice.isVisible()
    assert _state(bench).cautions_seen == ()
