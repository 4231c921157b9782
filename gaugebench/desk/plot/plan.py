"""Which channels are drawn together: main pressures, low pressures, then all else. No Qt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from gaugebench.desk.names import channel_title
from gaugebench.desk.words import tr
from gaugebench.model.channel import Channel
from gaugebench.model.role import Port, Role
from gaugebench.quantity import Dimension

LOW_RANGE_PA = 1.5e7
"""A transducer without a role whose range ends below this is drawn with the low pressures."""


@dataclass(frozen=True, slots=True)
class LineSpec:
    """One line: `index` counts the channels in port order; `place`: among those of no pump."""

    index: int
    title: str
    role: Role | None
    place: int


@dataclass(frozen=True, slots=True)
class PaneSpec:
    """One pane: lines of one dimension on one axis. `weight`: its share of the height.

    least: the least height of its axis, in the inside unit. from_zero: the axis starts at zero.
    """

    title: str
    dimension: Dimension
    lines: tuple[LineSpec, ...]
    weight: int
    least: float
    from_zero: bool = True


_OTHER_PANES = {
    Dimension.SPEED: ("Engine", 400.0),
    Dimension.TEMPERATURE: ("Oil", 20.0),
    Dimension.FLOW: ("Flow", 1e-4),
    Dimension.CURRENT: ("Current", 0.1),
}


def _is_high(channel: Channel) -> bool:
    if channel.role is not None:
        return channel.role.port is Port.MAIN or channel.role.name == "load_sense"
    top = channel.chain.range_high
    return top is None or top > LOW_RANGE_PA


def plan(channels: Sequence[Channel]) -> tuple[PaneSpec, ...]:
    """The panes, from top to bottom; empty ones are left out."""
    high: list[LineSpec] = []
    low: list[LineSpec] = []
    others: dict[Dimension, list[LineSpec]] = {}
    for index, channel in enumerate(channels):
        if channel.dimension is Dimension.PRESSURE:
            group = high if _is_high(channel) else low
        else:
            group = others.setdefault(channel.dimension, [])
        place = sum(1 for line in group if line.role is None or line.role.pump is None)
        group.append(LineSpec(index, channel_title(channel), channel.role, place))
    made = [
        PaneSpec(tr("Main"), Dimension.PRESSURE, tuple(high), 5, 5e6),
        PaneSpec(tr("Low"), Dimension.PRESSURE, tuple(low), 3, 1e6),
    ]
    for dimension, lines in others.items():
        title, least = _OTHER_PANES.get(dimension, ("Others", 1.0))
        made.append(PaneSpec(tr(title), dimension, tuple(lines), 2, least, from_zero=False))
    return tuple(pane for pane in made if pane.lines)
