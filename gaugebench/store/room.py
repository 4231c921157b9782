"""How long a disk lasts: before a record is begun, and while it runs."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from pathlib import Path

from gaugebench.model.channel import StreamSpec

SEALED_SHARE = 1.2
"""Room that sealing needs beside the journal, as a share of the journal's size: measured 0.4 for
samples of a 12-bit converter and 1.1 for noise that nothing packs.
"""
_BLOCKS_A_SECOND = 20
_BLOCK_OVERHEAD_BYTES = 56
_USUAL_RATE_HZ = 1000.0


def expected_rate(streams: Sequence[StreamSpec]) -> float:
    """Bytes a second that a journal of these streams will take; 1 kHz where a rate is not known."""
    rows = sum((s.rate_hz or _USUAL_RATE_HZ) * (8 + 10 * len(s.channels)) for s in streams)
    return rows + _BLOCKS_A_SECOND * _BLOCK_OVERHEAD_BYTES * len(streams)


def hours_left(free_bytes: float, rate: float, written: float = 0.0) -> float:
    """Hours until the disk is full, with room set aside for sealing what was written and will be.

    rate: bytes a second.
    """
    spare = free_bytes - SEALED_SHARE * written
    return max(0.0, spare / (rate * (1 + SEALED_SHARE)) / 3600)


def hours_of_room(folder: Path, streams: Sequence[StreamSpec]) -> float | None:
    """Hours that a record of these streams may last in a folder; None where that cannot be told."""
    try:
        free = shutil.disk_usage(folder).free
    except OSError:
        return None
    return hours_left(free, expected_rate(streams))
