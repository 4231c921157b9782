"""The practice machine behind a feed, where it is one that is worked by hand. No Qt."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gaugebench.desk.live.feed import Feed

if TYPE_CHECKING:
    from gaugebench.simulate.source import MachineSource

ENDS = {
    "boom": ("lower", "raise"),
    "arm": ("stretch", "pull in"),
    "bucket": ("dump", "curl"),
    "swing": ("to the left", "to the right"),
    "travel left": ("back", "ahead"),
    "travel right": ("back", "ahead"),
}
"""What each lever does to its left (−1) and to its right (+1)."""
HELD = ("swing", "travel left", "travel right")
"""Drives that are stalled only when they are held fast."""


def machine_of(feed: Feed | None) -> MachineSource | None:
    """The machine that a feed's levers move; None where the feed is no such practice."""
    kit = feed.kit if feed is not None and feed.simulated else None
    if kit is None:
        return None
    is_by_hand = any(
        s.driver == "practice" and s.options.get("script") == "by hand" for s in kit.source
    )
    if not is_by_hand:
        return None
    from gaugebench.simulate.source import DRIVER  # the simulation, once it is needed

    return DRIVER.by_hand
