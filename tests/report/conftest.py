"""A small invented job with a trace, filled in as a technician would."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest

from gaugebench.model.channel import Channel
from gaugebench.model.job import EVENT, JobEvent, JobOpened
from gaugebench.model.mark import Mark, MarkKind, Standing
from gaugebench.model.role import Role
from gaugebench.model.trace import Gap, Particulars, Series, Trace
from gaugebench.procedure import sheet
from gaugebench.procedure.state import JobState, replay

START = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
BAR = 1e5


def _value(value: float, unit: str = "Pa", expanded: float | None = None) -> dict[str, Any]:
    return {"value": value, "unit": unit, "expanded": expanded}


class _Writer:
    def __init__(self) -> None:
        self.at = START
        self.events: list[JobEvent] = []

    def __call__(self, kind: str, **fields: Any) -> None:
        self.at += timedelta(minutes=1)
        self.events.append(EVENT.validate_python({"kind": kind, "at": self.at, **fields}))

    def read(self, check: str, value: float, unit: str, u: float, **more: Any) -> None:
        fields = {"phase": "as found", "how": "offered and accepted", **more}
        card = {"engine": "high idle", "mode": "standard", "oil_c": 50.0, "boost_off": True}
        self("reading", check=check, value=_value(value, unit, u), conditions=card, **fields)


def events() -> list[JobEvent]:
    """As found, one relief set, one left as it is, signed and closed but for what was left out."""
    w = _Writer()
    w.events.append(
        JobOpened(
            at=START,
            job="MT-0417",
            machine="Marten 21 (invented)",
            serial="MT21-0417",
            hour_meter_h=6412,
            site="Kestrel Hollow quarry (invented)",
            technician="R. Okonjo-Lindqvist",
            customer="Hollow Aggregates <“North”> & Søn, Łódź",
            simulated=True,
            sheet=sheet.invented_data(),
        )
    )
    w(
        "kit used",
        role="pump1.main",
        serial="T-101",
        range_text="0 to 600 bar",
        accuracy="0.25 % of full scale",
        calibrated_on="2025-11-03",
        fitting="M16×2, hose 2 m × 2 mm",
    )
    w("zero checked", role="pump1.main", moment="before", value=_value(0.2e5, expanded=0.4e5))
    w("caution seen", caution="Eye protection and gloves on. Never feel for a leak with a hand.")
    w("observed", fact="ports right", holds=True)
    for check, value, unit, u in (
        ("low-idle", 945.0, "rpm", 8.0), ("high-idle", 2040.0, "rpm", 8.0),
        ("oil", 50.0, "°C", 1.0),
        ("pilot-low", 37e5, "Pa", 0.4e5), ("pilot-high", 39e5, "Pa", 0.4e5),
        ("pump1-cut-off", 325.5e5, "Pa", 1.5e5), ("pump2-cut-off", 338.2e5, "Pa", 1.5e5),
        ("swing-relief", 276.8e5, "Pa", 1.5e5),
    ):  # fmt: skip
        w.read(check, value, unit, u)
    hold = {"trace": "as-found.h5", "loading": 0, "start_s": 4.1, "end_s": 9.0}
    w.read("main-relief-1", 305.2e5, "Pa", 1.5e5, source=hold)
    w("signed", phase="as found", who="K. Orme", capacity="customer")
    w("as found locked", signed_by="K. Orme")
    w(
        "screw turned",
        turn="t1",
        screw="relief 1",
        check="main-relief-1",
        turns=0.3,
        before=_value(305.2e5, expanded=1.5e5),
    )
    w("screw read", turn="t1", moment="after the turn", value=_value(339e5, expanded=1.5e5))
    w("screw read", turn="t1", moment="after the lock nut", value=_value(342e5, expanded=1.5e5))
    w.read(
        "main-relief-1",
        342.1e5,
        "Pa",
        1.5e5,
        phase="as left",
        source={"trace": "as-left.h5", "loading": 0},
    )
    w(
        "not adjusted",
        check="pump2-cut-off",
        why="to be set with the next service",
    )
    w("not tested", check="straight-travel", why="no level ground at the site")
    for seconds in (3.02, 3.06, 3.04):
        w(
            "cycle timed",
            check="bucket-time",
            phase="as left",
            seconds=_value(seconds, "s", 0.04),
            rpm=1990.0,
            droop_pct=1.0,
        )
    w("trace added", trace="as-found.h5", phase="as found")
    w("trace added", trace="lost.h5", phase="as left")
    w("hands", hands="under load", confirmed_by="R. Okonjo-Lindqvist")
    return w.events


@pytest.fixture(scope="session")
def job_events() -> list[JobEvent]:
    return events()


@pytest.fixture(scope="session")
def job(job_events: list[JobEvent]) -> JobState:
    return replay(job_events)


@pytest.fixture(scope="session")
def trace() -> Trace:
    """Two mains and a control at 1 kHz, 20 s, one spike of a single sample, one gap."""
    times = np.arange(20_000) / 1000.0
    ramp = np.clip((times - 4) / 0.4, 0, 1) - np.clip((times - 9) / 0.2, 0, 1)
    one = (25 + 315 * ramp) * BAR
    two = (24 + 0 * ramp) * BAR
    one[6000] = 402.5 * BAR
    two[12_000:13_000] = np.nan
    control = (5 + 20 * ramp) * BAR
    quality = np.zeros(len(times), dtype=np.uint16)
    series = tuple(
        Series(Channel(name=name, role=Role.parse(name)), times, values, quality)
        for name, values in (
            ("pump1.main", one),
            ("pump2.main", two),
            ("pump1.control", control),
        )
    )
    marks = (
        Mark("0/pump1/relief crack", MarkKind.RELIEF_CRACK, 4.36, Standing.FINAL, 1, 318 * BAR),
        Mark("0/pump1/settled", MarkKind.SETTLED, 4.6, Standing.FINAL, 1, 340 * BAR),
    )
    return Trace(
        series=series,
        simulated=True,
        particulars=Particulars(machine="Marten 21"),
        marks=marks,
        gaps=(Gap("main", 15.0, 15.5, 500),),
    )
