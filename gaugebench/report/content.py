"""What stands in a report, in order, whatever it is written as."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from gaugebench.model.trace import Trace
from gaugebench.procedure.state import JobState
from gaugebench.report import details
from gaugebench.report.beside import before_and_after
from gaugebench.report.blocks import Block, Heading, PageEnd, Pairs, Report
from gaugebench.report.charts import charts
from gaugebench.report.kitpart import kit
from gaugebench.report.summary import summary

SIMULATED = "SIMULATED: not a record of a real machine"


def report(
    state: JobState, traces: Mapping[str, Trace], made_at: datetime, pressure: str = "bar"
) -> Report:
    """The report of a job. traces: those of the job by name. pressure: the unit of pressures."""
    opened = state.opened
    is_simulated = opened.simulated or any(t.simulated for t in traces.values())
    title = f"Hydraulic test report, job {opened.job}"
    blocks: list[Block] = [
        Heading(title, 0),
        _particulars(state),
        *summary(state, pressure),
        PageEnd(),
        *details.checks(state, pressure),
        *details.limits(state, pressure),
        *details.screws(state, pressure),
        *before_and_after(state, traces, pressure),
        *details.flows(state, pressure),
        *details.not_tested(state),
        *charts(state, traces, pressure),
        *details.conditions(state),
        *kit(state, pressure),
        *details.warnings(state),
    ]
    return Report(
        title=title,
        blocks=tuple(blocks),
        footer=f"Job {opened.job} · {opened.machine or state.sheet.machine.name} · "
        f"made {made_at:%Y-%m-%d %H:%M}",
        banner=SIMULATED if is_simulated else "",
    )


def _particulars(state: JobState) -> Pairs:
    o = state.opened
    hours = "" if o.hour_meter_h is None else f"{o.hour_meter_h:.0f} h"
    rows = (
        ("Machine", o.machine or state.sheet.machine.name),
        ("Class", state.sheet.machine.kind),
        ("Serial", o.serial),
        ("Hour meter", hours),
        ("Customer", o.customer),
        ("Site", o.site),
        ("Technician", o.technician),
        ("Begun", f"{o.at:%Y-%m-%d %H:%M}"),
        ("As found", "locked" if state.locked else "not locked yet"),
        ("Job", "closed" if state.closed else "still open"),
    )
    return Pairs(tuple((name, value) for name, value in rows if value))
