"""What of the kit belongs in a job: each transducer with its certificate, and its zeros."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from gaugebench.model.figures import Figure
from gaugebench.model.job import KitUsed, ZeroChecked
from gaugebench.model.kit import Kit
from gaugebench.model.saying import Saying
from gaugebench.model.trace import Trace
from gaugebench.procedure.recognise import to_value
from gaugebench.procedure.steady import mean_over
from gaugebench.quantity import Dimension, Number


def used(kit: Kit, at: datetime) -> tuple[KitUsed, ...]:
    """One event for each channel of a kit that plays a role."""
    return tuple(
        KitUsed(
            at=at,
            role=entry.role,
            serial=entry.serial,
            range_text=_range(entry.range) if entry.range else "",
            accuracy=_accuracy(entry.accuracy_pct_fs) if entry.accuracy_pct_fs else "",
            calibrated_on=entry.calibrated_on.isoformat() if entry.calibrated_on else "",
            fitting=entry.fitting,
        )
        for source in kit.source
        for entry in source.channel
        if entry.role
    )


def _range(ends: tuple[str, str]) -> str:
    low, high = (Number(end) for end in ends)
    return Saying("{low} to {high}", low=low, high=high)


def _accuracy(percent: float) -> str:
    return Saying("{percent} % of full scale", percent=Number(f"{percent:g}"))


def zeros(
    trace: Trace, start_s: float, end_s: float, at: datetime, moment: Literal["before", "after"]
) -> tuple[ZeroChecked, ...]:
    """One event for each gauge pressure over a stretch in which every line was vented."""
    found = []
    for series in trace.series:
        role = series.channel.role
        if role is None or role.dimension is not Dimension.PRESSURE:
            continue
        answer = mean_over(trace, role, start_s, end_s)
        if isinstance(answer, Figure):
            found.append(
                ZeroChecked(
                    at=at,
                    role=role.name,
                    serial=series.channel.transducer.serial,
                    moment=moment,
                    value=to_value(answer, Dimension.PRESSURE),
                )
            )
    return tuple(found)
