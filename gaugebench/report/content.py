"""What stands in a report, in order, whatever it is written as."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from gaugebench.model.saying import Saying, Written
from gaugebench.model.trace import Trace
from gaugebench.procedure.state import JobState
from gaugebench.quantity import Number
from gaugebench.report import details
from gaugebench.report.beside import before_and_after
from gaugebench.report.blocks import Block, Heading, PageEnd, Pairs, Report
from gaugebench.report.charts import charts
from gaugebench.report.flows import flows
from gaugebench.report.kitpart import kit
from gaugebench.report.looks import day_and_time
from gaugebench.report.screwpart import screws
from gaugebench.report.summary import summary

SIMULATED = Saying("SIMULATED: not a record of a real machine")


def report(
    state: JobState, traces: Mapping[str, Trace], made_at: datetime, pressure: str = "bar"
) -> Report:
    """The report of a job. traces: those of the job by name. pressure: the unit of pressures."""
    opened = state.opened
    is_simulated = opened.simulated or any(t.simulated for t in traces.values())
    job, machine = Written(opened.job), Written(opened.machine or state.sheet.machine.name)
    title = Saying("Hydraulic test report, job {job}", job=job)
    blocks: list[Block] = [
        Heading(title, 0),
        _particulars(state),
        *summary(state, pressure),
        PageEnd(),
        *details.checks(state, pressure),
        *details.limits(state, pressure),
        *screws(state, pressure),
        *before_and_after(state, traces, pressure),
        *flows(state, pressure),
        *details.not_tested(state),
        *charts(state, traces, pressure),
        *details.conditions(state),
        *kit(state, pressure),
        *details.warnings(state),
    ]
    return Report(
        title=title,
        blocks=tuple(blocks),
        footer=Saying(
            "Job {job} · {machine} · made {at}",
            job=job,
            machine=machine,
            at=day_and_time(made_at),
        ),
        banner=SIMULATED if is_simulated else "",
    )


def _particulars(state: JobState) -> Pairs:
    o = state.opened
    hours = "" if o.hour_meter_h is None else f"{o.hour_meter_h:.0f} h"
    rows: tuple[tuple[str, str], ...] = (
        (Saying("Machine"), Written(o.machine or state.sheet.machine.name)),
        (Saying("Class"), Written(state.sheet.machine.kind)),
        (Saying("Serial"), Written(o.serial)),
        (Saying("Hour meter"), Number(hours)),
        (Saying("Customer"), Written(o.customer)),
        (Saying("Site"), Written(o.site)),
        (Saying("Technician"), Written(o.technician)),
        (Saying("Begun"), day_and_time(o.at)),
        (Saying("As found"), Saying("locked") if state.locked else Saying("not locked yet")),
        (Saying("Job"), Saying("closed") if state.closed else Saying("still open")),
    )
    return Pairs(tuple((name, value) for name, value in rows if value))
