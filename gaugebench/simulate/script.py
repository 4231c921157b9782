"""A script, carried out from beginning to end faster than real time."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import numpy as np

from gaugebench.model.arrays import F64, frozen
from gaugebench.model.channel import Channel, StreamSpec
from gaugebench.model.columns import condition
from gaugebench.model.role import Role
from gaugebench.model.trace import Series, Trace
from gaugebench.simulate.history import TICK_S, History
from gaugebench.simulate.hookup import kit_for
from gaugebench.simulate.moves import FaultOn, Move, Script, Switch, Turn
from gaugebench.simulate.perform import Performance
from gaugebench.simulate.rig import Rig
from gaugebench.simulate.truth import truth_of

__all__ = ["STARTED", "FaultOn", "Move", "Script", "Switch", "Turn", "run"]

STARTED = datetime(2026, 1, 1, 8, 0, tzinfo=UTC)
"""An invented wall time, so that a run is the same again bit for bit."""


def run(script: Script) -> tuple[Trace, dict[str, Any]]:
    """The trace as the kit would have logged it, and the truth beside it (see `truth`).

    Raises `ValueError` or `KeyError` where the script asks for what the machine has not.
    """
    performance = Performance(script)
    rig = Rig(performance.rigging, script.seed)
    history = History.of(performance.machine, script.duration_s)
    rows: list[list[float]] = []
    samples = int(script.duration_s * script.rate_hz)
    warm: list[tuple[float, float]] = []
    for tick in range(int(script.duration_s / TICK_S) + 1):
        now = tick * TICK_S
        while len(rows) < samples and (at := len(rows) / script.rate_hz) < now - 1e-9:
            rows.append(rig.sample(performance.at(at), at))
        performance.go_to(now)
        history.note(performance.machine)
        if tick % 1000 == 0:
            warm.append((now, performance.machine.reading().celsius))
    return _trace(script, np.array(rows), np.array(warm)), truth_of(script, history)


def _trace(script: Script, raw: F64, warm: F64) -> Trace:
    times = frozen(np.arange(len(raw)) / script.rate_hz)
    series = []
    kit = kit_for(script, "practice", {})
    channels = kit.source[0].channels()
    none = np.zeros(raw.shape, np.uint16)
    values, quality = condition(StreamSpec("practice", channels), raw, none)
    for k, channel in enumerate(channels):
        series.append(
            Series(
                channel,
                times,
                frozen(values[:, k].copy()),
                frozen(quality[:, k].copy()),
                stream="practice",
                raw=frozen(raw[:, k].copy()),
            )
        )
    tank = Role.parse("oil.temperature")
    series.append(
        Series(
            Channel("tank", tank, tank.dimension, raw_unit="°C"),
            frozen(warm[:, 0].copy()),
            frozen(np.round(warm[:, 1], 1)),
            frozen(np.zeros(len(warm), np.uint16)),
            stream="practice tank",
        )
    )
    return Trace(
        tuple(series),
        started=STARTED,
        origin="simulated",
        simulated=True,
        particulars=script.particulars,
    )
