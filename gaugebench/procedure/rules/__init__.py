"""Data files of common practice: hints, cautions, causes, exchanges. Read here, changed there."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from gaugebench.model.band import Band, parse_band
from gaugebench.quantity import Dimension, parse


@cache
def load(name: str) -> dict[str, Any]:
    """The data file of that name, for example `hints`. Treat it as read-only."""
    return tomllib.loads(files(__package__).joinpath(f"{name}.toml").read_text(encoding="utf-8"))


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution and the moment it belongs to."""

    key: str
    moment: str
    text: str


def cautions(*moments: str) -> tuple[Caution, ...]:
    """The cautions of the moments, in the order of the file."""
    rows = (Caution(**row) for row in load("cautions")["caution"])
    return tuple(c for c in rows if c.moment in moments)


@dataclass(frozen=True, slots=True)
class Step:
    """One step of handling the kit: what is done, and why."""

    key: str
    do: str
    why: str


def steps(which: str) -> tuple[Step, ...]:
    """The steps of `fit` (the kit goes on) or `release` (it comes off), in their order."""
    return tuple(Step(**row) for row in load("hookup")[which])


def deference() -> str:
    """That the maker's sheet, local codes and licensed practice come first."""
    return str(load("cautions")["deference"])


def hint(*keys: str) -> Any:
    """A hint as it is written, for example `hint("screw", "first_step_turns")`."""
    found: Any = load("hints")
    for key in keys:
        found = found[key]
    return found


def hint_pressure(*keys: str) -> float:
    """A hint that is a pressure, in Pa."""
    return parse(hint(*keys), Dimension.PRESSURE)


def hint_ratio(*keys: str) -> float:
    """A hint in percent, as a ratio."""
    return parse(hint(*keys), Dimension.RATIO)


def hint_band(*keys: str) -> Band:
    """A hint that is a band of pressures, in Pa."""
    return parse_band(hint(*keys), Dimension.PRESSURE)


def run_in() -> tuple[str, ...]:
    """What is done before any stall of a rebuilt pump."""
    return tuple(hint("run_in"))


def label() -> str:
    """How a hint is marked wherever it is shown."""
    return str(hint("label"))
