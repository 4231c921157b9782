"""Run as a program: starts recorders, kills each at a random instant, tells what each had taken.

    killed_writers.py FOLDER COUNT SEED

Prints one JSON object a recorder: its target, and for each block the instant it was handed over,
counted back from the kill. A recorder that is old enough stops by itself, so that some are killed
while they seal.
"""

from __future__ import annotations

import json
import multiprocessing
import random
import sys
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np

from gaugebench.model.block import Block
from gaugebench.model.channel import Channel, StreamSpec
from gaugebench.model.event import Setup
from gaugebench.store.recorder import Recorder

ROWS = 10
MOST_BLOCKS = 4000
AT_ONCE = 9
STOPS_AFTER_S = 0.6
KILLED_WITHIN_S = 0.9


def expected(first: int, rows: int) -> np.ndarray[Any, np.dtype[np.float64]]:
    """The raw values of rows `first` and on: any row can be told from its number."""
    number = np.arange(first, first + rows, dtype=np.int64)
    return np.column_stack([(number * 48271 + c * 977) % 65521 / 16384.0 for c in range(3)])


def write(target: Path, handed_over: Any) -> None:
    """Record until killed, or until it is time to seal."""
    channels = tuple(Channel(f"P{n}", raw_unit="bar") for n in (1, 2, 3))
    recorder = Recorder(target, Setup((StreamSpec("kit", channels, 1000.0),), datetime.now(UTC)))
    began = time.monotonic()
    for index in range(MOST_BLOCKS):
        first = index * ROWS
        times = np.arange(first, first + ROWS, dtype=np.float64) * 1e-3
        quality = np.zeros((ROWS, 3), np.uint16)
        recorder.put(Block(0, first, times, expected(first, ROWS), quality))
        handed_over[index] = time.monotonic()
        time.sleep(0.002)
        if time.monotonic() - began > STOPS_AFTER_S:
            break
    recorder.stop()


class Victim:
    """A recorder that is killed at a random instant after its first block, or after its start."""

    def __init__(
        self, process: Any, target: Path, handed_over: Any, rng: random.Random, *, early: bool
    ) -> None:
        self.process = process
        self.target = target
        self.handed_over = handed_over
        self.delay = rng.uniform(0.02, KILLED_WITHIN_S)
        self.kill_at = time.monotonic() + self.delay if early else None

    def killed(self) -> bool:
        """Kill it when it is time, and tell what it had taken; whether that is done."""
        if self.kill_at is None:
            if self.handed_over[0]:
                self.kill_at = self.handed_over[0] + self.delay
            elif not self.process.is_alive():
                raise RuntimeError("a recorder ended before its first block")
            return False
        if time.monotonic() < self.kill_at:
            return False
        self.process.kill()
        at = time.monotonic()
        self.process.join()
        ages = [at - t for t in self.handed_over if t]
        print(json.dumps({"target": str(self.target), "ages": ages}), flush=True)  # noqa: T201
        return True


def main() -> None:
    """Kill `COUNT` recorders, a few at once."""
    folder, count = Path(sys.argv[1]), int(sys.argv[2])
    rng = random.Random(int(sys.argv[3]))  # noqa: S311
    methods = multiprocessing.get_all_start_methods()
    context: Any = multiprocessing.get_context("fork" if "fork" in methods else "spawn")
    for low in range(0, count, AT_ONCE):
        running = []
        for number in range(low, min(count, low + AT_ONCE)):
            target = folder / f"r{number:03}.h5"
            handed_over = context.RawArray("d", MOST_BLOCKS)
            process = context.Process(target=write, args=(target, handed_over))
            process.start()
            running.append(Victim(process, target, handed_over, rng, early=not number % 5))
        while running:
            running = [victim for victim in running if not victim.killed()]
            time.sleep(0.001)


if __name__ == "__main__":
    main()
