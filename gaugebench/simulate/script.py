"""Scripts: carried out, read from TOML."""

from __future__ import annotations

from gaugebench.simulate.moves import FaultOn, Move, Script, Switch, Turn

__all__ = ["FaultOn", "Move", "Script", "Switch", "Turn"]
