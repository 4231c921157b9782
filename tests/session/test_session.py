"""A whole session over a real pseudo-terminal: the simulated board speaks, the record holds it."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from gaugebench.errors import RecordError, SourceError
from gaugebench.model.mark import MarkKind, Standing
from gaugebench.model.quality import Quality
from gaugebench.session.finish import recover_all
from gaugebench.session.session import Session
from gaugebench.simulate.board import Board
from gaugebench.simulate.moves import Move
from gaugebench.simulate.visit import PARTICULARS, demo_kit, demo_script, practice_kit
from gaugebench.store.opening import open_trace

PATIENCE_S = 30.0


def wait_for(what: threading.Event) -> None:
    assert what.wait(PATIENCE_S), "the board did not finish"


@pytest.fixture
def board() -> Iterator[Board]:
    """Three seconds of machine time with one short, fast hold; 6 channels at 200 Hz.

    It is silent until `start`, as a board is that opening the port resets.
    """
    script = replace(
        demo_script(), duration_s=3.0, moves=(Move("bucket", 0.6, 1.2, rise_s=0.1),), switches=()
    )
    made = Board(script)
    yield made
    made.stop()


def finish(session: Session, board: Board) -> None:
    """Until the board has said all and the session has heard it."""
    clock = threading.Event()
    for _ in range(int(PATIENCE_S / 0.05)):
        if board.finished and session.health()[0].rows >= board.sent:
            return
        clock.wait(0.05)
    pytest.fail(f"{session.health()} after {board.sent} lines")


def test_every_sample_that_was_sent_is_in_the_record_in_order(board: Board, tmp_path: Path) -> None:
    session = Session(demo_kit(board.port), tmp_path)
    session.open()
    board.start()
    try:
        session.start_recording(PARTICULARS, "visit")
        finish(session, board)
        note = session.add_mark("let go")
        path = session.stop_recording()
        assert session.record_state is None
    finally:
        session.close()
    trace = open_trace(path)
    sent = np.array([line.row for line in board.rows])
    assert board.lost == 0
    assert len(trace.series) == sent.shape[1] == 6
    for column, series in enumerate(trace.series):
        assert series.raw is not None
        assert np.array_equal(series.raw, sent[:, column])
        assert np.all(np.diff(series.times) > 0)
    # The device's own clock decides: 200 lines a second, whatever the bridge held back.
    step = np.diff(trace.series[0].times)
    assert np.median(step) == pytest.approx(1 / 200, rel=1e-3)
    assert trace.simulated
    assert trace.particulars == PARTICULARS
    assert any(m.note == "let go" and m.standing is Standing.BY_HAND for m in trace.marks)
    assert any(m.key == note.key for m in trace.marks)


def test_live_marks_are_those_of_the_record(board: Board, tmp_path: Path) -> None:
    session = Session(demo_kit(board.port), tmp_path)
    session.open()
    board.start()
    try:
        session.start_recording(PARTICULARS)
        finish(session, board)
        path = session.stop_recording()
    finally:
        session.close()
    live = {m.key: m for m in session.marks()}
    stored = {m.key: m for m in open_trace(path).marks}
    starts = [m for m in stored.values() if m.kind is MarkKind.LOADING_START]
    assert len(starts) == 1
    assert stored.keys() == live.keys()
    for key, mark in stored.items():
        assert live[key].standing is Standing.FINAL
        assert live[key].time_s == pytest.approx(mark.time_s, abs=1e-6)


def test_the_seconds_before_record_belong_to_it(board: Board, tmp_path: Path) -> None:
    session = Session(demo_kit(board.port), tmp_path, pretrigger_s=60.0)
    session.open()
    board.start()
    try:
        finish(session, board)  # everything came before record was pressed
        session.start_recording(PARTICULARS)
        path = session.stop_recording()
    finally:
        session.close()
    assert len(open_trace(path).series[0]) == board.sent


def test_the_first_rows_after_the_board_started_are_settling(board: Board, tmp_path: Path) -> None:
    session = Session(demo_kit(board.port), tmp_path)
    session.open()
    board.start()
    try:
        finish(session, board)
        samples = session.window(0, 60.0)
        assert samples.values.shape == (board.sent, 6)
        assert samples.quality[0, 0] & Quality.SETTLING
        assert not samples.quality[-1, 0] & Quality.SETTLING
    finally:
        session.close()


def test_one_record_at_a_time(board: Board, tmp_path: Path) -> None:
    session = Session(demo_kit(board.port), tmp_path)
    session.open()
    board.start()
    try:
        with pytest.raises(RecordError, match="No record is running"):
            session.stop_recording()
        session.start_recording(PARTICULARS)
        with pytest.raises(RecordError, match="A record is running"):
            session.start_recording(PARTICULARS)
    finally:
        session.close()
    # Closing seals what was running; nothing is left to recover.
    assert len(list(tmp_path.glob("*.h5"))) == 1
    assert recover_all(tmp_path, say=lambda _: None) == 0


def test_a_port_that_is_not_there_leaves_nothing_behind(tmp_path: Path) -> None:
    before = threading.active_count()
    session = Session(demo_kit(str(tmp_path / "no-port")), tmp_path)
    with pytest.raises(SourceError, match="no-port"):
        session.open()
    session.close()
    assert threading.active_count() == before
    assert list(tmp_path.iterdir()) == []


def test_no_thread_outlives_a_session(board: Board, tmp_path: Path) -> None:
    before = {t.name for t in threading.enumerate()}
    session = Session(demo_kit(board.port), tmp_path)
    session.open()
    session.start_recording(PARTICULARS)
    session.close()
    assert {t.name for t in threading.enumerate()} - before == set()


def test_a_simulated_source_is_said_whether_or_not_its_kit_says_so(tmp_path: Path) -> None:
    told = practice_kit()
    untold = told.model_copy(update={"simulated": False})
    session = Session(untold, tmp_path)
    session.open()
    try:
        assert session.simulated
        session.start_recording(name="visit")
        path = session.stop_recording()
    finally:
        session.close()
    assert open_trace(path).simulated
