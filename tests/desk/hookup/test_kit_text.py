"""A kit written as TOML is read back as the same kit, by the standard library's reader."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebench.desk.hookup.draft import Draft, Place
from gaugebench.desk.hookup.toml import as_data, as_toml, save_kit
from gaugebench.errors import KitError
from gaugebench.model.kit import kit_from, read_kit
from gaugebench.simulate.visit import practice_kit


def test_a_kit_survives_the_file(tmp_path: Path) -> None:
    kit = practice_kit()
    save_kit(kit, tmp_path / "kit.toml")
    assert read_kit(tmp_path / "kit.toml") == kit


def test_a_folder_that_is_not_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(KitError, match="choose another folder"):
        save_kit(practice_kit(), tmp_path / "none" / "kit.toml")


@given(
    text=st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=30),
    number=st.floats(-1e9, 1e9, allow_nan=False),
    flag=st.booleans(),
    words=st.lists(st.text(st.characters(exclude_categories=["Cs"]), max_size=8), max_size=4),
)
def test_any_value_is_read_back_as_it_was(
    text: str, number: float, flag: bool, words: list[str]
) -> None:
    options = {"a": text, "b": number, "c": flag, "d": words}
    data = {
        "schema": 1,
        "name": text,
        "source": [{"driver": "x", "name": text, "options": options, "channel": [{"input": text}]}],
    }
    assert tomllib.loads(as_toml(data)) == data


def test_a_draft_grows_into_a_kit() -> None:
    draft = Draft()
    draft.check()
    assert draft.fault
    draft.add_source("text-lines", {"port": "COM9"}, 5)
    assert draft.fault == ""
    assert draft.kit is not None
    roles = [c.role for c in draft.kit.source[0].channel]
    assert roles == ["pilot", "pump1.main", "pump1.control", "pump2.main", "pump2.control"]
    draft.add_source("text-lines", {"port": "COM10"}, 2)
    assert [s["name"] for s in draft.data["source"]] == ["source 1", "source 2"]
    assert len(draft.places) == 7


def test_a_slip_is_named_and_mended() -> None:
    draft = Draft()
    draft.add_source("text-lines", {"port": "COM9"}, 1)
    draft.set(Place(0, 0), "range", ["0", "600 bar"])
    assert "unit" in draft.fault
    draft.set(Place(0, 0), "range", ["0 bar", "600 bar"])
    assert draft.kit is not None
    draft.set(Place(0, 0), "range", "")
    assert "range" not in draft.channel(Place(0, 0))


def test_channels_change_places() -> None:
    draft = Draft()
    draft.add_source("text-lines", {"port": "COM9"}, 3)
    assert draft.move(Place(0, 0), 1) == Place(0, 1)
    assert [c["input"] for c in draft.data["source"][0]["channel"]] == ["P2", "P1", "P3"]
    draft.remove_source(0)
    assert draft.places == []


def test_what_is_at_its_default_is_not_written() -> None:
    kit = kit_from(
        {"schema": 1, "source": [{"driver": "d", "channel": [{"input": "a", "unit": "bar"}]}]}
    )
    assert as_data(kit)["source"] == (
        {"driver": "d", "channel": ({"input": "a", "unit": "bar"},)},
    ) or as_data(kit)["source"] == [{"driver": "d", "channel": [{"input": "a", "unit": "bar"}]}]
