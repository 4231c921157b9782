"""One lever at a time: which main rises and which control moves, and so which hoses are swapped.

No Qt. Levels come in as they are read; the test notices by itself when a lever is moved and let go.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from gaugebench.model.role import Port, Role

NEUTRAL_S = 1.5
"""How long the levers must rest before one is asked for."""
PATIENCE_S = 30.0
"""How long a lever is waited for."""
HOLD_S = 1.0
"""How long a lever is held on from where the first channel answers: a main follows its control."""
BACK_S = 0.6
"""How long all must be back before the answer counts."""
STEADY_PA = 4e5
"""A level that wanders by more is not at rest (common practice, no source)."""
LEAST_MAIN_PA, LEAST_CONTROL_PA = 5e5, 3e5
"""Less is no answer to a lever (common practice, no source)."""
TIMES_WANDER = 4.0
OTHER_SHARE = 0.5
"""Where a second one moves by more than this share of the first, it cannot be told which it was."""


class Stage(StrEnum):
    """Where the test stands."""

    IDLE = "not begun"
    NEUTRAL = "neutral"
    MOVE = "move"
    LET_GO = "let go"
    DONE = "done"


@dataclass(frozen=True, slots=True)
class Lever:
    """A lever. pump: the one that feeds its function, by the machine's sheet; None: not known."""

    name: str
    pump: int | None = None


@dataclass(frozen=True, slots=True)
class Answer:
    """What a lever moved, by pump number; None: none, or not to be told from the other.

    both: more than one main rose. rise_pa: of the main; control_pa: how far the control went,
    below zero where it fell.
    """

    lever: Lever
    main: int | None
    control: int | None
    both: bool = False
    rise_pa: float = 0.0
    control_pa: float = 0.0


class LeverTest:
    """One lever: neutral is learned, a move is waited for, and the answer is had once it is back.

    Only roles of main and control pressures are looked at.
    """

    def __init__(self) -> None:
        self.stage = Stage.IDLE
        self.lever = Lever("")
        self.answer: Answer | None = None
        self.is_restless = False
        """Neutral has been waited for too long: the levels wander."""
        self._since = 0.0
        self._moved_s: float | None = None
        self._back_since: float | None = None
        self._low: dict[Role, float] = {}
        self._high: dict[Role, float] = {}
        self._most: dict[Role, float] = {}

    def begin(self, lever: Lever, now_s: float) -> None:
        """Ask for neutral, then for this lever."""
        self.stage, self.lever, self.answer = Stage.NEUTRAL, lever, None
        self.is_restless = False
        self._begin_neutral(now_s)

    def stop(self) -> None:
        """Give it up."""
        self.stage = Stage.IDLE

    def see(self, levels: Mapping[Role, float], now_s: float) -> Stage:
        """Take in the levels of this instant (Pa, NaN where there is none); where it stands now."""
        known = {r: v for r, v in levels.items() if r.port is not None and math.isfinite(v)}
        match self.stage:
            case Stage.NEUTRAL:
                self._see_neutral(known, now_s)
            case Stage.MOVE | Stage.LET_GO:
                self._see_move(known, now_s)
            case _:
                pass
        return self.stage

    def _begin_neutral(self, now_s: float) -> None:
        self._since = now_s
        self._low, self._high, self._most = {}, {}, {}
        self._moved_s = self._back_since = None

    def _see_neutral(self, levels: Mapping[Role, float], now_s: float) -> None:
        for role, value in levels.items():
            self._low[role] = min(value, self._low.get(role, value))
            self._high[role] = max(value, self._high.get(role, value))
        if any(self._high[r] - self._low[r] > STEADY_PA for r in self._low):
            self.is_restless = True
            self._begin_neutral(now_s)
        elif self._low and now_s - self._since >= NEUTRAL_S:
            self.is_restless = False
            self.stage, self._since = Stage.MOVE, now_s

    def _see_move(self, levels: Mapping[Role, float], now_s: float) -> None:
        is_back = True
        for role, value in levels.items():
            change = value - self._neutral(role)
            if abs(change) > abs(self._most.get(role, 0.0)):
                self._most[role] = change
            is_back = is_back and abs(change) < 0.5 * self._least(role)
        if any(abs(m) > self._least(r) for r, m in self._most.items()):
            self._moved_s = self._moved_s if self._moved_s is not None else now_s
            if now_s - self._moved_s >= HOLD_S:
                self.stage = Stage.LET_GO
        if self._moved_s is not None and is_back:
            self._back_since = self._back_since if self._back_since is not None else now_s
            if now_s - self._back_since >= BACK_S:
                self._end()
        else:
            self._back_since = None
            if self._moved_s is None and now_s - self._since > PATIENCE_S:
                self._end()

    def _end(self) -> None:
        main, other_main = self._first(Port.MAIN)
        control, other_control = self._first(Port.CONTROL)
        self.answer = Answer(
            self.lever,
            main.pump if main and not other_main else None,
            control.pump if control and not other_control else None,
            both=other_main or other_control,
            rise_pa=self._most.get(main, 0.0) if main else 0.0,
            control_pa=self._most.get(control, 0.0) if control else 0.0,
        )
        self.stage = Stage.DONE

    def _first(self, port: Port) -> tuple[Role | None, bool]:
        """The one that moved most, and whether another moved nearly as much."""
        # A main that falls answers no lever; a control may go either way.
        sizes = {
            r: m if port is Port.MAIN else abs(m) for r, m in self._most.items() if r.port is port
        }
        moved = sorted((r for r in sizes if sizes[r] > self._least(r)), key=lambda r: -sizes[r])
        if not moved:
            return None, False
        return moved[0], any(sizes[r] > OTHER_SHARE * sizes[moved[0]] for r in moved[1:])

    def _neutral(self, role: Role) -> float:
        return 0.5 * (self._low.get(role, math.nan) + self._high.get(role, math.nan))

    def _least(self, role: Role) -> float:
        least = LEAST_MAIN_PA if role.port is Port.MAIN else LEAST_CONTROL_PA
        wander = self._high.get(role, 0.0) - self._low.get(role, 0.0)
        return max(least, TIMES_WANDER * wander)
