"""Draw packaging/pictures/rooms.svg: the rooms of the program and who imports whom.

    python packaging/draw_rooms.py

The arrows are read from the code. Run it after a change of who imports whom and commit what it
draws; a test reads the code again and compares.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path

import grimp

PICTURE = Path(__file__).resolve().parent / "pictures" / "rooms.svg"
DRIVERS = "gaugebench_drivers"
GROUND = ("model", "quantity", "errors")
"""What every other room may import, and nearly every one does: its arrows are left out."""
WIDTH, BOX, TALL, STEP, MARGIN = 960, 112, 34, 84, 24

STYLE = """\
<style>
rect { fill: #f4f6f8; stroke: #33475b } text { fill: #1b2733 } path { fill: none }
.way { stroke: #33475b; stroke-width: 1.4 } .pale { stroke: #b9c4cf; stroke-width: 1 }
</style>
<defs><marker id="head" viewBox="0 0 8 8" refX="4" refY="4" markerWidth="8" markerHeight="8"
 orient="auto"><path d="M0 0L8 4L0 8z" style="fill:#33475b"/></marker></defs>"""

Arrows = Mapping[str, frozenset[str]]


def arrows() -> Arrows:
    """Each room, and the rooms that some file of it imports."""
    graph = grimp.build_graph("gaugebench", DRIVERS, cache_dir=None)
    found: dict[str, set[str]] = {}
    for module in graph.modules:
        for imported in graph.find_modules_directly_imported_by(module):
            here, there = room_of(module), room_of(imported)
            if here and there and here != there:
                found.setdefault(here, set()).add(there)
                found.setdefault(there, set())
    return {room: frozenset(there) for room, there in sorted(found.items())}


def room_of(module: str) -> str:
    """The folder or file of the package that a module lies in; the package's face is no room."""
    first, _, rest = module.partition(".")
    return first if first == DRIVERS else rest.partition(".")[0]


def floors(imports: Arrows) -> list[list[str]]:
    """The rooms without the ground, from the lowest floor up: each just below who imports it."""
    height: dict[str, int] = {}

    def of(room: str) -> int:
        if room not in height:
            below = [of(there) for there in imports[room] if there not in GROUND]
            height[room] = 1 + max(below, default=-1)
        return height[room]

    rooms = sorted((room for room in imports if room not in GROUND), key=of, reverse=True)
    for room in rooms:  # from the top down, so that arrows are short
        above = [height[here] for here in rooms if room in imports[here]]
        height[room] = min(above, default=height[room] + 1) - 1
    top = max(height.values())
    return [sorted(r for r in rooms if height[r] == level) for level in range(top + 1)]


def places(imports: Arrows) -> dict[str, tuple[float, float]]:
    """The middle of each room's box, px; on its floor each stands over what it imports."""
    found: dict[str, tuple[float, float]] = {}
    levels = floors(imports)
    for level, rooms in enumerate(levels):

        def wish(room: str) -> float:
            below = [found[there][0] for there in imports[room] if there in found]
            return sum(below) / len(below) if below else WIDTH

        y = MARGIN + TALL / 2 + (len(levels) - 1 - level) * STEP
        ordered = sorted(rooms, key=lambda room: (wish(room), room))
        gap = WIDTH / len(ordered)
        for number, room in enumerate(ordered):
            found[room] = (gap * (number + 0.5), y)
    return found


def is_implied(imports: Arrows, here: str, there: str) -> bool:
    """Whether another way leads from `here` to `there`: then its arrow is drawn pale."""
    seen: set[str] = set()
    waiting = [room for room in imports[here] if room != there]
    while waiting:
        room = waiting.pop()
        if there in imports[room]:
            return True
        waiting += imports[room] - seen
        seen |= imports[room]
    return False


def arrow(start: tuple[float, float], end: tuple[float, float], *, pale: bool) -> str:
    """A curve from the foot of one box to the head of another."""
    x1, y1, x2, y2 = start[0], start[1] + TALL / 2, end[0], end[1] - TALL / 2 - 6
    middle = (y1 + y2) / 2
    style = 'class="pale"' if pale else 'class="way" marker-end="url(#head)"'
    bend = f"{x1:.0f} {middle:.0f} {x2:.0f} {middle:.0f} {x2:.0f} {y2:.0f}"
    return f'<path {style} d="M{x1:.0f} {y1:.0f}C{bend}"/>'


def box(middle: tuple[float, float], name: str, width: float = BOX) -> str:
    """A room."""
    x, y = middle
    shown = "drivers" if name == DRIVERS else name
    return (
        f'<rect x="{x - width / 2:.0f}" y="{y - TALL / 2:.0f}" width="{width:.0f}" height="{TALL}"'
        f' rx="4"/><text x="{x:.0f}" y="{y + 5:.0f}">{shown}</text>'
    )


def picture(imports: Arrows) -> str:
    """The whole drawing."""
    where = places(imports)
    ways = [
        (is_implied(imports, here, there), here, there)
        for here in where
        for there in sorted(imports[here])
        if there in where
    ]
    ways.sort(reverse=True)  # the pale ones lie below
    ground_y = MARGIN + TALL / 2 + len(floors(imports)) * STEP
    height = ground_y + TALL / 2 + MARGIN
    size = f'width="{WIDTH}" height="{height:.0f}"'
    drawn = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height:.0f}" {size}',
        ' font-family="sans-serif" font-size="15" text-anchor="middle">',
        STYLE,
        f'<rect x="0" y="0" {size} style="fill:#fff;stroke:none"/>',
        *(arrow(where[here], where[there], pale=pale) for pale, here, there in ways),
        *(box(middle, room) for room, middle in where.items()),
        box((WIDTH / 2, ground_y), " · ".join(GROUND), WIDTH - 2 * MARGIN),
        "</svg>",
    ]
    return "\n".join(drawn) + "\n"


def main() -> int:
    """Draw it."""
    PICTURE.write_text(picture(arrows()), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
