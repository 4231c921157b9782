"""How sources and the record do, in words. No Qt."""

from __future__ import annotations

from collections.abc import Sequence

from gaugebench.desk.live.feed import Recording
from gaugebench.desk.shown import duration, plain
from gaugebench.desk.words import tr

LOW_HOURS = 1.0
"""Less room than this for the record is said with an exclamation."""
LOW_BYTES = 1 << 30


def room(free_bytes: int | None, hours_left: float | None) -> tuple[str, bool]:
    """What is left on the disk, and whether that is little."""
    if free_bytes is None:
        return tr("disk: not known"), False
    text = tr("disk: {size} GB free", size=plain(free_bytes / 1e9, 1))
    if hours_left is not None:
        text += tr(", enough for {hours} h", hours=plain(min(hours_left, 999.0), 0))
    is_low = free_bytes < LOW_BYTES or (hours_left is not None and hours_left < LOW_HOURS)
    return text, is_low


def record_words(state: Recording | None) -> str:
    """The record in one line."""
    if state is None:
        return tr("Not recording")
    text = tr(
        "Recording for {length}, {size} samples, to {name}",
        length=duration(state.seconds),
        size=f"{state.samples:,}".replace(",", " "),
        name=state.path.name,
    )
    if state.lost:
        text += tr(", {count} lost", count=state.lost)
    return text


def source_words(health: Sequence[object]) -> list[tuple[str, bool]]:
    """Each source in words, and whether it does well. Takes what a session says of its health."""
    found = []
    for source in health:
        name = str(getattr(source, "name", tr("source")))
        alive = bool(getattr(source, "alive", True))
        advice = " ".join(getattr(source, "advice", ()))
        rate = float(getattr(source, "rate_hz", 0.0))
        if alive:
            state = tr("delivering") if not rate else tr("{rate} rows/s", rate=plain(rate, 0))
            state = f"{state}. {advice}" if advice else state
        else:
            fault = getattr(source, "fault", None)
            said = str(getattr(source, "said", ""))
            state = str(fault) if fault else tr("gone; trying again. {said}", said=said).rstrip()
        found.append((f"{name}: {state}", alive and not advice))
    return found
