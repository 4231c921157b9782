"""Traces with a known truth, and made-up ones, for the tests of the analysis."""

from __future__ import annotations

import functools
import gzip
import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from gaugebench.analyse.figures import analyse
from gaugebench.model.arrays import F64
from gaugebench.model.channel import Channel
from gaugebench.model.figures import FigureSet
from gaugebench.model.role import Role
from gaugebench.model.trace import Series, Trace
from gaugebench.quantity import Dimension, Reference, unit

FOLDER = Path(__file__).parent / "data" / "labelled"


@dataclass(frozen=True, slots=True)
class Labelled:
    """A trace and what is true of it."""

    name: str
    trace: Trace
    truth: dict[str, Any]


def read_labelled(path: Path) -> Trace:
    """A CSV, gzipped or not, whose columns are headed `ROLE [UNIT]`."""
    opener = gzip.open if path.suffix == ".gz" else open
    with opener(path, "rt", encoding="utf-8") as file:
        header = file.readline().strip().split(",")
        table = np.loadtxt(file, delimiter=",")
    times = np.ascontiguousarray(table[:, 0])
    columns = {}
    for number, heading in enumerate(header[1:], 1):
        name, _, rest = heading.partition(" [")
        columns[name] = unit(rest.rstrip("]")).factor * table[:, number]
    return trace_of(times, columns)


def trace_of(times: F64, columns: dict[str, F64], reference: str = "gauge") -> Trace:
    """A trace whose columns are named by role, in the units used inside."""
    series = []
    for name, values in columns.items():
        role = Role.parse(name)
        is_pressure = role.dimension is Dimension.PRESSURE
        channel = Channel(name, role, role.dimension, Reference(reference) if is_pressure else None)
        quality = np.zeros(len(times), np.uint16)
        quality[~np.isfinite(values)] = 1
        series.append(Series(channel, times, np.ascontiguousarray(values), quality))
    return Trace(tuple(series))


@pytest.fixture(scope="session")
def labelled() -> Callable[[str], Labelled]:
    """The labelled trace of a name."""
    known: dict[str, Labelled] = {}

    def get(name: str) -> Labelled:
        if name not in known:
            truth = json.loads((FOLDER / f"{name}.truth.json").read_text(encoding="utf-8"))
            known[name] = Labelled(name, read_labelled(FOLDER / f"{name}.csv.gz"), truth)
        return known[name]

    return get


@pytest.fixture(scope="session")
def reviewed(labelled: Callable[[str], Labelled]) -> Callable[[str], FigureSet]:
    """The figures of the labelled trace of a name, as it is; taken once."""
    return functools.cache(lambda name: analyse(labelled(name).trace))


@pytest.fixture(scope="session")
def made_up() -> Callable[..., Trace]:
    """`trace_of`, for tests that make their own samples."""
    return trace_of
