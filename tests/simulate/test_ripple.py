"""Piston ripple: how often and how much, by the number of pistons.

Shares: sum of half sines, 1 − cos(90°/N) for an odd number and 1 − cos(180°/N) for an even one, as
lecture notes on axial-piston pumps give them; recomputed here.
"""

import numpy as np
import pytest

from gaugebench.simulate.moves import Move, Script
from gaugebench.simulate.perform import Performance
from gaugebench.simulate.plant import Engine, Plant, Pump
from gaugebench.simulate.ripple import Ripple, flow_shape, line_impedance

SHARES = {5: 4.9, 6: 13.4, 7: 2.5, 8: 7.6, 9: 1.5, 10: 4.9, 11: 1.0, 12: 3.4, 13: 0.73}


@pytest.mark.parametrize(("pistons", "percent"), SHARES.items())
def test_the_size_of_the_flow_ripple_by_number_of_pistons(pistons: int, percent: float) -> None:
    assert 100 * Ripple.peak_to_peak_share(pistons) == pytest.approx(percent, abs=0.05)


@pytest.mark.parametrize("pistons", [5, 6, 7, 8, 9, 10, 11])
def test_the_order_of_the_flow_ripple_by_number_of_pistons(pistons: int) -> None:
    # Odd: 2·N·n/60, even: N·n/60.
    spectrum = np.abs(np.fft.rfft(flow_shape(pistons)))
    spectrum[0] = 0.0
    assert int(spectrum.argmax()) == (pistons if pistons % 2 == 0 else 2 * pistons)


@pytest.mark.parametrize(
    ("pistons", "rpm", "hertz"), [(9, 2000, 300.0), (9, 1800, 270.0), (7, 2200, 256.6667)]
)
def test_the_pressure_shows_the_piston_pass_frequency(
    pistons: int, rpm: float, hertz: float
) -> None:
    # f = N·n/60; with compression the measured ripple shows it even for odd numbers.
    pump = Pump(pistons=pistons, leak=0.0)
    plant = Plant(pumps=(pump, pump), engine=Engine(high_idle=rpm, droop=1e-3, inertia=200.0))
    script = Script(
        2.0, (Move("bucket", 0.0, 5.0),), plant=plant.with_function("bucket", load=2e5, start=0.1)
    )
    performance = Performance(script)
    performance.go_to(1.5)
    rate = 4000
    turning = performance.machine.reading().rpm
    main = np.array([performance.at(1.5 + k / rate).main[0] for k in range(2000)])
    slow = np.convolve(main, np.ones(40) / 40, mode="same")
    part = (main - slow)[100:-100] * np.hanning(1800)
    spectrum, frequencies = np.abs(np.fft.rfft(part)), np.fft.rfftfreq(1800, 1 / rate)
    found = frequencies[spectrum.argmax()]
    assert turning == pytest.approx(rpm, rel=0.01)
    assert found == pytest.approx(hertz, abs=1.5 * rate / 1800 + 0.01 * hertz)


def test_the_ripple_is_some_bar_at_full_flow_and_grows_with_pressure() -> None:
    """A few bar peak to peak at the pump's own port (common practice, no source)."""
    ripple = Ripple(9, 1.4e9)
    angles = np.linspace(0, 2 * np.pi, 3600)
    high = np.array([ripple.at(a, 209.0, 3.7e-3, 330e5) for a in angles])
    low = np.array([ripple.at(a, 209.0, 3.7e-3, 30e5) for a in angles])
    assert abs(high.mean()) < 1e-3 * np.ptp(high)
    assert 3e4 < np.ptp(low) < np.ptp(high) < 12e5


def test_a_line_resists_by_its_wave_speed() -> None:
    # ρ·c/A with c = √(B/ρ) = 1268.54 m/s at 1.4 GPa and 870 kg/m³ (closed form).
    area = np.pi * 0.025**2 / 4
    assert line_impedance(0.025, 870.0, 1.4e9) == pytest.approx(870 * 1268.54 / area, rel=1e-5)
