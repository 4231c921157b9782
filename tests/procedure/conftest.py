"""A job on the invented machine, taken through by hand with a clock of its own."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from gaugebench.model.job import (
    EVENT,
    Conditions,
    Hands,
    HandsSet,
    How,
    JobEvent,
    JobOpened,
    ReadingTaken,
    Value,
)
from gaugebench.procedure import sheet
from gaugebench.procedure.prompt import PORTS_RIGHT
from gaugebench.procedure.state import JobState
from gaugebench.procedure.worksheet import Worksheet
from gaugebench.quantity import Dimension, unit

BAR = 1e5


class Job:
    """A worksheet and the hand that fills it in."""

    def __init__(self, path: Path | None = None, **opened: Any) -> None:
        self.now = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
        data = {"job": "J-1", "sheet": sheet.invented_data(), **opened}
        self.sheet = Worksheet.begin(JobOpened(at=self.now, **data), path)

    @property
    def state(self) -> JobState:
        return self.sheet.state

    def wait(self, seconds: float) -> None:
        self.now += timedelta(seconds=seconds)

    def event(self, kind: str, **fields: Any) -> JobEvent:
        self.wait(1)
        return EVENT.validate_python({"kind": kind, "at": self.now, **fields})

    def do(self, kind: str, **fields: Any) -> JobState:
        return self.sheet.take(self.event(kind, **fields))

    def refused(self, kind: str, **fields: Any) -> str:
        """Why the event is refused; "" where it is not."""
        return self.sheet.may(self.event(kind, **fields)) or ""

    def hands(self, hands: Hands) -> None:
        self.wait(1)
        self.sheet.take(HandsSet(at=self.now, hands=hands, confirmed_by="R. Vale"))

    def reading(self, check: str, value: float, expanded: float | None, **more: Any) -> JobEvent:
        """A reading in bar, rpm, °C, s or mm; `expanded` likewise."""
        self.wait(1)
        dimension = self.state.check(check).dimension
        scale = {Dimension.PRESSURE: unit("bar"), Dimension.LENGTH: unit("mm")}.get(dimension)
        factor = scale.factor if scale else 1.0
        u = None if expanded is None else expanded * factor
        found = Value(value=value * factor, unit=dimension.value, expanded=u)
        fields = {"how": How.BY_HAND, "phase": self.state.phase, **more}
        return ReadingTaken(at=self.now, check=check, value=found, **fields)

    def read(self, check: str, value: float, expanded: float | None = 1.0, **more: Any) -> None:
        self.sheet.take(self.reading(check, value, expanded, **more))

    def alter(self, key: str) -> None:
        change = self.state.sheet.find_change(key)
        assert change is not None
        self.do(
            "change made",
            change=key,
            what=change.kind,
            does=change.does,
            undo=change.undo,
            read_again=change.read_again,
        )

    def ready(self) -> None:
        """Everything that comes before the first load, as it should be."""
        self.do("conditions", conditions=Conditions(mode="standard", oil_c=50.0))
        self.do("observed", fact=PORTS_RIGHT, holds=True)
        for check, value in (
            ("low-idle", 950.0),
            ("high-idle", 2045.0),
            ("oil", 50.0),
            ("pilot-low", 37.0),
            ("pilot-high", 39.0),
        ):
            self.read(check, value, 0.5)


@pytest.fixture
def job() -> Job:
    return Job()


@pytest.fixture(scope="session")
def new_job() -> Callable[..., Job]:
    return Job
