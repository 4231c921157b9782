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

# Bounds that hold when a trace is written and are demanded when one is read. Each is far beyond
# what a record comes to, and keeps what a hostile file can cost near what its size explains.
MOST_CHANNELS = 4096
"""And streams, of which none is without a channel."""
LONGEST_NAME = 1000
"""Characters of the name of a stream, group or dataset in the file."""
_LONGEST_NEW_NAME = 200
MOST_ROWS = 1 << 20
"""Of a table."""
LARGEST_TABLE = 256 << 20
"""Bytes of a table."""
LONGEST_TEXT = 4 << 20
"""Bytes of a text that is not in a table."""
LONGEST_FIGURES = 16 << 20
"""Bytes of the figures as text: some two thousand loadings."""
LARGEST_RATIO = 300
"""Bytes of samples for one byte of the file. Samples that never change pack 220 to 1 (measured)."""
SMALL_BYTES = 64 << 20
"""So much may be declared by a file of any size."""
LARGEST_TEXT_RATIO = 64
SMALL_TEXT = 1 << 20

_UNSAFE = re.compile(r"[^0-9A-Za-z_.-]+")


def safe(name: str) -> str:
    """`name` as it may stand in an HDF5 path."""
    return _UNSAFE.sub("_", name[:_LONGEST_NEW_NAME]).strip("._") or "unnamed"


def is_safe(name: str) -> bool:
    """Whether `name` is one part of an HDF5 path, as `safe` makes them."""
    return (
        0 < len(name) <= LONGEST_NAME and _UNSAFE.search(name) is None and name not in {".", ".."}
    )


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
