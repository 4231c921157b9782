"""The kit that was used: certificates, fittings, zeros before and after, and how it was fitted."""

from __future__ import annotations

from gaugebench.model.job import Value
from gaugebench.model.saying import Saying, Written
from gaugebench.procedure.prompt import PORTS_RIGHT
from gaugebench.procedure.state import JobState
from gaugebench.procedure.words import number
from gaugebench.quantity import Dimension
from gaugebench.report.blocks import Block, Cell, Heading, Table, Text, Tone, row
from gaugebench.report.looks import day_and_time
from gaugebench.report.names import named


def kit(state: JobState, pressure: str) -> list[Block]:
    """A row for each channel; the wrong-port check; the steps that were confirmed."""
    roles = dict.fromkeys([*(k.role for k in state.kit), *(z.role for z in state.zeros)])
    found: list[Block] = [Heading(Saying("Kit"))]
    if roles:
        head = (
            Saying("Channel"), Saying("Serial"), Saying("Range"), Saying("Accuracy"),
            Saying("Calibrated"), Saying("Fitting"), Saying("Zero before"), Saying("Zero after"),
        )  # fmt: skip
        rows = tuple(_row(state, role, pressure) for role in roles)
        found.append(Table(Saying("Kit"), head, rows, (16, 12, 14, 11, 13, 18, 13, 13)))
    else:
        found.append(Text(Saying("No kit was stated for this job."), Tone.WARNING))
    seen = state.observed.get(PORTS_RIGHT)
    if seen is not None:
        at = day_and_time(seen.at)
        passed = Saying("Wrong-port check, {at}: every port was right.", at=at)
        not_passed = Saying("Wrong-port check, {at}: not passed.", at=at)
        found.append(Text(passed if seen.holds else not_passed, Tone.SMALL))
    if state.cautions_seen:
        told = Saying("Confirmed while the kit was fitted and taken off:")
        found.append(Text(told, Tone.SMALL))
        steps = dict.fromkeys(c.caution for c in state.cautions_seen)
        found += [Text(Saying("– {step}", step=step), Tone.SMALL) for step in steps]
    return found


def _row(state: JobState, role: str, pressure: str) -> tuple[Cell, ...]:
    used = [k for k in state.kit if k.role == role]
    zeros = {z.moment: z.value for z in state.zeros if z.role == role}
    k = used[-1] if used else None
    return row(
        named(role), Written(k.serial if k else ""), k.range_text if k else "",
        k.accuracy if k else "", Written(k.calibrated_on if k else ""),
        Written(k.fitting if k else ""),
        *(_zero(zeros.get(m), pressure) for m in ("before", "after")),
    )  # fmt: skip


def _zero(value: Value | None, pressure: str) -> str:
    if value is None:
        return Saying("not checked")
    return number(value, pressure if value.unit == Dimension.PRESSURE.value else value.unit)
