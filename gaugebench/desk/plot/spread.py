"""Labels placed so that none covers another. No Qt."""

from __future__ import annotations

from collections.abc import Sequence


def apart(wanted: Sequence[float], size: float, low: float, high: float) -> list[float]:
    """Centres of labels of one size, in [low, high], as near as may be to where they are wanted.

    Where they do not all fit they are spread evenly and overlap.
    """
    count = len(wanted)
    if not count:
        return []
    size = min(size, (high - low) / count)
    order = sorted(range(count), key=lambda i: wanted[i])
    placed = [min(max(wanted[i], low + size / 2), high - size / 2) for i in order]
    for i in range(1, count):
        placed[i] = max(placed[i], placed[i - 1] + size)
    placed[-1] = min(placed[-1], high - size / 2)
    for i in range(count - 2, -1, -1):
        placed[i] = min(placed[i], placed[i + 1] - size)
    result = [0.0] * count
    for position, index in enumerate(order):
        result[index] = placed[position]
    return result


def rows(starts: Sequence[float], widths: Sequence[float], most: int, gap: float) -> list[int]:
    """The row of each label that begins at `starts` and is `widths` long; −1 where none is free.

    Labels are given in order of importance; the first comes to the top row.
    """
    taken: list[list[tuple[float, float]]] = [[] for _ in range(most)]
    result = []
    for start, width in zip(starts, widths, strict=True):
        end = start + width + gap
        row = next(
            (r for r, used in enumerate(taken) if all(end <= a or start >= b for a, b in used)), -1
        )
        if row >= 0:
            taken[row].append((start, end))
        result.append(row)
    return result
