"""A kit that was opened can be edited like one that is put together here."""

from __future__ import annotations

from typing import Any

import pytest

from gaugebench.desk.hookup.draft import Draft
from gaugebench.model.kit import Kit, kit_from

KIT: dict[str, Any] = {
    "source": [
        {
            "driver": "text-lines",
            "options": {"port": "/dev/ttyUSB0"},
            "channel": [
                {"input": "P1", "unit": "bar", "role": "pilot"},
                {"input": "P2", "unit": "bar", "role": "pump1.main"},
            ],
        }
    ]
}


@pytest.fixture
def kit() -> Kit:
    return kit_from(KIT)


def test_a_source_without_a_name_has_the_usual_one(kit: Kit) -> None:
    draft = Draft.of(kit)
    assert draft.data["source"][0]["name"] == kit.source[0].name
    assert draft.kit == kit


def test_sources_are_added_to_an_opened_kit_and_taken_away(kit: Kit) -> None:
    draft = Draft.of(kit)
    draft.add_source("text-lines", {"port": "/dev/ttyUSB1"}, 2)
    assert draft.kit is not None
    assert [s.name for s in draft.kit.source] == ["kit", "source 1"]
    assert [c.role for c in draft.kit.source[1].channel] == ["pump1.control", "pump2.main"]
    draft.remove_source(0)
    assert draft.kit is not None
    assert [s.name for s in draft.kit.source] == ["source 1"]
    assert len(kit.source) == 1  # the kit that was opened is as it was


def test_channels_of_an_opened_kit_move_and_change_ports(kit: Kit) -> None:
    draft = Draft.of(kit)
    first, second = draft.places
    draft.move(second, -1)
    assert draft.kit is not None
    assert [c.input for c in draft.kit.source[0].channel] == ["P2", "P1"]
    draft.exchange(first, second)
    assert [c.role for c in draft.kit.source[0].channel] == ["pilot", "pump1.main"]
