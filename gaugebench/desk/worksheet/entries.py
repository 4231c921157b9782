"""Particulars as they are typed. No Qt."""

from __future__ import annotations

from collections.abc import Mapping

from gaugebench.desk.words import tr
from gaugebench.model.trace import Particulars

FIELDS: tuple[tuple[str, str], ...] = (
    ("machine", "Machine"),
    ("serial", "Serial number"),
    ("hour_meter_h", "Hour meter, h"),
    ("site", "Site"),
    ("customer", "Customer"),
    ("technician", "Technician"),
    ("job", "Job"),
)


def particulars(texts: Mapping[str, str]) -> Particulars:
    """What was typed. Raises `ValueError` with a sentence where the hour meter is no number."""
    written = texts.get("hour_meter_h", "").strip().replace(",", ".").replace(" ", "")
    try:
        hours = float(written) if written else None
    except ValueError as fault:
        raise ValueError(
            tr("The hour meter “{text}” is not a number of hours.", text=written)
        ) from fault
    plain = {k: v.strip() for k, v in texts.items() if k != "hour_meter_h"}
    return Particulars(hour_meter_h=hours, **plain)
