"""The fitting record as one line of a kit, and the particulars of a channel in the draft."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QSettings

from gaugebench.desk.hookup.draft import Draft, Place
from gaugebench.desk.hookup.fitting import Fitting
from gaugebench.desk.hookup.shelf import Shelf
from gaugebench.desk.memory import Memory
from gaugebench.model.kit import read_kit
from gaugebench.simulate.visit import practice_kit


@pytest.mark.parametrize(
    "fitting",
    [
        Fitting("M16×2 test point", "2 mm", "1.5 m", "630 bar"),
        Fitting("M16×2; swivel", "", "", ""),
        Fitting("", "2 mm", "1500 mm", ""),
        Fitting(),
    ],
)
def test_a_fitting_is_read_back_from_its_line(fitting: Fitting) -> None:
    assert Fitting.of(fitting.text) == fitting
    assert fitting.fault == ""


def test_what_another_hand_wrote_is_kept() -> None:
    assert Fitting.of("straight into the block").adapter == "straight into the block"


@pytest.mark.parametrize(
    ("fitting", "said"),
    [
        (Fitting("x", bore="2"), "unit"),
        (Fitting("x", length="1.5 bar"), "bar"),
        (Fitting("x", rating="-5 bar"), "above zero"),
    ],
)
def test_a_slip_in_a_fitting_is_said(fitting: Fitting, said: str) -> None:
    assert said in fitting.fault
    assert fitting.rating_pa is None or "bar" in fitting.rating


def test_a_fitting_is_stated_with_an_adapter_and_of_a_hose_both_sizes() -> None:
    assert not Fitting("", "2 mm", "1 m").is_stated
    assert not Fitting("a", "2 mm").is_stated
    assert Fitting("a", "2 mm", "1 m").is_stated
    assert Fitting("a").is_stated
    assert Fitting("a", rating="630 bar").rating_pa == pytest.approx(63e6)


def test_two_channels_change_ports_and_keep_their_transducers() -> None:
    draft = Draft.of(practice_kit())
    one, other = draft.find_role("pump1.control"), draft.find_role("pump2.control")
    assert one is not None
    assert other is not None
    draft.set(one, "fitting", "hose A")
    serials = [draft.channel(p)["serial"] for p in (one, other)]
    draft.exchange(one, other)
    assert draft.kit is not None
    assert draft.find_role("pump1.control") == other
    assert [draft.channel(p)["serial"] for p in (one, other)] == serials
    assert draft.channel(one)["fitting"] == "hose A"
    assert draft.channel(one)["role"] == "pump2.control"


def test_a_kit_is_simulated_while_it_has_a_source_that_is() -> None:
    draft = Draft()
    draft.add_source("practice", {}, 1, simulated=True)
    assert draft.data["simulated"] is True
    draft.remove_source(0)
    draft.add_source("text-lines", {"port": "COM9"}, 1)
    assert draft.kit is not None
    assert not draft.kit.simulated


def test_the_most_that_a_port_sees_stays_with_the_port() -> None:
    draft = Draft.of(practice_kit())
    one, other = Place(0, 2), Place(0, 4)
    draft.set_most(one, "40 bar")
    draft.exchange(one, other)
    assert draft.stated(other, None).port_pa == pytest.approx(4e6)
    assert draft.stated(one, None).port_pa is None
    draft.set_most(one, "forty")
    assert draft.stated(one, None).port_pa is None


def test_a_kit_is_saved_without_being_asked_where_and_never_over_another(tmp_path: Path) -> None:
    memory = Memory(QSettings(str(tmp_path / "m.ini"), QSettings.Format.IniFormat))
    memory.keep("folder", str(tmp_path / "records"))
    shelf, kit = Shelf(memory), practice_kit()
    first = shelf.save(kit, None)
    second = shelf.save(kit, None)
    assert first.name == "practice kit.toml"
    assert second.name == "practice kit (2).toml"
    assert shelf.save(kit, first) == first
    assert read_kit(first) == kit
    assert shelf.kits == [first, second]
    first.unlink()
    assert shelf.kits == [second]
