"""Signals that follow their supply: with the supply measured, and bare bridges.

Check values are closed form: a ratiometric output is a share of its supply, a bridge's output is
its sensitivity times its excitation times the share of its range.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebench.errors import KitError
from gaugebench.model.channel import Channel, StreamSpec
from gaugebench.model.columns import condition
from gaugebench.model.conditioning import Chain, Wiring
from gaugebench.model.kit import SourceEntry, kit_from
from gaugebench.model.quality import Quality
from gaugebench.quantity import Dimension

BAR = 1e5
SUPPLY = Channel("V5", dimension=Dimension.VOLTAGE, raw_unit="V")


def pressure(**more: Any) -> Channel:
    chain = Chain(**{"range_low": 0.0, "range_high": 600 * BAR, **more})
    return Channel("P1", raw_unit="V", chain=chain)


def read(channel: Channel, raw: float, supply: float) -> tuple[float, Quality]:
    """One row of the channel and its supply."""
    spec = StreamSpec("kit", (channel, SUPPLY))
    values, quality = condition(spec, np.array([[raw, supply]]), np.zeros((1, 2), np.uint16))
    return float(values[0, 0]), Quality(int(quality[0, 0]))


RATIO = pressure(wiring=Wiring.RATIOMETRIC, supply="V5")


@given(st.floats(0.0, 1.0), st.floats(4.5, 5.5))
def test_a_value_does_not_depend_on_a_supply_that_the_signal_follows(
    share: float, supply: float
) -> None:
    # The signal is 10 % to 90 % of the supply over the range.
    value, quality = read(RATIO, (0.1 + 0.8 * share) * supply, supply)
    assert value == pytest.approx(share * 600 * BAR, abs=1.0)
    assert not quality & ~Quality.OVER_RANGE


def test_without_measuring_it_a_sagging_supply_is_a_wrong_pressure() -> None:
    plain = pressure(wiring=Wiring.RATIOMETRIC)
    # 2.4 V at 4.8 V is half the range; taken for a supply of 5 V it is 0.475 of it.
    assert read(plain, 2.4, 4.8)[0] == pytest.approx(285 * BAR)
    assert read(RATIO, 2.4, 4.8)[0] == pytest.approx(300 * BAR)


@pytest.mark.parametrize(
    ("supply", "is_fed"),
    [
        (4.5, True),
        (5.0, True),
        (5.5, True),
        (4.49, False),
        (5.51, False),
        (0.0, False),
        (-5.0, False),
        (np.nan, False),
        (np.inf, False),
    ],
)
def test_a_supply_that_is_missing_or_out_of_band_gives_no_number(
    supply: float, is_fed: bool
) -> None:
    value, quality = read(RATIO, 2.5, supply)
    assert np.isfinite(value) == is_fed
    assert (Quality.SUPPLY in quality) != is_fed


def test_a_broken_wire_is_told_with_a_good_supply() -> None:
    value, quality = read(RATIO, 0.1, 5.0)
    assert np.isnan(value)
    assert Quality.WIRE_OFF in quality
    value, quality = read(RATIO, np.nan, 5.0)
    assert np.isnan(value)
    assert quality is Quality.MISSING


def test_the_supply_is_taken_row_by_row_through_its_own_chain() -> None:
    # The converter sees the supply through a divider by two, in mV.
    divided = Channel("V5", dimension=Dimension.VOLTAGE, chain=Chain(raw_factor=2e-3))
    spec = StreamSpec("kit", (RATIO, divided, pressure(wiring=Wiring.RATIOMETRIC)))
    raw = np.array([[2.5, 2500.0, 2.5], [2.4, 2400.0, 2.5], [2.4, np.nan, 2.5]])
    before = raw.copy()
    values, quality = condition(spec, raw, np.zeros((3, 3), np.uint16))
    np.testing.assert_array_equal(raw, before)
    np.testing.assert_allclose(values[:, 0], [300 * BAR, 300 * BAR, np.nan])
    np.testing.assert_allclose(values[:, 1], [5.0, 4.8, np.nan])
    np.testing.assert_allclose(values[:, 2], 300 * BAR)
    assert quality.tolist() == [[0, 0, 0], [0, 0, 0], [Quality.SUPPLY, Quality.MISSING, 0]]


def test_a_stream_without_the_supply_it_names_has_no_numbers() -> None:
    values, quality = condition(
        StreamSpec("kit", (RATIO,)), np.array([[2.5]]), np.zeros((1, 1), np.uint16)
    )
    assert np.isnan(values[0, 0])
    assert quality[0, 0] == Quality.SUPPLY


BRIDGE: dict[str, Any] = {"wiring": Wiring.BRIDGE, "sensitivity": 2.0}


@pytest.mark.parametrize(
    ("excitation", "sensitivity", "millivolts", "bar"),
    [
        # sensitivity * excitation is the signal at full scale: 20 mV, 10 mV, 33 mV.
        (10.0, 2.0, 20.0, 600.0),
        (10.0, 2.0, 0.0, 0.0),
        (5.0, 2.0, 2.5, 150.0),
        (3.3, 10.0, 16.5, 300.0),
        (10.0, 2.0, -0.2, -6.0),
    ],
)
def test_a_bridge_with_a_stated_excitation(
    excitation: float, sensitivity: float, millivolts: float, bar: float
) -> None:
    bridge = pressure(wiring=Wiring.BRIDGE, excitation=excitation, sensitivity=sensitivity)
    value, quality = read(bridge, millivolts, 0.0)
    assert value == pytest.approx(bar * BAR, abs=1e-3)
    assert quality is Quality.GOOD


@given(st.floats(0.0, 0.99), st.floats(9.0, 11.0))
def test_a_bridge_with_a_measured_excitation_does_not_depend_on_it(
    share: float, supply: float
) -> None:
    bridge = pressure(**BRIDGE, excitation=10.0, supply="V5")
    value, quality = read(bridge, 2.0 * supply * share, supply)
    assert value == pytest.approx(share * 600 * BAR, abs=1.0)
    assert quality is Quality.GOOD


@pytest.mark.parametrize(
    ("millivolts", "supply", "expected"),
    [
        # 10 mV is full scale at 5 V. Levels of faults: common practice, no source.
        (-40.0, 5.0, Quality.WIRE_OFF),
        (-5.1, 5.0, Quality.WIRE_OFF),
        (-0.6, 5.0, Quality.SUSPECT),
        (10.4, 5.0, Quality.OVER_RANGE),
        (10.6, 5.0, Quality.SUSPECT),
        (15.1, 5.0, Quality.WIRE_OFF),
        (3300.0, 5.0, Quality.WIRE_OFF),
        (0.0, 0.0, Quality.SUPPLY),
        (5.0, np.nan, Quality.SUPPLY),
    ],
)
def test_broken_wires_of_a_bridge(millivolts: float, supply: float, expected: Quality) -> None:
    value, quality = read(pressure(**BRIDGE, supply="V5"), millivolts, supply)
    assert expected in quality
    assert np.isnan(value) == bool(expected & (Quality.WIRE_OFF | Quality.SUPPLY))


def test_what_a_chain_lacks_is_told() -> None:
    for lacking in ({"excitation": 5.0}, {"sensitivity": 2.0}):
        with pytest.raises(ValueError, match="bridge needs"):
            read(pressure(wiring=Wiring.BRIDGE, **lacking), 1.0, 5.0)
    with pytest.raises(ValueError, match="V5"):
        RATIO.chain.apply(np.zeros(1), np.zeros(1, np.uint16))


def source(*channels: dict[str, Any]) -> SourceEntry:
    return kit_from({"source": [{"driver": "x", "channel": list(channels)}]}).source[0]


VOLTS = {"input": "A7", "name": "5 V rail", "unit": "V"}
RANGE = {"range": ["0 bar", "600 bar"]}
FED = {"input": "A0", "signal": "0.5-4.5 V", "supply": "A7", **RANGE}
CELL = {"input": "B0", "signal": "mV/V", **RANGE}


def test_a_kit_names_the_supply_by_its_input() -> None:
    channels = source(FED, VOLTS).channels()
    assert channels[0].chain.supply == channels[1].name == "5 V rail"
    values, _ = condition(
        StreamSpec("kit", channels), np.array([[2.4, 4.8]]), np.zeros((1, 2), np.uint16)
    )
    assert values[0, 0] == pytest.approx(300 * BAR)


@pytest.mark.parametrize(("unit", "raw"), [("mV", 10.0), ("V", 0.01), ("µV", 10_000.0)])
def test_a_kit_describes_a_bridge(unit: str, raw: float) -> None:
    (channel,) = source(
        {**CELL, "unit": unit, "sensitivity_mv_v": 2, "excitation": "10 V"}
    ).channels()
    values, quality = channel.chain.apply(np.array([raw]), np.zeros(1, np.uint16))
    assert values[0] == pytest.approx(300 * BAR)
    assert quality[0] == 0
    assert channel.dimension is Dimension.PRESSURE


@pytest.mark.parametrize(
    ("channels", "said"),
    [
        ((FED,), "no input of this source"),
        ((FED, {"input": "A7", "unit": "bar"}), "not in V"),
        ((FED, {"input": "A7", "signal": "0-10 V", **RANGE}), "not in V"),
        ((FED, VOLTS, {**VOLTS, "input": "A8"}), "two channels"),
        (({**FED, "supply": "A0"},), "its own supply"),
        (({"input": "A0", "signal": "4-20 mA", "supply": "A7", **RANGE}, VOLTS), "no supply"),
        (({"input": "A0", "unit": "bar", "supply": "A7"}, VOLTS), "no supply"),
        (({**CELL, "excitation": "5 V"},), "sensitivity_mv_v"),
        (({**CELL, "sensitivity_mv_v": 2},), "excitation"),
        (({**CELL, "sensitivity_mv_v": 2, "excitation": "-5 V"},), "above 0 V"),
        (({**CELL, "sensitivity_mv_v": 2, "excitation": "5 bar"},), "bar"),
        (({**CELL, "sensitivity_mv_v": 0, "excitation": "5 V"},), "greater than 0"),
        (({**FED, "sensitivity_mv_v": 2}, VOLTS), "mV/V alone"),
    ],
)
def test_what_does_not_fit_is_refused(channels: tuple[dict[str, Any], ...], said: str) -> None:
    with pytest.raises(KitError, match=said):
        source(*channels)
