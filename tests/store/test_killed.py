"""A recorder killed at any instant loses nothing that was older than a second.

25 kills by default; for more: `GAUGEBENCH_KILLS=200 pytest --timeout=600` with this file.
"""

from __future__ import annotations

import importlib.util
import json
import os
import subprocess
import sys
from itertools import pairwise
from pathlib import Path
from types import ModuleType

import numpy as np

from gaugebench.store.names import trace_of
from gaugebench.store.opening import open_trace
from gaugebench.store.recover import find, recover
from gaugebench.store.verify import verify

KILLS = int(os.environ.get("GAUGEBENCH_KILLS", "25"))
SAFE_AFTER_S = 0.5
"""Stricter than the second that is promised, so that short recordings can show it."""
PROGRAM = Path(__file__).with_name("killed_writers.py")


def _program() -> ModuleType:
    spec = importlib.util.spec_from_file_location("killed_writers", PROGRAM)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def _longest_wait(ages: list[float]) -> float:
    """How long the machine kept the process waiting between two blocks, s: they come each 2 ms.

    A process that is given no turn cannot write either; that is no fault of the journal.
    """
    return max((a - b for a, b in pairwise([*sorted(ages, reverse=True), 0.0])), default=0.0)


def test_kills_at_random_instants_lose_nothing_old(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, PROGRAM, tmp_path, str(KILLS), "17"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    program = _program()
    killed = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(killed) == KILLS
    leftovers = {trace_of(left.folder): left for left in find(tmp_path)}
    assert len(leftovers) > KILLS // 5
    recovered = 0
    for one in killed:
        target = Path(one["target"])
        ages = one["ages"]
        left = leftovers.get(target)
        if left is not None and left.trouble is None:
            assert left.held_by is None
            assert recover(left) == target
            recovered += 1
        elif not target.exists():
            # Killed before the journal had its setup on disk: nothing had been handed over.
            assert ages == []
            continue
        assert verify(target) == []
        trace = open_trace(target)
        rows = len(trace.series[0])
        safe_after = SAFE_AFTER_S + 4 * _longest_wait(ages)
        old = sum(age > safe_after for age in ages) * program.ROWS
        assert old <= rows <= (len(ages) + 1) * program.ROWS
        np.testing.assert_array_equal(
            np.column_stack([s.values for s in trace.series]), program.expected(0, rows)
        )
        np.testing.assert_array_equal(trace.series[0].times, np.arange(rows) * 1e-3)
    assert recovered > KILLS // 5
    assert find(tmp_path) == tuple(left for left in leftovers.values() if left.trouble)
