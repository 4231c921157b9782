"""How a trace file is laid out: the names and numbers that FORMAT.md explains."""

from __future__ import annotations

import re

from gaugebench.model.channel import Channel
from gaugebench.quantity import Dimension

FORMAT = 1
"""Written as the root attribute `gaugebench_format`."""
LIBRARY_RANGE = ("v110", "v110")
"""The oldest HDF5 whose files guard their own structure with checksums."""
ENTRY = "entry"
CHUNK_ROWS = 16_384
"""A window of 10 s at 1 kHz touches one or two chunks."""
OVERVIEW_STEP = 256
"""Samples in a bucket of the finest overview; each coarser one joins `OVERVIEW_FACTOR` of it."""
OVERVIEW_FACTOR = 16
OVERVIEW_LEVELS = 3
STORED = {"compression": "gzip", "compression_opts": 1, "shuffle": True, "fletcher32": True}

_UNSAFE = re.compile(r"[^0-9A-Za-z_.-]+")


def safe(name: str) -> str:
    """`name` as it may stand in an HDF5 path."""
    return _UNSAFE.sub("_", name).strip("._") or "unnamed"


def unique(name: str, taken: set[str]) -> str:
    """`name`, or with a number where it is taken; it is then taken."""
    chosen, number = name, 2
    while chosen in taken:
        chosen, number = f"{name}_{number}", number + 1
    taken.add(chosen)
    return chosen


def group_of(stream: str, channel: Channel) -> str:
    """The NXdata group of a channel: one for each stream and unit, references kept apart."""
    if not channel.dimension.value:
        return f"{stream}_other_{safe(channel.raw_unit)}"
    # "time" would let a stream called "start" take the name of the entry's start_time.
    kind = "duration" if channel.dimension is Dimension.TIME else channel.dimension.name.lower()
    if channel.reference is not None:
        kind += f"_{channel.reference.value}"
    return f"{stream}_{kind}"


def inside_unit(channel: Channel) -> str:
    """The `units` of the derived values."""
    return channel.dimension.value or channel.raw_unit


def levels(rows: int) -> list[int]:
    """Samples a bucket of each overview level that a stream of `rows` samples has."""
    steps = [OVERVIEW_STEP * OVERVIEW_FACTOR**level for level in range(OVERVIEW_LEVELS)]
    return [step for step in steps if rows >= 2 * step]
