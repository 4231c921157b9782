"""A pump's row: it stays open until pressure, flow or time, speed and temperature are all there.

Pressure alone never says that a pump is good, and nothing here ever says it either: the row says
what was measured, and what is still needed.
"""

from __future__ import annotations

from dataclasses import dataclass

from gaugebench.model.saying import Saying, joined
from gaugebench.model.terms import Measures, Stage
from gaugebench.procedure.judge import verdict_of
from gaugebench.procedure.state import JobState


@dataclass(frozen=True, slots=True)
class PumpRow:
    """What is known of a pump. needed: what is still to be measured, empty where all is there."""

    pump: int
    measured: tuple[str, ...]
    needed: tuple[str, ...]

    @property
    def text(self) -> str:
        """The row in one sentence."""
        if self.needed:
            return Saying(
                "Pump {pump}: open; still needed: {list}.",
                pump=self.pump,
                list=joined(self.needed, ", "),
            )
        return Saying(
            "Pump {pump}: measured at pressure, speed and temperature; see its checks.",
            pump=self.pump,
        )


def pump_rows(state: JobState) -> tuple[PumpRow, ...]:
    """One row for each pump of the sheet."""
    return tuple(_row(state, p.number) for p in state.sheet.pump)


def _row(state: JobState, pump: int) -> PumpRow:
    measured: list[str] = []
    needed: list[str] = []
    own = {f.name for f in state.sheet.function if f.pumps == (pump,)}
    wants = {
        "pressure at its cut-off": [
            c.key for c in state.sheet.check if c.figure is Measures.CUT_OFF and c.role.pump == pump
        ],
        "a time or flow on a function of its own": [
            c.key
            for c in state.sheet.check
            if c.figure in {Measures.CYCLE, Measures.FLOW} and c.function in own
        ],
        "engine speed at high idle": [
            c.key for c in state.sheet.check if c.stage is Stage.ENGINE and "high" in c.engine.value
        ],
        "oil temperature": [c.key for c in state.sheet.check if c.stage is Stage.OIL],
    }
    for what, keys in wants.items():
        found = [k for k in keys if state.latest(k) is not None]
        if not found:
            needed.append(what)
            continue
        for key in found:
            reading = state.latest(key)
            verdict = verdict_of(state, state.check(key), reading) if reading else None
            said = verdict.outcome.value if verdict else "no band"
            measured.append(Saying("{title}: {said}", title=state.check(key).title, said=said))
    return PumpRow(pump, tuple(measured), tuple(needed))
