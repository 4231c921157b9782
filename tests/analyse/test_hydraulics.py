"""Closed forms against pint, textbook examples and a sum over pistons."""

import math
from typing import Any

import numpy as np
import pint
import pytest

from gaugebench.analyse import hydraulics

UNITS: pint.UnitRegistry[Any] = pint.UnitRegistry(cache_folder=None)


def inside(value: float, unit: str, base: str) -> float:
    """A value in the unit used inside, by pint."""
    return float(UNITS.Quantity(value, unit).to(base).magnitude)


@pytest.mark.parametrize(
    ("bar", "litres", "kilowatts"), [(210, 60, 21.0), (250, 120, 50.0), (350, 100, 58.3333)]
)
def test_power(bar: float, litres: float, kilowatts: float) -> None:
    # p Q / 600 in bar, L/min and kW: exact
    flow = inside(litres, "liter/minute", "meter**3/second")
    assert hydraulics.power(bar * 1e5, flow) == pytest.approx(kilowatts * 1e3, abs=0.1)
    by_pint = (UNITS.Quantity(bar, "bar") * UNITS.Quantity(litres, "liter/minute")).to("watt")
    assert hydraulics.power(bar * 1e5, flow) == pytest.approx(float(by_pint.magnitude), rel=1e-12)


@pytest.mark.parametrize(
    ("psi", "gallons", "horsepower"),
    [
        # engineeringtoolbox.com, “Hydraulic pumps: horsepower”: 1500 psi at 20 gpm
        (1500, 20, 17.5),
        (1500, 10, 8.75),
        # A. Esposito, Fluid Power with Applications, heat over a relief valve (from memory)
        (1000, 20, 11.67),
    ],
)
def test_power_in_us_units(psi: float, gallons: float, horsepower: float) -> None:
    flow = inside(gallons, "gallon/minute", "meter**3/second")
    got = hydraulics.power(inside(psi, "psi", "pascal"), flow)
    assert got / inside(1, "horsepower", "watt") == pytest.approx(horsepower, abs=0.01)


def test_pump() -> None:
    # 1.5 in³ a turn, 1800 rpm, 3000 psi, 90 % volumetric, 85 % mechanical: the textbook formulas
    displacement = inside(1.5, "inch**3", "meter**3")
    pressure = inside(3000, "psi", "pascal")
    flow = hydraulics.pump_flow(displacement, 1800, 0.90)
    assert flow / inside(1, "gallon/minute", "meter**3/second") == pytest.approx(10.5195, abs=1e-3)
    shaft = hydraulics.torque(pressure, displacement) / 0.85
    assert shaft / inside(1, "foot*pound_force", "newton*meter") == pytest.approx(70.215, abs=1e-3)
    power = hydraulics.shaft_power(shaft, 1800) / inside(1, "horsepower", "watt")
    # 24.068 hp with the books' rounded 1714 for 33000 · 12 / 231, which is 0.017 % off
    assert power * (33000 * 12 / 231) / 1714 == pytest.approx(24.068, abs=1e-3)
    # metric: 100 cm³, 2000 rpm, 95 %
    assert hydraulics.pump_flow(100e-6, 2000, 0.95) * 60e3 == pytest.approx(190, rel=1e-12)


def test_torque() -> None:
    # Δp · D / 2π: 250 bar on 100 cm³, 280 bar on 63 cm³
    assert hydraulics.torque(250e5, 100e-6) == pytest.approx(397.88736, abs=1e-4)
    assert hydraulics.torque(280e5, 63e-6) == pytest.approx(280.74932, abs=1e-4)


def test_cylinder() -> None:
    # 80 L/min into 100/60 mm × 0.8 m: 4.71239 s out, 3.01593 s in; exact
    flow = 80 / 60e3
    out = hydraulics.cylinder_volume(0.1, 0.06, 0.8)
    back = hydraulics.cylinder_volume(0.1, 0.06, 0.8, fills_rod_side=True)
    assert out / flow == pytest.approx(4.71239, abs=1e-5)
    assert back / flow == pytest.approx(3.01593, abs=1e-5)
    area = hydraulics.cylinder_area(inside(4, "inch", "meter"), 0.0, fills_rod_side=False)
    speed = inside(20, "gallon/minute", "meter**3/second") / area
    assert speed / inside(1, "foot", "meter") == pytest.approx(0.51062, abs=1e-4)
    assert hydraulics.cylinder_volume(0.1, 0.06, 0.8, 2) == 2 * out
    with pytest.raises(ValueError, match="thinner"):
        hydraulics.cylinder_area(0.06, 0.1, fills_rod_side=True)


def test_orifice() -> None:
    # Cd 0.61, 2 mm, 870 kg/m³; H. E. Merritt, Hydraulic Control Systems, 1967 (from memory)
    for bar, litres in ((10, 5.512979), (20, 7.796530), (80, 15.593059), (100, 17.433570)):
        got = hydraulics.orifice_flow(bar * 1e5, 0.002) * 60e3
        assert got == pytest.approx(litres, abs=1e-5)
    twice = hydraulics.orifice_flow(80e5, 0.002) / hydraulics.orifice_flow(20e5, 0.002)
    assert twice == pytest.approx(2.0, rel=1e-12)


def test_rise_of_trapped_oil() -> None:
    # B Q / V: 1.4 GPa, 10 L/min into 1 L, 60 L/min into 5 L
    assert hydraulics.rise_rate(10 / 60e3, 1e-3) == pytest.approx(2333.333e5, rel=1e-6)
    assert hydraulics.rise_rate(60 / 60e3, 5e-3) == pytest.approx(2800e5, rel=1e-12)


@pytest.mark.parametrize(
    ("pistons", "rpm", "hertz"),
    [(9, 2000, 300.0), (9, 1800, 270.0), (7, 2200, 256.6667), (10, 2000, 333.3333)],
)
def test_piston_frequency(pistons: int, rpm: float, hertz: float) -> None:
    assert hydraulics.piston_hz(pistons, rpm) == pytest.approx(hertz, abs=1e-4)


@pytest.mark.parametrize(
    ("pistons", "percent"),
    [
        # The kinematic flow ripple that textbooks on piston pumps print, % of peak flow (from
        # memory), and the sum of half sines below
        (5, 4.9),
        (6, 13.4),
        (7, 2.5),
        (8, 7.6),
        (9, 1.5),
        (10, 4.9),
        (11, 1.0),
        (12, 3.4),
        (13, 0.73),
    ],
)
def test_flow_ripple(pistons: int, percent: float) -> None:
    turns = np.linspace(0, 2 * math.pi, 36_001)[:-1]
    each = [np.maximum(np.sin(turns + 2 * math.pi * k / pistons), 0) for k in range(pistons)]
    flow = np.sum(each, axis=0)
    summed = float(np.ptp(flow) / np.max(flow))
    assert hydraulics.flow_ripple_share(pistons) == pytest.approx(summed, abs=1e-5)
    assert 100 * hydraulics.flow_ripple_share(pistons) == pytest.approx(percent, abs=0.05)
    strongest = int(np.argmax(np.abs(np.fft.rfft(flow - flow.mean()))))  # periods in one turn
    assert hydraulics.flow_ripple_hz(pistons, 60.0) == strongest
