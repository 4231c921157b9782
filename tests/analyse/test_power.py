"""Power, heat and fuel against worked examples and JCGM 100."""

import math

import numpy as np
import pytest

from gaugebench.analyse import power
from gaugebench.analyse.power import Share
from gaugebench.model.figures import Absent, Figure

PRESSURE = Figure(250e5, "Pa", 2 * 1.25e5)
SPEED = Figure(1800.0, "rpm", 2 * 18.0)
EXACT = Share(1.0, 1.0, 1.0)


def test_power_is_pressure_times_flow() -> None:
    # 250 bar on 80 cm³ at 1500 rpm: 120 L/min, 50 kW. With 0.5 % of pressure and 1 % of speed the
    # relative uncertainties add in quadrature: JCGM 100:2008 equation (12)
    found = power.pump_power(
        PRESSURE, Figure(1500.0, "rpm", 2 * 15.0), 80e-6, EXACT, volumetric=EXACT
    )
    assert isinstance(found, Figure)
    assert found.value == pytest.approx(50e3, rel=1e-12)
    assert found.expanded == pytest.approx(2 * 50e3 * math.hypot(0.005, 0.01), rel=1e-9)


def test_power_is_an_estimate_and_says_so() -> None:
    found = power.pump_power(PRESSURE, SPEED, 100e-6, Share(0.8, 0.7, 0.9), drive_ratio=1.1)
    assert isinstance(found, Figure)
    assert found.value == pytest.approx(250e5 * 100e-6 * 1800 * 1.1 / 60 * 0.8 * 0.93)
    assert found.cautions == (power.ESTIMATE,)
    assert found.expanded is not None
    # the stroke's rectangular ± 0.1 on 0.8 is the larger part
    assert found.parts["stroke"] / found.value == pytest.approx(0.1 / 0.8 / math.sqrt(3))
    assert found.expanded > 2 * found.parts["stroke"]


@pytest.mark.parametrize("missing", ["pressure", "speed", "displacement"])
def test_power_that_cannot_be_had(missing: str) -> None:
    gone = Absent("there is no such channel")
    found = power.pump_power(
        gone if missing == "pressure" else PRESSURE,
        gone if missing == "speed" else SPEED,
        None if missing == "displacement" else 100e-6,
    )
    assert isinstance(found, Absent)
    assert missing in found.reason


def test_share_has_sense() -> None:
    with pytest.raises(ValueError, match="bounds"):
        Share(0.5, 0.6, 0.9)


def test_heat_over_relief() -> None:
    # 300 bar at 200 L/min is 100 kW: 5 s of it 500 kJ
    times = np.arange(501) / 100
    pressures = np.full(501, 300e5)
    assert power.relief_heat(times, pressures, 200 / 60e3) == pytest.approx(500e3, rel=1e-9)
    ramp = np.linspace(0, 300e5, 501)
    assert power.relief_heat(times, ramp, 200 / 60e3) == pytest.approx(250e3, rel=1e-9)
    pressures[100:110] = np.nan
    assert power.relief_heat(times, pressures, 200 / 60e3) == pytest.approx(500e3, rel=1e-9)
    assert power.relief_heat(times[:1], pressures[:1], 1.0) == 0.0


def test_fuel() -> None:
    # By hand: 50 kW at 80 % is 62.5 kW; at 210 g/kWh 13.125 kg/h; at 840 kg/m³ 15.625 L/h
    found = power.fuel_for(50e3, 210, drive_efficiency=0.8, density=840, price_per_litre=1.6)
    assert found.litres_per_hour == pytest.approx(15.625, rel=1e-12)
    assert found.cost_rate is not None
    assert found.cost_rate * 3600 == pytest.approx(25.0, rel=1e-12)
    assert power.fuel_for(50e3, 210).cost_rate is None
    with pytest.raises(ValueError, match="efficiency"):
        power.fuel_for(50e3, 210, drive_efficiency=0.0)
