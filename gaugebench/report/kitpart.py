"""The kit that was used: certificates, fittings, zeros before and after, and how it was fitted."""

from __future__ import annotations

from gaugebench.model.job import Value
from gaugebench.procedure.prompt import PORTS_RIGHT
from gaugebench.procedure.state import JobState
from gaugebench.procedure.words import number
from gaugebench.quantity import Dimension
from gaugebench.report.blocks import Block, Cell, Heading, Table, Text, Tone, row
from gaugebench.report.names import named


def kit(state: JobState, pressure: str) -> list[Block]:
    """A row for each channel; the wrong-port check; the steps that were confirmed."""
    roles = dict.fromkeys([*(k.role for k in state.kit), *(z.role for z in state.zeros)])
    found: list[Block] = [Heading("Kit")]
    if roles:
        head = (
            "Channel", "Serial", "Range", "Accuracy", "Calibrated", "Fitting", "Zero before",
            "Zero after",
        )  # fmt: skip
        rows = tuple(_row(state, role, pressure) for role in roles)
        found.append(Table("Kit", head, rows, (16, 12, 14, 11, 13, 18, 13, 13)))
    else:
        found.append(Text("No kit was stated for this job.", Tone.WARNING))
    seen = state.observed.get(PORTS_RIGHT)
    if seen is not None:
        end = "every port was right" if seen.holds else "not passed"
        found.append(Text(f"Wrong-port check, {seen.at:%Y-%m-%d %H:%M}: {end}.", Tone.SMALL))
    if state.cautions_seen:
        found.append(Text("Confirmed while the kit was fitted and taken off:", Tone.SMALL))
        steps = dict.fromkeys(c.caution for c in state.cautions_seen)
        found += [Text(f"– {text}", Tone.SMALL) for text in steps]
    return found


def _row(state: JobState, role: str, pressure: str) -> tuple[Cell, ...]:
    used = [k for k in state.kit if k.role == role]
    zeros = {z.moment: z.value for z in state.zeros if z.role == role}
    k = used[-1] if used else None
    return row(
        named(role), k.serial if k else "", k.range_text if k else "", k.accuracy if k else "",
        k.calibrated_on if k else "", k.fitting if k else "",
        *(_zero(zeros.get(m), pressure) for m in ("before", "after")),
    )  # fmt: skip


def _zero(value: Value | None, pressure: str) -> str:
    if value is None:
        return "not checked"
    return number(value, pressure if value.unit == Dimension.PRESSURE.value else value.unit)
