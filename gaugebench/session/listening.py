"""A kit heard live in the terminal: rates, rejects, clock drift and values."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from gaugebench.acquire.health import SourceHealth
from gaugebench.model.channel import Channel
from gaugebench.model.kit import read_kit
from gaugebench.quantity import Dimension, show
from gaugebench.session.headless import stopped_by_signal
from gaugebench.session.session import Session

EVERY_S = 1.0


def listen(kit_file: Path, seconds: float | None, unit: str, say: Callable[[str], None]) -> None:
    """Tell once a second how each source does and what each channel reads, until Ctrl+C.

    Nothing is recorded. Raises `KitError`, `SourceError`.
    """
    session = Session(read_kit(kit_file), Path(), pretrigger_s=0.0)
    session.open()
    try:
        with stopped_by_signal() as stop:
            while not stop.wait(EVERY_S):
                for line in report(session, unit):
                    say(line)
                if seconds is not None and session.now_s() >= seconds:
                    break
    finally:
        session.close()


def report(session: Session, unit: str) -> Iterator[str]:
    """One line for each source and one for each of its channels."""
    for health in session.health():
        yield source_line(health, session.now_s())
    for number, stream in enumerate(session.streams):
        samples = session.window(number, EVERY_S)
        for column, channel in enumerate(stream.channels):
            yield f"    {channel.title:20} {reading(channel, samples.values[:, column], unit)}"


def source_line(health: SourceHealth, now_s: float) -> str:
    """How a source does, in words."""
    parts = [
        f"{now_s:7.1f} s  {health.name} ({health.driver}): {health.rate_hz:.0f} rows/s",
        f"{health.rows} in all",
        f"{sum(health.rejects.values())} rejected",
        f"{health.lost} lost",
    ]
    if health.drift_ppm is not None:
        parts.append(f"clock {health.drift_ppm:+.0f} ppm")
    return ", ".join(parts) + "".join(f"; {sentence}" for sentence in health.advice)


def reading(
    channel: Channel, values: np.ndarray[tuple[int], np.dtype[np.float64]], unit: str
) -> str:
    """The mean of the last second and how far it moved, each with its unit."""
    there = values[np.isfinite(values)]
    if not len(there):
        return "no reading"
    shown = unit if channel.dimension is Dimension.PRESSURE else channel.dimension.value
    if not shown:
        return f"{np.mean(there):.4g}"
    low, high = show(float(there.min()), shown), show(float(there.max()), shown)
    return f"{show(float(np.mean(there)), shown)}  ({low} to {high})"
