"""The model's plain data as rows of a trace file's tables, and back."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import asdict
from datetime import date
from typing import Any

from gaugebench.model.channel import Channel, Transducer
from gaugebench.model.conditioning import Chain, Wiring
from gaugebench.model.event import ClockFit, Rejected, SourceSaid
from gaugebench.model.mark import Mark, MarkKind, Standing
from gaugebench.model.role import ControlPort, Role
from gaugebench.model.trace import Gap, Particulars, Trace
from gaugebench.quantity import Dimension, Reference
from gaugebench.store import layout, tables
from gaugebench.store.annexe import Annexe
from gaugebench.store.streamwriter import Place

Row = dict[str, Any]
MOST_COEFFICIENTS = 100
"""Of a calibration curve; certificates state five at most (common practice, no source)."""


def channel_row(place: Place) -> Row:
    """A row of `channels`."""
    channel = place.channel
    tested = channel.transducer
    return {
        "stream": place.stream,
        "name": channel.name,
        "role": channel.role,
        "group": place.group,
        "dataset": place.dataset,
        "dimension": channel.dimension.name.lower(),
        "reference": channel.reference,
        "unit": layout.inside_unit(channel),
        "raw_unit": channel.raw_unit,
        "has_raw": int(place.has_raw),
        **asdict(channel.chain),
        "curve": " ".join(map(repr, channel.chain.curve)),
        "step": channel.step,
        "control_port": channel.control_port,
        "serial": tested.serial,
        "proof_pa": tested.proof_pa,
        "burst_pa": tested.burst_pa,
        "accuracy_pct_fs": tested.accuracy_pct_fs,
        "calibrated_on": tested.calibrated_on,
    }


def place_from(row: Row) -> Place:
    """The inverse of `channel_row`. Raises `ValueError`, `KeyError` or `UnitError`."""
    day = row["calibrated_on"]
    # Files made before these were known have no such columns.
    curve = tuple(map(float, row.get("curve", "").split()))
    if len(curve) > MOST_COEFFICIENTS:
        raise ValueError(f"a calibration curve of {len(curve)} coefficients is none")
    channel = Channel(
        name=row["name"],
        role=Role.parse(row["role"]) if row["role"] else None,
        dimension=Dimension[row["dimension"].upper()],
        reference=Reference(row["reference"]) if row["reference"] else None,
        raw_unit=row["raw_unit"],
        chain=Chain(
            wiring=Wiring(row["wiring"]),
            raw_factor=row["raw_factor"],
            raw_offset=row["raw_offset"],
            range_low=row["range_low"],
            range_high=row["range_high"],
            zero=row["zero"],
            curve=curve,
            supply=row.get("supply", ""),
            excitation=row.get("excitation"),
            sensitivity=row.get("sensitivity"),
        ),
        transducer=Transducer(
            serial=row["serial"],
            proof_pa=row["proof_pa"],
            burst_pa=row["burst_pa"],
            accuracy_pct_fs=row["accuracy_pct_fs"],
            calibrated_on=date.fromisoformat(day) if day else None,
        ),
        control_port=ControlPort(row["control_port"]),
        step=row["step"],
    )
    return Place(row["stream"], channel, row["group"], row["dataset"], bool(row["has_raw"]))


def head_rows(head: Trace, annexe: Annexe) -> Iterator[tuple[tables.Table, list[Row]]]:
    """Every table that does not depend on the samples, with its rows; figures apart."""
    yield tables.PARTICULARS, [asdict(head.particulars)]
    yield tables.MARKS, mark_rows(head.marks)
    yield tables.GAPS, [asdict(g) for g in head.gaps]
    yield tables.REJECTS, [{"kind": k, "count": n} for k, n in head.rejects.items()]
    yield tables.REJECTED, [row for r in annexe.rejected for row in _rejected_rows(r)]
    yield tables.SAID, [{**asdict(s), "alive": int(s.alive)} for s in annexe.said]
    yield tables.CLOCK_FITS, [asdict(f) for f in annexe.fits]
    yield tables.REMARKS, [{"text": text} for text in head.remarks]


def mark_rows(marks: Iterable[Mark]) -> list[Row]:
    """Rows of `marks`, in order of time."""
    return [asdict(m) for m in sorted(marks, key=lambda m: m.time_s)]


def _rejected_rows(rejected: Rejected) -> list[Row]:
    """One row for each kept piece, the count on the first; one row where none was kept."""
    pieces = [piece.hex() for piece in rejected.samples] or [""]
    return [
        {
            "source": rejected.source,
            "kind": rejected.kind,
            "count": rejected.count if not index else 0,
            "time_s": rejected.time_s,
            "bytes_hex": piece,
        }
        for index, piece in enumerate(pieces)
    ]


def particulars_from(rows: list[Row]) -> Particulars:
    """What the trace is of."""
    return Particulars(**rows[0]) if rows else Particulars()


def marks_from(rows: list[Row], *, newer: bool = False) -> tuple[Mark, ...]:
    """The marks. Raises `ValueError` where a kind is not known.

    newer: whether a newer version wrote them; kinds that it added are then passed over.
    """
    kinds, standings = set(MarkKind), set(Standing)
    return tuple(
        Mark(**{**r, "kind": MarkKind(r["kind"]), "standing": Standing(r["standing"])})
        for r in rows
        if not newer or (r["kind"] in kinds and r["standing"] in standings)
    )


def gaps_from(rows: list[Row]) -> tuple[Gap, ...]:
    """The gaps."""
    return tuple(Gap(**r) for r in rows)


def said_from(rows: list[Row]) -> tuple[SourceSaid, ...]:
    """What sources said and did."""
    return tuple(SourceSaid(**{**r, "alive": bool(r["alive"])}) for r in rows)


def fits_from(rows: list[Row]) -> tuple[ClockFit, ...]:
    """How device clocks were fitted."""
    return tuple(ClockFit(**r) for r in rows)


def rejected_from(rows: list[Row]) -> tuple[Rejected, ...]:
    """What could not be read; the inverse of how it is spread over rows."""
    found: list[Rejected] = []
    for r in rows:
        piece = bytes.fromhex(r["bytes_hex"])
        if r["count"] == 0 and found:
            last = found.pop()
            kept = (*last.samples, piece)
            found.append(Rejected(last.source, last.kind, last.count, last.time_s, kept))
        else:
            kept = (piece,) if r["bytes_hex"] else ()
            found.append(Rejected(r["source"], r["kind"], r["count"], r["time_s"], kept))
    return tuple(found)
