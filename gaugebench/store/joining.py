"""Small blocks joined before they are written: a board read row by row makes one for each row."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from gaugebench.model.block import Block
from gaugebench.model.event import Event


def joined(events: Sequence[Event]) -> list[Event]:
    """The same events, with blocks of one stream whose rows follow on each other made into one.

    A joined block stands where its first part stood; other events keep their order.
    """
    found: list[Event | list[Block]] = []
    growing: dict[int, list[Block]] = {}
    for event in events:
        if not isinstance(event, Block):
            found.append(event)
            continue
        parts = growing.get(event.stream)
        if parts and parts[-1].first + len(parts[-1]) == event.first:
            parts.append(event)
        else:
            growing[event.stream] = parts = [event]
            found.append(parts)
    return [_one(item) if isinstance(item, list) else item for item in found]


def _one(parts: list[Block]) -> Block:
    if len(parts) == 1:
        return parts[0]
    return Block(
        parts[0].stream,
        parts[0].first,
        np.concatenate([p.times for p in parts]),
        np.concatenate([p.raw for p in parts]),
        np.concatenate([p.quality for p in parts]),
    )
