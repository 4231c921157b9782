"""What is true of a run, taken from inside the machine: no noise, no ripple, no kit.

The definitions are those of the figures (see the guide's page of figures); the keys are those of
`gaugebench figures --json`. `optional` marks an event that a kit at the script's rate cannot show,
a relief that opened for an instant only, or a small swing.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from gaugebench.model.arrays import F64
from gaugebench.model.figures import Limiter
from gaugebench.model.role import ControlPort
from gaugebench.simulate.history import TICK_S, History
from gaugebench.simulate.layout import MERGE, TURN
from gaugebench.simulate.moves import Move, Script
from gaugebench.simulate.plant import BAR, LITRE_A_MINUTE

PASSING = 4 * LITRE_A_MINUTE
"""Flow from which oil is said to go over a relief."""
DE_STROKED = 0.05
"""A cut-off acts where it takes away more than this share of the stroke."""
TRAVEL_S = 0.3
"""An actuator that moved shorter than this stood at its stop already."""
_BEFORE_S, _STEADY_SHARE, _STEADY_S = 0.4, 0.35, 1.0
_SAMPLES_FOR_A_KNEE = 6
_INSTANT_S = 0.15
_SMALL_SWING = 0.8 * BAR
_PLATEAU_S, _FLAT_SHARE = 0.4, 0.04
_EASED = 1.15
"""A plateau was left where the pressure stands by this lower before the lever is let go."""
_RUNS_SHARE = 0.6
"""Below this share of what it took to get an actuator under way, the pressure only runs."""
SYNC_BAND = 10 * BAR
_OF_A_PROBE = (
    "zero_pa", "gain", "bow_pa", "hysteresis_pa", "drift_pa_s", "lag_s", "noise_pa",
)  # fmt: skip


def truth_of(script: Script, history: History) -> dict[str, Any]:
    """The truth of a run as a JSON object: `loadings`, and the faults that were in it.

    Where the transducers' errors were drawn, `kit` says what was drawn.
    """
    loadings = [
        found
        for moves in efforts(script.moves)
        if (found := _loading(script, history, moves)) is not None
    ]
    answer: dict[str, Any] = {
        "schema": 1,
        "rate_hz": script.rate_hz,
        "control": str(script.plant.control),
        "control_port": str(script.plant.control_port),
        "loadings": loadings,
        "faults": [
            {"name": f.name, "severity": f.severity, "where": f.where} for f in script.faults
        ],
    }
    if any(p.bow_pa or p.hysteresis_pa for p in script.rigging.probes):
        answer["kit"] = [
            {"name": p.name, **{part: getattr(p, part) for part in _OF_A_PROBE}}
            for p in script.rigging.probes
        ]
    return answer


def efforts(moves: tuple[Move, ...]) -> Iterator[list[Move]]:
    """Moves that overlap in time belong together."""
    together: list[Move] = []
    for move in sorted(moves, key=lambda m: m.start_s):
        if together and move.start_s > max(m.end_s for m in together):
            yield together
            together = []
        together.append(move)
    if together:
        yield together


def _loading(script: Script, history: History, moves: list[Move]) -> dict[str, Any] | None:
    names = [f.name for f in script.plant.functions]
    pumps: dict[str, dict[str, Any]] = {}
    inside: dict[int, _Pump] = {}
    for i in (0, 1):
        mine = [m for m in moves if _feeds(script, names.index(m.function), m, i)]
        if not mine:
            continue
        pump = _Pump(script, history, mine, i)
        if pump.limiter is not None:
            inside[i] = pump
            pumps[str(i + 1)] = pump.figures()
    if not inside:
        return None
    answer: dict[str, Any] = {
        "start_s": min(p.departure_s for p in inside.values()),
        "end_s": max(p.drop_s for p in inside.values()),
        "pumps": pumps,
    }
    if len(inside) == 2:
        answer |= _between(history, inside[0], inside[1])
    cycle = next((p.cycle_s for p in inside.values() if p.cycle_s is not None), None)
    if cycle is not None:
        answer["cycle_time_s"] = cycle
    return answer


def _feeds(script: Script, function: int, move: Move, pump: int) -> bool:
    f = script.plant.functions[function]
    return bool(f.feeds[pump]) or f.merge * move.value > 0


def _between(history: History, one: _Pump, two: _Pump) -> dict[str, Any]:
    drop = min(one.let_go, two.let_go)
    a, b = history.main(0), history.main(1)
    part = slice(max(one.half, two.half), drop)
    if part.start >= drop:
        return {"imbalance_pct": None, "sync_lag_s": two.t50_s - one.t50_s}
    running = 200 * (a[part] - b[part]) / (a[part] + b[part])
    apart = np.flatnonzero(np.abs(a[: drop + 1] - b[: drop + 1]) > SYNC_BAND)
    first = int(apart[-1]) + 1 if len(apart) else 0
    return {
        "imbalance_pct": 200 * (one.settled - two.settled) / (one.settled + two.settled),
        "running_imbalance_pct": float(np.sqrt(np.mean(running**2))),
        "sync_lag_s": two.t50_s - one.t50_s,
        "in_sync_s": first * TICK_S if first < drop else None,
    }


class _Pump:
    """One pump in one effort. Ticks are indices into the history."""

    def __init__(self, script: Script, history: History, moves: list[Move], pump: int) -> None:
        self.script, self.history, self.pump, self.moves = script, history, pump, moves
        self.main = history.main(pump)
        self.start = int(min(m.start_s for m in moves) / TICK_S)
        # The drop follows the lever that is let go first: the centre opens with it.
        last = max(m.let_go_s for m in moves)
        self.let_go = min(int(last / TICK_S), history.count - 1)
        self.limiter: Limiter | None = None
        if self.let_go - self.start < 50:
            return
        until = self._left()
        if until is None:
            return
        self.eased = until < self.let_go
        self.let_go = until
        ends = int(max(m.end_s for m in moves) / TICK_S) + int(1.0 / TICK_S)
        self.last = min(ends, history.count - 1)
        self.stop, self.cycle_s = self._stop()
        before = int(_BEFORE_S / TICK_S)
        if self.cycle_s is not None:
            level = self.main[max(self.stop - before, self.start) : self.stop - 30]
            self.rise = self.stop - 30
        else:
            level = self.main[max(self.start - before, 0) : max(self.start, 1)]
            self.rise = self.start
        self.initial = float(np.mean(level))
        length = self.let_go - self.rise
        steady = int(min(_STEADY_S, _STEADY_SHARE * length * TICK_S) / TICK_S)
        self.steady = slice(self.let_go - max(steady, 20), self.let_go)
        self.settled = float(np.mean(self.main[self.steady]))
        if self.settled - self.initial < 20 * BAR:
            return
        self.limiter = self._limiter()
        if self.limiter is None:
            return
        half = self.initial + 0.5 * (self.settled - self.initial)
        self.half = self._last_crossing(half, self.let_go)
        self.t50_s = self._instant(self.half, half)
        fallen = np.flatnonzero(self.main[self.let_go : self.last] < half)
        drop = self.let_go + (int(fallen[0]) if len(fallen) else self.last - self.let_go)
        drop = self.let_go if self.eased else drop
        self.drop_s = drop * TICK_S
        self.drop = drop
        idle = float(np.mean(self.main[max(self.start - before, 0) : max(self.start, 1)]))
        left = np.flatnonzero(
            self.main[self.start : self.let_go] > idle + 0.05 * (self.settled - idle)
        )
        self.departure_s = (self.start + (int(left[0]) if len(left) else 0)) * TICK_S

    def _left(self) -> int | None:
        """The tick at which a plateau is left: as the lever is let go, or before, where a mass has
        been accelerated by then. None where the pressure only runs: nothing was held."""
        idle = float(self.main[max(self.start - 1, 0)])
        rise = self.main[self.start : self.let_go] - idle
        count = int(_PLATEAU_S / TICK_S)
        if len(rise) < 2 * count:
            return self.let_go
        windows = np.lib.stride_tricks.sliding_window_view(rise, count)[::10]
        low, high = windows.min(axis=1), windows.max(axis=1)
        flat = np.flatnonzero((high - low <= _FLAT_SHARE * low) & (low > 0))
        latest = float(np.mean(rise[-count:]))
        plateau = float(low[flat].max()) if len(flat) else latest
        if max(plateau, latest) < _RUNS_SHARE * float(rise.max()):
            return None
        if plateau <= _EASED * latest:
            return self.let_go
        return self.start + int(np.flatnonzero(rise >= 0.95 * plateau)[-1])

    def _stop(self) -> tuple[int, float | None]:
        """The tick at which the actuator reached its stop, and the travel before it, s."""
        history, names = self.history, [f.name for f in self.script.plant.functions]
        for move in self.moves:
            k = names.index(move.function)
            f = self.script.plant.functions[k]
            end = f.stroke if move.value > 0 else f.low
            if not np.isfinite(end):
                continue
            place = history.place(k)[self.start : self.let_go]
            there = np.flatnonzero(place >= end if move.value > 0 else place <= end)
            moving = np.flatnonzero(np.abs(history.speed(k)[self.start : self.let_go]) > 0.005)
            if not len(there) or not len(moving) or moving[0] >= there[0]:
                continue
            travel = (int(there[0]) - int(moving[0])) * TICK_S
            if travel > TRAVEL_S:
                return self.start + int(there[0]), travel
        return self.start, None

    def _limiter(self) -> Limiter | None:
        history, i, part = self.history, self.pump, self.steady
        ports = float(np.mean(history.over_ports(i)[part]))
        over = float(np.mean(sum(history.over_relief(k)[part] for k in self._reached())))
        # Where a cut-off and a relief work at once, that holds which takes more of the flow.
        taken = self._taken_by_cut_off()
        if taken > DE_STROKED and taken > max(ports, over) / self._full_flow():
            return Limiter.CUT_OFF
        if ports > PASSING:
            return Limiter.PORT_RELIEF
        if over > PASSING:
            return Limiter.BOOST if np.mean(history.boost[part]) > 0.5 else Limiter.RELIEF
        if all(abs(m.value) < 0.9 for m in self.moves) and self._is_still():
            return Limiter.LEVER
        if self._is_still():
            return Limiter.RELIEF if over > 0 else Limiter.UNCLEAR
        # A mass that takes up the flow holds the pressure as much as any valve does.
        return Limiter.UNCLEAR if self.eased else None

    def _taken_by_cut_off(self) -> float:
        """Share of full stroke that the cut-off takes beyond the torque limit."""
        cut = self.history.allowed_by_cut_off(self.pump)[self.steady]
        torque = self.history.allowed_by_torque(self.pump)[self.steady]
        return max(0.0, float(np.mean(torque)) - float(np.mean(cut)))

    def _full_flow(self) -> float:
        """Flow at full stroke of the pumps that feed the reliefs reached, m³/s."""
        pumps, reached = self.script.plant.pumps, self._reached()
        speed = float(np.mean(self.history.column(TURN)[self.steady])) / (2 * np.pi)
        return sum(pumps[k].displacement for k in reached) * speed

    def _reached(self) -> tuple[int, ...]:
        """The pumps whose reliefs hold this pump's pressure: both where the valve merges them."""
        merged = float(np.mean(self.history.column(MERGE)[self.steady])) > 0.5
        return (0, 1) if merged else (self.pump,)

    def _is_still(self) -> bool:
        names = [f.name for f in self.script.plant.functions]
        speeds = [
            np.abs(self.history.speed(names.index(m.function))[self.steady]).max()
            for m in self.moves
        ]
        return bool(max(speeds) < 0.02)

    def _last_crossing(self, level: float, end: int) -> int:
        """The last tick before `end` at which the pressure stood below `level`."""
        below = np.flatnonzero(self.main[self.start : end] < level)
        return self.start + int(below[-1]) if len(below) else self.start

    def _instant(self, tick: int, level: float) -> float:
        low, high = float(self.main[tick]), float(self.main[min(tick + 1, len(self.main) - 1)])
        share = (level - low) / (high - low) if high > low else 0.0
        return (tick + min(max(share, 0.0), 1.0)) * TICK_S

    def figures(self) -> dict[str, Any]:
        """The pump's figures under their JSON keys."""
        peak = float(self.main[self.rise : self.drop + 1].max())
        control = self.history.control(self.pump)
        outside = np.flatnonzero(
            np.abs(self.main[self.half : self.let_go] - self.settled) > 0.02 * self.settled
        )
        settle = (self.half + int(outside[-1]) + 1) * TICK_S if len(outside) else self.t50_s
        return {
            "initial_pa": self.initial,
            "peak_pa": peak,
            "settled_pa": self.settled,
            "settle_s": max(0.0, settle - self.t50_s),
            "overshoot_pct": 100 * (peak - self.settled) / (self.settled - self.initial),
            "t50_s": self.t50_s,
            "relief_crack": self._crack(),
            "destroke_onset": self._onset(control),
            "control_settled_pa": float(np.mean(control[self.steady])),
            "limited_by": str(self.limiter),
        }

    def _crack(self) -> dict[str, Any] | None:
        if self.limiter is Limiter.PORT_RELIEF:
            return self._crack_of_port()
        found = [self._crack_of(k) for k in self._reached()]
        return min((c for c in found if c), key=lambda c: float(c["time_s"]), default=None)

    def _crack_of(self, pump: int) -> dict[str, Any] | None:
        crack = self.history.crack(pump)
        part = slice(self.rise, self.let_go)
        above = np.flatnonzero(self.main[part] > crack[part])
        passing = np.flatnonzero(self.history.over_relief(pump)[part] > PASSING)
        if not len(above) or not len(passing):
            return None
        tick = self.rise + int(above[0])
        level = float(crack[tick])
        return self._knee(self._instant(max(tick - 1, 0), level), level, len(passing))

    def _crack_of_port(self) -> dict[str, Any] | None:
        """The crack of a port relief, as the pump's own port sees it."""
        flow = self.history.over_ports(self.pump)[self.rise : self.let_go]
        passing = np.flatnonzero(flow > PASSING)
        if not len(passing):
            return None
        # What an earlier push has left locked in behind the spool may still go over it at first.
        shut = np.flatnonzero(flow[: self.steady.start - self.rise] < 0.05 * PASSING)
        tick = self.rise + (int(shut[-1]) + 1 if len(shut) else 0)
        return self._knee(tick * TICK_S, float(self.main[tick]), len(passing))

    def _knee(self, at: float, level: float, passing: int) -> dict[str, Any]:
        """A crack as an answer. passing: for how many ticks oil went over the valve."""
        brief = passing * TICK_S < _INSTANT_S or self.limiter is Limiter.CUT_OFF
        # What holds the pressure cannot be told at a signal port, so no crack is asked there.
        hidden = self.script.plant.control_port is ControlPort.SIGNAL
        return {
            "time_s": at,
            "pressure_pa": level,
            "optional": brief or hidden or not self._is_shown(at, level),
        }

    def _onset(self, control: F64) -> dict[str, Any] | None:
        history, i = self.history, self.pump
        if self.script.plant.control_port is ControlPort.SIGNAL:
            return None
        cut, torque = history.allowed_by_cut_off(i), history.allowed_by_torque(i)
        acts = (cut < 0.999) & (cut < torque)
        # It counts only where the pump stays de-stroked by it.
        if not acts[self.steady].mean() > 0.5:
            return None
        part = slice(self.half, self.let_go)
        ticks = np.flatnonzero(acts[part])
        if not len(ticks):
            return None
        first = self.half + int(ticks[0])
        settled = float(np.mean(control[self.steady]))
        working = float(control[first])
        swing = settled - working
        moved = (control[first : self.let_go] - working) / swing if swing else np.zeros(1)
        gone = np.flatnonzero(moved >= 0.05)
        if not len(gone):
            return None
        tick = first + int(gone[0])
        at, level = tick * TICK_S, float(self.main[tick])
        small = abs(swing) < _SMALL_SWING
        return {
            "time_s": at,
            "pressure_pa": level,
            "optional": small or not self._is_shown(at, level),
        }

    def _is_shown(self, at_s: float, level: float) -> bool:
        """Whether there are samples enough on the rise to the event at the script's rate."""
        before = np.flatnonzero(self.main[self.start : int(at_s / TICK_S)] < 0.7 * self.settled)
        since = at_s - (self.start + int(before[-1])) * TICK_S if len(before) else at_s
        return level > 0 and since * self.script.rate_hz >= _SAMPLES_FOR_A_KNEE
