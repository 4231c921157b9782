"""Steps on marks are undone, done again and kept."""

from __future__ import annotations

from gaugebench.desk.review.edits import MarkEdits
from gaugebench.desk.review.markbook import Marks, added


def test_steps_are_undone_and_done_again_until_another_is_done() -> None:
    shown: list[Marks] = []
    edits = MarkEdits(shown.append)
    edits.open(())
    one, _ = added((), 1.0, "one")
    two, _ = added(one, 2.0, "two")
    other, _ = added(one, 3.0, "other")
    edits.do(one)
    edits.do(two)
    edits.undo()
    edits.undo()
    edits.undo()  # nothing before the first
    assert edits.marks == ()
    edits.redo()
    edits.do(other)
    edits.redo()  # what was undone is gone once another step is done
    assert edits.marks == other
    assert shown == [(), one, two, one, (), one, other]


def test_kept_is_told_from_changed_and_is_come_to_again_by_undoing() -> None:
    edits = MarkEdits(lambda _: None)
    one, _ = added((), 1.0, "one")
    two, _ = added(one, 2.0, "two")
    told: list[bool] = []
    edits.do(one)
    edits.keep()
    for after in (two, None, None, two, None):
        edits.undo() if after is None else edits.do(after)
        told.append(edits.are_kept)
    # The fourth goes another way: what was kept cannot be come to again.
    assert told == [False, True, False, False, False]


def test_a_step_that_changes_nothing_is_none() -> None:
    edits = MarkEdits(lambda _: None)
    one, _ = added((), 1.0, "one")
    edits.do(one)
    edits.do(one)
    edits.undo()
    assert edits.marks == ()
