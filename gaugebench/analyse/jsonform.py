"""Figures as one JSON object; its schema is described in the guide (figures.md)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from gaugebench.model.figures import (
    Absent,
    Answer,
    Event,
    Figure,
    FigureSet,
    LoadingFigures,
    PumpFigures,
)

SCHEMA = 1

_PUMP_KEYS: Mapping[str, str] = {
    "initial_pa": "initial",
    "peak_pa": "peak",
    "raw_peak_pa": "raw_peak",
    "settled_pa": "settled",
    "t50_s": "t50",
    "settle_s": "settle",
    "overshoot_pct": "overshoot",
    "ripple_pp_pa": "ripple_pp",
    "ripple_rms_pa": "ripple_rms",
    "override_pct": "override",
    "control_settled_pa": "control_settled",
}
_EVENT_KEYS = ("relief_crack", "destroke_onset")
_LOADING_KEYS: Mapping[str, str] = {
    "imbalance_pct": "imbalance",
    "running_imbalance_pct": "running_imbalance",
    "sync_lag_s": "sync_lag",
    "in_sync_s": "in_sync",
    "cycle_time_s": "cycle_time",
}


def as_json(figures: FigureSet) -> dict[str, Any]:
    """Plain data that `json.dumps(…, allow_nan=False)` takes; pressures in Pa, times in s.

    Absent figures are None, with the reason under `why_absent`; `u` holds the half-widths of the
    k = 2 intervals, `cautions` the reasons not to rely on a figure, each under the figure's key.
    """
    return {
        "schema": SCHEMA,
        "reference": figures.reference,
        "settings": dict(figures.settings),
        "cautions": list(figures.cautions),
        "loadings": [_loading(loading) for loading in figures.loadings],
        "marks": [
            {
                "key": m.key,
                "kind": m.kind.value,
                "time_s": m.time_s,
                "standing": m.standing.value,
                "pump": m.pump,
                "pressure_pa": m.pressure_pa,
            }
            for m in figures.marks
        ],
    }


def _loading(loading: LoadingFigures) -> dict[str, Any]:
    notes = _Notes()
    row: dict[str, Any] = {"start_s": loading.start_s, "end_s": loading.end_s}
    row["pumps"] = {str(number): _pump(pump) for number, pump in loading.pumps.items()}
    for name, attribute in _LOADING_KEYS.items():
        row[name] = notes.take(name, getattr(loading, attribute))
    return row | notes.as_dict()


def _pump(pump: PumpFigures) -> dict[str, Any]:
    notes = _Notes()
    row: dict[str, Any] = {
        name: notes.take(name, getattr(pump, attribute)) for name, attribute in _PUMP_KEYS.items()
    }
    for name in _EVENT_KEYS:
        event: Event | Absent = getattr(pump, name)
        if isinstance(event, Absent):
            row[name] = notes.take(name, event)
        else:
            row[name] = {
                "time_s": notes.take(f"{name}.time_s", event.time),
                "pressure_pa": notes.take(f"{name}.pressure_pa", event.pressure),
            }
    row["limited_by"] = pump.limited_by.limiter.value
    row["limited_by_reason"] = pump.limited_by.reason
    row["plateaus"] = [asdict(plateau) for plateau in pump.plateaus]
    return row | notes.as_dict()


class _Notes:
    """What is said beside the numbers of one row."""

    def __init__(self) -> None:
        self._u: dict[str, float] = {}
        self._absent: dict[str, str] = {}
        self._cautions: dict[str, list[str]] = {}

    def take(self, name: str, answer: Answer) -> float | None:
        """The number, or None; the rest is kept for `as_dict`."""
        if isinstance(answer, Absent):
            self._absent[name] = answer.reason
            return None
        self._take_rest(name, answer)
        return answer.value

    def _take_rest(self, name: str, figure: Figure) -> None:
        if figure.expanded is not None:
            self._u[name] = figure.expanded
        if figure.cautions:
            self._cautions[name] = list(figure.cautions)

    def as_dict(self) -> dict[str, Any]:
        return {"u": self._u, "why_absent": self._absent, "cautions": self._cautions}
