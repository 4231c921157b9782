"""The steps of a hook-up, in the order of a visit. No Qt."""

from __future__ import annotations

from enum import StrEnum


class Stage(StrEnum):
    """One step; its value is what stands on its button."""

    KIT = "Kit"
    RANGES = "Ranges"
    FIT = "Fit"
    ZEROS = "Connect, zeros"
    PORTS = "Right ports?"
    RELEASE = "Release, let go"
