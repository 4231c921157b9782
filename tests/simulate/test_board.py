"""The practice board over a real pseudo-terminal."""

import os
import select
import time

from gaugebench.simulate.board import Board
from gaugebench.simulate.script import Move, Script
from gaugebench.simulate.voices import BANNER


def drain(port: str, board: Board, seconds: float) -> bytes:
    end = os.open(port, os.O_RDONLY | os.O_NOCTTY | os.O_NONBLOCK)
    got, until = b"", time.monotonic() + seconds
    try:
        while time.monotonic() < until:
            ready, _, _ = select.select([end], [], [], 0.1)
            if ready:
                got += os.read(end, 65536)
            elif board.finished:
                break
    finally:
        os.close(end)
    return got


def test_everything_it_counts_as_sent_arrives_as_it_was_written() -> None:
    script = Script(0.5, (Move("bucket", 0.1, 0.2),))
    with Board(script, rate_hz=200, speed=2.0, wait_s=0.05) as board:
        got = drain(board.port, board, 30.0)
    assert got.startswith(BANNER)
    lines = got[len(BANNER) :].decode("ascii").split("\r\n")
    assert lines[-1] == ""
    rows = [tuple(float(n) for n in text.split(",")) for text in lines[:-1]]
    assert board.lost == 0
    assert board.sent == 100 == len(rows)
    assert rows == [(sent.t_ms, *sent.row) for sent in board.rows]
    assert [row[0] for row in rows] == [5.0 * k for k in range(100)]


def test_the_volts_are_those_of_a_machine_in_neutral() -> None:
    with Board(Script(0.2), rate_hz=100, wait_s=0.0) as board:
        drain(board.port, board, 30.0)
        pilot, main_1, control_1, main_2, control_2, rpm = board.rows[-1].row
    assert abs((pilot - 0.5) / 4 * 60 - 38.9) < 1.0
    assert abs((main_1 - 0.5) / 4 * 600 - 23.4) < 2.0
    assert abs((main_2 - 0.5) / 4 * 600 - 23.4) < 2.0
    assert abs((control_1 - 0.5) / 4 * 60 - 5.5) < 0.5
    assert abs((control_2 - 0.5) / 4 * 60 - 5.5) < 0.5
    assert 2000 < rpm < 2060


def test_lines_that_nobody_takes_are_lost_and_counted_and_it_stops() -> None:
    board = Board(Script(600.0), rate_hz=1000, wait_s=0.0, reader_wait_s=0.0)
    board.start()
    seen = -1
    while board.sent == 0 or seen < board.sent:  # until nothing more goes out
        seen = board.sent
        time.sleep(0.8)
    board.stop()
    assert board.lost > 0
    assert board.sent > 0
    assert board.sent + board.lost < 600_000, "it stopped in the middle"
    board.stop()
