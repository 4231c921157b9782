"""What of the kit belongs in a job."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest

from gaugebench.model.channel import Channel, Transducer
from gaugebench.model.conditioning import Chain
from gaugebench.model.kit import kit_from
from gaugebench.model.role import Role
from gaugebench.model.trace import Series, Trace
from gaugebench.procedure import kit
from gaugebench.quantity import Reference

AT = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


def test_a_kits_certificates_reach_the_job(job: Any) -> None:
    data = {
        "schema": 1,
        "source": [
            {
                "driver": "text-lines",
                "channel": [
                    {
                        "input": "p1",
                        "role": "pump1.main",
                        "signal": "0.5-4.5 V",
                        "range": ["0 bar", "600 bar"],
                        "serial": "T-101",
                        "accuracy_pct_fs": 0.25,
                        "calibrated_on": "2025-11-03",
                        "fitting": "M16×2; hose bore 2 mm; hose length 1.5 m",
                    },
                    {"input": "spare", "unit": "bar"},
                ],
            }
        ],
    }
    (event,) = kit.used(kit_from(data), AT)
    job.sheet.take(event)
    assert job.state.kit[0].range_text == "0 bar to 600 bar"
    assert job.state.kit[0].accuracy == "0.25 % of full scale"
    assert job.state.kit[0].calibrated_on == "2025-11-03"


def _trace(reference: Reference) -> Trace:
    times = np.arange(0, 4, 0.01)
    chain = Chain(range_low=0.0, range_high=600e5)
    transducer = Transducer(serial="T-101", accuracy_pct_fs=0.25)
    series = []
    for name, level in (("pump1.main", 0.8e5), ("engine.speed", 0.0)):
        role = Role.parse(name)
        channel = Channel(name, role, role.dimension, reference, chain=chain, transducer=transducer)
        values = np.full(len(times), level)
        series.append(Series(channel, times, values, np.zeros(len(times), np.uint16)))
    return Trace(tuple(series))


def test_the_zero_of_each_pressure_with_its_uncertainty() -> None:
    (zero,) = kit.zeros(_trace(Reference.GAUGE), 1.0, 3.0, AT, "before")
    assert (zero.role, zero.serial, zero.moment) == ("pump1.main", "T-101", "before")
    assert zero.value.value == pytest.approx(0.8e5)
    # 0.25 % of 600 bar at k = 2.
    assert zero.value.expanded == pytest.approx(1.5e5)


def test_an_absolute_pressure_has_no_gauge_zero() -> None:
    assert kit.zeros(_trace(Reference.ABSOLUTE), 1.0, 3.0, AT, "before") == ()
