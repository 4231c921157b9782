"""How wide the columns of a table are: as wished, but none narrower than its longest word."""

from __future__ import annotations

from collections.abc import Sequence


def fitted(shares: Sequence[float], least: Sequence[float], width: float) -> list[float]:
    """Widths that add up to `width`, in proportion to `shares` as far as `least` allows.

    least: the narrowest that each may be, in what `width` is in. What a column lacks is taken from
    those with room to spare, each by its share of that room. Where there is too little room in all,
    the widths are as wished, and words are cut.
    """
    wished = [width * share / sum(shares) for share in shares]
    if sum(least) > width:
        return wished
    wanting = sum(max(0.0, need - wish) for need, wish in zip(least, wished, strict=True))
    spare = sum(max(0.0, wish - need) for need, wish in zip(least, wished, strict=True))
    given = wanting / spare if spare else 0.0
    return [
        need if wish < need else wish - given * (wish - need)
        for need, wish in zip(least, wished, strict=True)
    ]
