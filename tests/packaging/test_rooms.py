"""The picture of the rooms is what the code says."""

from __future__ import annotations

from collections.abc import Callable
from types import ModuleType


def test_the_picture_of_the_rooms_is_up_to_date(script: Callable[[str], ModuleType]) -> None:
    rooms = script("draw_rooms")
    assert rooms.PICTURE.read_text(encoding="utf-8") == rooms.picture(rooms.arrows()), (
        "who imports whom has changed: run packaging/draw_rooms.py and commit the picture"
    )


def test_each_room_stands_above_all_that_it_imports(script: Callable[[str], ModuleType]) -> None:
    rooms = script("draw_rooms")
    imports = rooms.arrows()
    assert {"acquire", "store", "analyse", "desk", "gaugebench_drivers"} <= imports.keys()
    where = rooms.places(imports)
    for here, (_, y) in where.items():
        assert all(where[there][1] > y for there in imports[here] if there in where)


def test_an_arrow_is_pale_where_another_way_leads_there(
    script: Callable[[str], ModuleType],
) -> None:
    rooms = script("draw_rooms")
    some = {"a": frozenset("bc"), "b": frozenset("c"), "c": frozenset()}
    assert rooms.is_implied(some, "a", "c")
    assert not rooms.is_implied(some, "a", "b")
    assert rooms.floors(some) == [["c"], ["b"], ["a"]]
