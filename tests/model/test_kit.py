from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from gaugebench.errors import KitError
from gaugebench.model.conditioning import Wiring
from gaugebench.model.kit import kit_from, read_kit
from gaugebench.quantity import Dimension, Reference

KIT = """
schema = 1
name = "Two-pump kit"

[[source]]
driver = "text-lines"
name = "board"
options = { port = "/dev/ttyUSB0" }

[[source.channel]]
input = "A0"
role = "pump1.main"
signal = "0.5-4.5 V"
range = ["0 bar", "600 bar"]
proof = "900 bar"
serial = "T-101"
accuracy_pct_fs = 0.5
resolution_bits = 12

[[source.channel]]
input = "rpm"
role = "engine.speed"
unit = "rpm"

[[source.channel]]
input = "spring"
unit = "psia"
"""


def edited(tmp_path: Path, old: str, new: str) -> Path:
    assert old in KIT
    path = tmp_path / "kit.toml"
    path.write_text(KIT.replace(old, new), encoding="utf-8")
    return path


def test_a_kit_becomes_channels(tmp_path: Path) -> None:
    kit = read_kit(edited(tmp_path, "schema = 1", "schema = 1"))
    main, speed, spring = (entry.to_channel() for entry in kit.source[0].channel)
    assert main.chain.wiring is Wiring.RATIOMETRIC
    assert (main.chain.range_low, main.chain.range_high) == (0.0, 600e5)
    assert main.transducer.proof_pa == 900e5
    assert main.reference is Reference.GAUGE
    # 600 bar over 4096 steps is 0.146484 bar (JCGM 100 F.2.2.1 takes its uncertainty from this).
    assert main.step == pytest.approx(0.146484e5, rel=1e-5)
    assert (speed.dimension, speed.reference) == (Dimension.SPEED, None)
    assert (spring.role, spring.reference) == (None, Reference.ABSOLUTE)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('range = ["0 bar", "600 bar"]', "range = [0, 600]", "range"),
        ('range = ["0 bar", "600 bar"]', 'range = ["0", "600 bar"]', "needs a number and a unit"),
        ('range = ["0 bar", "600 bar"]', "", "needs its range"),
        ("pump1.main", "pump1.mian", "not a role"),
        ('role = "engine.speed"', 'role = "pump1.main"', "A1|rpm|given twice|pressure"),
        ("accuracy_pct_fs", "acuracy_pct_fs", "acuracy_pct_fs"),
        ("schema = 1", "schema = 99", "schema"),
        ("schema = 1", "schema = = 1", "not TOML"),
        ('unit = "rpm"', 'unit = "bar"', "speed"),
        ('unit = "psia"', 'unit = "bananas"', "banana"),
    ],
)
def test_what_is_wrong_is_named(tmp_path: Path, old: str, new: str, says: str) -> None:
    with pytest.raises(KitError, match=says) as caught:
        read_kit(edited(tmp_path, old, new))
    assert "\n" not in str(caught.value)
    assert "kit.toml" in str(caught.value)


def test_a_missing_file_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(KitError, match="cannot be read"):
        read_kit(tmp_path / "none.toml")


def test_a_file_that_is_not_text(tmp_path: Path) -> None:
    path = tmp_path / "kit.toml"
    path.write_bytes(b"\xff\xfe\x00\x80")
    with pytest.raises(KitError, match="UTF-8"):
        read_kit(path)


def test_a_kit_can_be_written_back() -> None:
    kit = kit_from(
        {"source": [{"driver": "text-lines", "channel": [{"input": "a", "unit": "bar"}]}]}
    )
    again = kit_from(kit.model_dump(mode="json", by_alias=True, exclude_none=True))
    assert again == kit


def test_counts_are_scaled_before_the_wiring() -> None:
    # 12 bit over 5 V: half scale is 2.5 V, the middle of 0.5-4.5 V, so half of the range.
    entry = {
        "input": "a",
        "signal": "0.5-4.5 V",
        "scale": 5 / 4096,
        "range": ["0 MPa", "60 MPa"],
    }
    kit = kit_from({"source": [{"driver": "x", "channel": [entry]}]})
    channel = kit.source[0].channel[0].to_channel()
    values, _ = channel.chain.apply(np.array([2048.0]), np.zeros(1, dtype=np.uint16))
    assert values[0] == pytest.approx(30e6)


def test_a_calibration_is_stated_in_the_units_of_its_certificate() -> None:
    entry = {
        "input": "A0",
        "unit": "bar",
        "calibration": {"unit": "bar", "coefficients": [0.2, 1.0013, -2.1e-6]},
    }
    kit = kit_from({"schema": 1, "source": [{"driver": "x", "channel": [entry]}]})
    chain = kit.source[0].channel[0].to_channel().chain
    values, _ = chain.apply(np.array([300.0]), np.zeros(1, dtype=np.uint16))
    assert values[0] == pytest.approx((0.2 + 1.0013 * 300 - 2.1e-6 * 300**2) * 1e5)


@pytest.mark.parametrize("unit", ["rpm", "°F", "furlong"])
def test_a_calibration_in_an_unsuitable_unit_is_refused(unit: str) -> None:
    entry = {"input": "A0", "unit": "bar", "calibration": {"unit": unit, "coefficients": [0, 1]}}
    with pytest.raises(KitError, match=unit):
        kit_from({"schema": 1, "source": [{"driver": "x", "channel": [entry]}]})
