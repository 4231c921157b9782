"""A stretch in which something was read, side by side with another. No Qt."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from gaugebench.desk.compare.model import Anchor, Side, conditions
from gaugebench.desk.names import role_title
from gaugebench.desk.review.opened import Opened, load
from gaugebench.desk.shown import ABSENT, Shown
from gaugebench.desk.words import tr
from gaugebench.errors import TraceError
from gaugebench.model.job import Source
from gaugebench.model.role import Port, Role
from gaugebench.model.trace import Series
from gaugebench.quantity import Dimension


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """One channel over a stretch that is no loading. nudge_s: moved by hand, later is positive."""

    opened: Opened
    role: Role
    start_s: float
    end_s: float
    nudge_s: float = 0.0

    @property
    def title(self) -> str:
        """What it is called."""
        return f"{role_title(self.role)}, {self.opened.title}"

    @property
    def span_s(self) -> tuple[float, float]:
        """Where it begins and ends, on its own clock."""
        return self.start_s, self.end_s

    @property
    def main_title(self) -> str:
        """What is drawn."""
        return role_title(self.role)

    @property
    def dimension(self) -> Dimension:
        """What is drawn, as a quantity."""
        return self.role.dimension

    def samples(self, port: Port, start_s: float, end_s: float) -> Series | None:
        """Its channel between two instants of its own clock."""
        if port is not Port.MAIN:
            return None
        return self.opened.between(start_s, end_s, self.role).find(self.role)

    def anchor_s(self, anchor: Anchor) -> float | None:
        """The instant on its own clock, or None where there is none."""
        return self.end_s if anchor is Anchor.END else self.start_s


@dataclass(frozen=True, slots=True, eq=False)
class Pair:
    """A check as found and as left, ready to be shown. heads: both readings and their change."""

    title: str
    sides: tuple[Side, Side] | tuple[Stretch, Stretch]
    readings: tuple[str, str, str]


def sides_of(
    role: Role, found: Source, left: Source, folder: Path
) -> tuple[Side, Side] | tuple[Stretch, Stretch]:
    """Where two readings of a role were taken, from the traces in a folder; takes seconds.

    Two loadings where both were read in one, else the two stretches. Raises `TraceError`.
    """
    opened = [load(folder / found.trace)]
    opened.append(opened[0] if left.trace == found.trace else load(folder / left.trace))
    whole = [_side(o, role, s) for o, s in zip(opened, (found, left), strict=True)]
    if whole[0] is not None and whole[1] is not None:
        return whole[0], whole[1]
    parts = [_stretch(o, role, s) for o, s in zip(opened, (found, left), strict=True)]
    return parts[0], parts[1]


def stretch_rows(one: Stretch, two: Stretch, shown: Shown) -> list[list[str]]:
    """Rows of name, first, second, difference, share, as of two loadings."""
    means = [_mean(side) for side in (one, two)]
    dimension = one.dimension
    texts = [shown.text(m, dimension) for m in means]
    apart = shown.text(means[1] - means[0], dimension)
    rows = [[one.main_title, *texts, apart, ABSENT]]
    return [*rows, *conditions(one, two, shown)]


def _side(opened: Opened, role: Role, source: Source) -> Side | None:
    """The loading that a reading was taken from, by its time: its number may have changed."""
    if source.loading is None or source.start_s is None or source.end_s is None:
        return None
    middle = (source.start_s + source.end_s) / 2
    for index, loading in enumerate(opened.figures.loadings):
        if loading.start_s <= middle <= loading.end_s and loading.pumps:
            pump = role.pump if role.pump in loading.pumps else min(loading.pumps)
            return Side(opened, index, pump or min(loading.pumps))
    return None


def _stretch(opened: Opened, role: Role, source: Source) -> Stretch:
    if source.start_s is None or source.end_s is None:
        raise TraceError(
            tr("The job does not say where in {name} this was read.", name=opened.title)
        )
    return Stretch(opened, role, source.start_s, source.end_s)


def _mean(side: Stretch) -> float:
    part = side.samples(Port.MAIN, *side.span_s)
    good = part.values[np.isfinite(part.values)] if part is not None else np.empty(0)
    return float(good.mean()) if len(good) else math.nan
