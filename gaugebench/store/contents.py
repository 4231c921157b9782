"""What a trace file says beside its samples: streams, channels, and all that belongs to them."""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any

from gaugebench.errors import TraceError
from gaugebench.model.channel import StreamSpec
from gaugebench.model.figures import FigureSet
from gaugebench.model.trace import Trace
from gaugebench.store import h5access, layout, rows, tables
from gaugebench.store.annexe import Annexe
from gaugebench.store.jsonform import form
from gaugebench.store.streamwriter import Place


def streams_in(entry: h5access.Group) -> dict[str, StreamSpec]:
    """The streams of a trace file by their name in it, without their channels."""
    found = h5access.table(entry, tables.STREAMS)
    _refuse_too_many(len(found), "streams")
    streams = {
        r["name"]: StreamSpec(r["title"], (), r["rate_hz"], bool(r["time_estimated"]))
        for r in found
    }
    if len(streams) < len(found) or not all(map(layout.is_safe, streams)):
        raise TraceError("The names of the streams are not as documented; the file is damaged.")
    return streams


def places_in(entry: h5access.Group) -> list[tuple[str, list[Place]]]:
    """Each stream's name in the file and where its channels are, in order."""
    found = h5access.table(entry, tables.CHANNELS)
    _refuse_too_many(len(found), "channels")
    by_stream: dict[str, list[Place]] = {name: [] for name in streams_in(entry)}
    taken: set[tuple[str, str]] = set()
    for row in found:
        place = rows.place_from(row)
        where = (place.group, place.dataset)
        if place.stream not in by_stream or where in taken or not all(map(layout.is_safe, where)):
            raise TraceError("The table of channels is not as documented; the file is damaged.")
        taken.add(where)
        by_stream[place.stream].append(place)
    return list(by_stream.items())


def _refuse_too_many(count: int, what: str) -> None:
    if count > layout.MOST_CHANNELS:
        raise TraceError(
            f"The file names {count} {what}, more than the {layout.MOST_CHANNELS} that are read."
        )


def head_of(entry: h5access.Group, version: int) -> Trace:
    """The trace without its series. Raises `TraceError`."""
    newer = ("The file was made by a newer version of the program; this one reads what it knows.",)
    started = h5access.text(entry, "start_time")
    return Trace(
        series=(),
        started=datetime.fromisoformat(started) if started else None,
        origin=h5access.text(entry, "origin"),
        simulated=bool(h5access.number(entry, "simulated")),
        particulars=rows.particulars_from(h5access.table(entry, tables.PARTICULARS)),
        marks=rows.marks_from(h5access.table(entry, tables.MARKS), newer=version > layout.FORMAT),
        gaps=rows.gaps_from(h5access.table(entry, tables.GAPS)),
        rejects={r["kind"]: r["count"] for r in h5access.table(entry, tables.REJECTS)},
        remarks=(
            *(r["text"] for r in h5access.table(entry, tables.REMARKS)),
            *(newer if version > layout.FORMAT else ()),
        ),
        kit=_json(h5access.text(entry, "kit")),
        recipe=_json(h5access.text(entry, "recipe")),
    )


def annexe_of(entry: h5access.Group) -> Annexe:
    """What is kept beside the trace. Raises `TraceError`."""
    figures = h5access.text(entry, "figures_json", layout.LONGEST_FIGURES)
    return Annexe(
        rejected=rows.rejected_from(h5access.table(entry, tables.REJECTED)),
        said=rows.said_from(h5access.table(entry, tables.SAID)),
        fits=rows.fits_from(h5access.table(entry, tables.CLOCK_FITS)),
        journal_id=h5access.text(entry, "journal_id"),
        figures=form(FigureSet).load(figures.encode()) if figures else None,
    )


def _json(text: str) -> dict[str, Any]:
    found = json.loads(text) if text else {}
    if not isinstance(found, dict):
        raise TraceError("A description in the file is not as documented; the file is damaged.")
    return found
