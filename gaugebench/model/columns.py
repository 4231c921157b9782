"""Raw columns of one stream into values: the one place where channels meet their supplies."""

from __future__ import annotations

import numpy as np

from gaugebench.model.arrays import F64, U16
from gaugebench.model.channel import StreamSpec


def condition(spec: StreamSpec, raw: F64, quality: U16) -> tuple[F64, U16]:
    """Values in the inside unit, shape (n, channels), and their quality; the inputs stay as given.

    raw, quality: shape (n, channels), columns in the order of `spec.channels`. A channel whose
    chain names a supply gets that channel's value of the same row; where the stream has no channel
    of that name, no row has a supply.
    """
    values, found = np.empty_like(raw), np.empty_like(quality)
    fed: list[int] = []
    for column, channel in enumerate(spec.channels):
        if channel.chain.supply:
            fed.append(column)
            continue
        values[:, column], found[:, column] = channel.chain.apply(
            raw[:, column], quality[:, column]
        )
    places = {c.name: n for n, c in enumerate(spec.channels) if not c.chain.supply}
    for column in fed:
        chain = spec.channels[column].chain
        place = places.get(chain.supply)
        supply_v = np.full(len(raw), np.nan) if place is None else values[:, place]
        values[:, column], found[:, column] = chain.apply(
            raw[:, column], quality[:, column], supply_v
        )
    return values, found
