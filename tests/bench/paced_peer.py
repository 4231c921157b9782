"""A board that never waits: run as a program of its own, it writes to a terminal at fixed instants.

Use: paced_peer.py FD text|frames ROWS_A_SECOND COLUMNS SECONDS. What the line does not take at
once is lost, as on a real wire. At its end it prints the rows sent and the rows lost.
"""

from __future__ import annotations

import os
import sys
import time

import numpy as np

from gaugebench.wire.frame import ValueType, encode_samples

FRAME_ROWS = 16


def text(now: float, row: int, columns: int) -> bytes:
    """A line with the device's time in ms, then the instant of sending, then numbers."""
    rest = ",".join(f"{(row * 7 + n * 131) % 4000 / 10:.1f}" for n in range(1, columns))
    return f"{row},{now:.6f},{rest}\r\n".encode()


def frames(row: int, columns: int, step_s: float) -> bytes:
    """A frame of rows of a known pattern."""
    numbers = np.arange(row, row + FRAME_ROWS)[:, None] * 7 + np.arange(columns) * 131
    values = (numbers % 60000 - 30000).astype(np.float64)
    return encode_samples(values, row, row * step_s, step_s, ValueType.INT16)


def main() -> None:
    """Write until the time is over."""
    fd, kind = int(sys.argv[1]), sys.argv[2]
    rate, columns, seconds = float(sys.argv[3]), int(sys.argv[4]), float(sys.argv[5])
    os.set_blocking(fd, False)
    together = 1 if kind == "text" else FRAME_ROWS
    began = time.monotonic() + 0.2
    lost = row = 0
    while row < rate * seconds:
        time.sleep(max(0.0, began + row / rate - time.monotonic()))
        if kind == "text":
            data = text(time.monotonic(), row, columns)
        else:
            data = frames(row, columns, 1 / rate)
        try:
            taken = os.write(fd, data)
        except BlockingIOError:
            taken = 0
        lost += together if taken < len(data) else 0
        row += together
    print(row, lost, flush=True)  # noqa: T201
    sys.stdin.read()  # the line stays plugged in until the measurement is over


if __name__ == "__main__":
    main()
