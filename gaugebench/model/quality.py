"""Facts of acquisition about single samples, as bit flags."""

from __future__ import annotations

from enum import IntFlag

import numpy as np

from gaugebench.model.arrays import U16, Bools


class Quality(IntFlag):
    """What is known against a sample. Stored as uint16; 0 is a good sample."""

    GOOD = 0
    MISSING = 1
    """The device sent no number (`nan`, `ovf`, an empty field)."""
    OVER_RANGE = 2
    """Above what the transducer is made for."""
    UNDER_RANGE = 4
    """Below what the transducer is made for."""
    WIRE_OFF = 8
    """The signal is one that only a broken or missing wire gives."""
    CLIPPED = 16
    """The converter stands at its end of scale: the true value lies beyond."""
    TIME_ESTIMATED = 32
    """The device has no clock, so the instant was worked out from when the bytes came."""
    SETTLING = 64
    """Just after the device was reset; no result and no zero may use it."""
    AFTER_GAP = 128
    """The first sample after a stretch in which samples were lost."""
    SUSPECT = 256
    """The signal is outside its good band but not yet a fault (4–20 mA: NAMUR NE 43)."""
    SUPPLY = 512
    """The transducer's measured supply is missing or out of band; the signal says nothing."""


UNUSABLE = Quality.MISSING | Quality.WIRE_OFF | Quality.SUPPLY
"""A sample with one of these has no value (NaN)."""

DOUBTFUL = (
    Quality.OVER_RANGE | Quality.UNDER_RANGE | Quality.CLIPPED | Quality.SETTLING | Quality.SUSPECT
)
"""A figure taken from such samples says so."""


def flag(quality: U16, where: Bools | slice | int, fact: Quality) -> None:
    """Note a fact against the samples at `where` (anything that indexes `quality`), in place."""
    # A bare flag is a Python int, which numpy would not fold into uint16 in place.
    quality[where] |= np.uint16(fact)
