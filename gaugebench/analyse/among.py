"""What a hold shows only beside the other holds of its trace: that two valves were at work.

A main relief guards every function, so a function that is held clearly lower than another is held
by a relief of its own. One hold cannot show that, and two levels may also be one screw before and
after a turn. So the levels must come and go within a time in which no screw is turned, with the
same pumps at work, and lie further apart than a boost stage or an override can put them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from gaugebench.model.figures import (
    Figure,
    FigureSet,
    LimitedBy,
    Limiter,
    LoadingFigures,
)
from gaugebench.model.saying import Saying, fixed

NO_SCREW_S = 20.0
"""From one hold to the next: engine down, lever locked, lock nut, screw and back take longer."""
APART = 1.12
"""A boost stage adds 5 to 10 % (common practice, no source)."""
ALIKE = 0.02


@dataclass(frozen=True, slots=True)
class _Hold:
    loading: int
    level: float


def among(found: FigureSet) -> FigureSet:
    """The same figures, with `port relief` for holds that the main relief cannot have made.

    Idempotent; marks and numbers stay as they are.
    """
    loadings = list(found.loadings)
    for run in _runs(found.loadings):
        for pump in found.loadings[run[0]].pumps:
            holds = [h for n in run if (h := _over_relief(found.loadings[n], n, pump))]
            for hold, higher in _lower(holds):
                loadings[hold.loading] = _by_port(loadings[hold.loading], pump, hold, higher)
    return replace(found, loadings=tuple(loadings))


def _runs(loadings: Sequence[LoadingFigures]) -> list[list[int]]:
    """Numbers of loadings that follow each other at once with the same pumps."""
    runs: list[list[int]] = []
    for number, one in enumerate(loadings):
        before = loadings[number - 1] if number else None
        if (
            before is not None
            and one.start_s - before.end_s < NO_SCREW_S
            and set(one.pumps) == set(before.pumps)
        ):
            runs[-1].append(number)
        else:
            runs.append([number])
    return runs


def _over_relief(loading: LoadingFigures, number: int, pump: int) -> _Hold | None:
    one = loading.pumps[pump]
    if one.limited_by.limiter not in (Limiter.RELIEF, Limiter.PORT_RELIEF):
        return None
    return _Hold(number, one.settled.value) if isinstance(one.settled, Figure) else None


def _lower(holds: Sequence[_Hold]) -> list[tuple[_Hold, _Hold]]:
    """Holds whose level came again after a clearly higher one, or stands between two such; each
    with the higher one."""
    pairs = []
    for at, hold in enumerate(holds):
        higher = [k for k, h in enumerate(holds) if h.level >= APART * hold.level]
        again = [
            k for k, h in enumerate(holds)
            if k != at and abs(h.level / hold.level - 1) < ALIKE
        ]  # fmt: skip
        between = [h for h in higher if any(min(at, k) < h < max(at, k) for k in again)]
        before = [h for h in higher if h < at]
        after = [h for h in higher if h > at]
        returns = [
            h for h in before
            if any(abs(holds[k].level / holds[h].level - 1) < ALIKE for k in after)
        ]  # fmt: skip
        if between or returns:
            pairs.append((hold, holds[(between or returns)[0]]))
    return pairs


def _by_port(loading: LoadingFigures, pump: int, hold: _Hold, higher: _Hold) -> LoadingFigures:
    said = LimitedBy(
        Limiter.PORT_RELIEF,
        Saying(
            "Oil goes over a relief at {level} MPa while the same pump reaches {higher} MPa "
            "moments before or after: the main relief is shut, and the function has a port relief "
            "that opens earlier.",
            level=fixed(hold.level / 1e6, 2),
            higher=fixed(higher.level / 1e6, 2),
        ),
    )
    pumps = {**loading.pumps, pump: replace(loading.pumps[pump], limited_by=said)}
    return replace(loading, pumps=pumps)
