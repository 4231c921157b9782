"""Whether a trace file follows the format page, and whether what it holds makes sense."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np

from gaugebench.errors import TraceError
from gaugebench.model.conditioning import Chain
from gaugebench.store import h5access, layout, tables
from gaugebench.store.h5chunks import Chunked
from gaugebench.store.overview import reduce
from gaugebench.store.streamwriter import Place
from gaugebench.store.tracefile import TraceFile

_ROWS = 1 << 18
_ByName = Mapping[tuple[str, str], Place]


def verify(path: Path) -> list[str]:
    """What is wrong with a trace file, one sentence each; empty where nothing is.

    Every sample is read: times must not go back, all arrays of a stream must be as long as its
    times, values must follow from the raw values through the channel's chain, and the stored
    overview must be that of the values.
    """
    try:
        file = TraceFile(path)
        with h5access.opened(path) as entry:
            return [*_frame(entry), *_streams(entry, file), *_tables(entry)]
    except TraceError as fault:
        return [str(fault)]


def _frame(entry: h5access.Group) -> Iterator[str]:
    root = h5access.root_of(entry)
    version = h5access.format_of(entry)
    for where, holder, name, expected in (
        ("the root", root, "NX_class", "NXroot"),
        ("the root", root, "default", layout.ENTRY),
        ("the entry", entry, "NX_class", "NXentry"),
    ):
        if h5access.attribute(holder, name) != expected:
            yield f"Attribute “{name}” of {where} should be “{expected}”."
    if version > layout.FORMAT:
        yield (
            f"The file has format {version}, newer than the {layout.FORMAT} that this program "
            "knows; it was looked at as far as that goes."
        )


def _tables(entry: h5access.Group) -> Iterator[str]:
    for table in tables.ALL:
        if not h5access.has(entry, table.name):
            if table is not tables.FIGURES:
                yield f"The table “{table.name}” is missing."
            continue
        found = h5access.dataset(entry, table.name).dtype.names or ()
        missing = [
            c.name
            for c in table.columns
            if c.name not in found and (table.name, c.name) not in tables.ADDED
        ]
        if missing:
            yield f"The table “{table.name}” has no column “{missing[0]}”."


def _streams(entry: h5access.Group, file: TraceFile) -> Iterator[str]:
    named = {p.stream for p in file.places}
    for row in h5access.table(entry, tables.STREAMS):
        name = row["name"]
        where = f"streams/{name}/time"
        times = h5access.samples(entry, where, "<f8")
        if h5access.attribute(h5access.dataset(entry, where), "units") != "s":
            yield f"The times of stream “{name}” should be in s."
        if row["samples"] != len(times):
            yield f"Stream “{name}” should have {row['samples']} samples and has {len(times)}."
        yield from _times(times, name)
        if name not in named:
            yield f"Stream “{name}” has no channel."
    groups: dict[str, list[Place]] = {}
    for place in file.places:
        groups.setdefault(place.group, []).append(place)
    for group, places in groups.items():
        yield from _data_group(entry, group, places)
    by_name = {(p.stream, p.channel.name): p for p in reversed(file.places)}
    for place in file.places:
        yield from _channel(entry, place, by_name)


def _times(times: Chunked, name: str) -> Iterator[str]:
    last = -np.inf
    for low in range(0, len(times), _ROWS):
        part = times[low : low + _ROWS]
        if not np.isfinite(part).all() or part[0] < last or (np.diff(part) < 0).any():
            yield f"The times of stream “{name}” go back or are missing after row {low}."
            return
        last = part[-1]


def _data_group(entry: h5access.Group, name: str, places: list[Place]) -> Iterator[str]:
    group = h5access.group(entry, name)
    attrs = {k: h5access.attribute(group, k) for k in ("NX_class", "signal", "axes")}
    if attrs["NX_class"] != "NXdata" or attrs["axes"] != "time":
        yield f"“{name}” should be an NXdata with the axis “time”."
    signals = [attrs["signal"], *(h5access.attribute(group, "auxiliary_signals") or [])]
    if signals != [p.dataset for p in places]:
        yield f"The signals of “{name}” are not those of the table of channels."
    shared = h5access.dataset(entry, f"streams/{places[0].stream}/time")
    if not h5access.has(group, "time") or h5access.dataset(group, "time") != shared:
        yield f"“{name}/time” should be the times of stream “{places[0].stream}”."


def _channel(entry: h5access.Group, place: Place, places: _ByName) -> Iterator[str]:
    where = f"{place.group}/{place.dataset}"
    home = h5access.group(entry, f"streams/{place.stream}")
    count = len(h5access.samples(home, "time", "<f8"))
    values = h5access.samples(entry, where, "<f8", count)
    quality = h5access.samples(home, f"quality/{place.dataset}", "<u2", count)
    raw = h5access.samples(home, f"raw/{place.dataset}", "<f8", count) if place.has_raw else None
    units = h5access.attribute(h5access.dataset(entry, where), "units") or ""
    if units != layout.inside_unit(place.channel):
        yield f"“{where}” should be in {layout.inside_unit(place.channel)}."
    supply = _supply(entry, place, places, count)
    for low in range(0, count, _ROWS):
        part = slice(low, low + _ROWS)
        fed = None if supply is None else supply[part]
        if raw is not None and not _follows(
            place.channel.chain, raw[part], values[part], quality[part], fed
        ):
            yield f"The values of “{where}” do not follow from the raw values after row {low}."
            break
    yield from _overview(home, place, values)


def _supply(entry: h5access.Group, place: Place, places: _ByName, count: int) -> Any:
    """The values of the channel that measures a channel's supply, or None where it has none."""
    chain = place.channel.chain
    other = places.get((place.stream, chain.supply))
    if other is not None and not other.channel.chain.supply:
        return h5access.samples(entry, f"{other.group}/{other.dataset}", "<f8", count)
    return np.full(count, np.nan) if chain.supply else None


def _follows(chain: Chain, raw: Any, values: Any, quality: Any, supply_v: Any) -> bool:
    expected, found = chain.apply(raw, quality, supply_v)
    return expected.tobytes() == values.tobytes() and np.array_equal(found, quality)


def _overview(home: h5access.Group, place: Place, values: Chunked) -> Iterator[str]:
    for step in layout.levels(len(values)):
        stored = h5access.samples(home, f"overview/{step}/{place.dataset}", "<f8", columns=2)
        lows, highs = [], []
        piece = _ROWS - _ROWS % step if step < _ROWS else step
        for at in range(0, len(values), piece):
            part = values[at : at + piece]
            low, high = reduce(part, part, step)
            lows.append(low)
            highs.append(high)
        expected = np.column_stack((np.concatenate(lows), np.concatenate(highs)))
        if not np.array_equal(expected, stored[:], equal_nan=True):
            yield f"The overview of “{place.dataset}” by {step} is not that of its values."
