"""The oil against ASTM D341, ISO 3448 and the definition of the bulk modulus."""

import math

import pytest

from gaugebench.simulate.oil import Oil

# Walther / ASTM D341 with the constant 0.7, worked out with 40-digit arithmetic beside the project.
D341 = [
    (Oil(46.0, 6.8), {0: 577.32, 20: 133.838, 50: 29.973, 60: 20.623, 80: 11.103}),
    (Oil(32.0, 5.4), {20: 86.278, 60: 15.186, 80: 8.533}),
]


@pytest.mark.parametrize(("oil", "table"), D341)
def test_viscosity_follows_astm_d341(oil: Oil, table: dict[float, float]) -> None:
    for celsius, nu in table.items():
        assert oil.viscosity(celsius) == pytest.approx(nu, rel=1e-4)
    assert oil.viscosity(40.0) == pytest.approx(oil.nu_40, rel=1e-9)
    assert oil.viscosity(100.0) == pytest.approx(oil.nu_100, rel=1e-9)


# ISO 3448: the grade's viscosity at 40 °C ± 10 %.
ISO_3448 = {32: (28.8, 35.2), 46: (41.4, 50.6), 68: (61.2, 74.8), 100: (90.0, 110.0)}


@pytest.mark.parametrize(("grade", "limits"), ISO_3448.items())
def test_grades_lie_inside_iso_3448(grade: int, limits: tuple[float, float]) -> None:
    assert limits[0] <= Oil.grade(grade).viscosity(40.0) <= limits[1]


def test_a_grade_that_there_is_not_is_refused() -> None:
    with pytest.raises(ValueError, match="VG 40 is not known"):
        Oil.grade(40)


def test_compressing_a_litre_to_350_bar_takes_25_ml() -> None:
    # ΔV = V·p/B, the definition of the bulk modulus; 1 L, 350 bar, 1.4 GPa: 25.0 mL.
    oil = Oil(stiffness_pa=1.4e9, air=0.0)
    assert 1e-3 * 350e5 / oil.stiffness(350e5) == pytest.approx(25.0e-6, rel=1e-9)


def test_air_softens_the_oil_at_low_pressure_and_hardly_at_high() -> None:
    # An adiabatic bubble: dV/V = −dp/(1.4 p). At 10 bar absolute 1 % of air (at 1 atm) still takes
    # 0.01·(1.01325/10)^(1/1.4) of the volume.
    oil, clean = Oil(air=0.01), Oil(air=0.0)
    share = 0.01 * (101325 / 10e5) ** (1 / 1.4)
    by_hand = 1 / (1 / clean.stiffness_pa + share / (1.4 * 10e5))
    assert oil.stiffness(10e5 - 101325) == pytest.approx(by_hand, rel=1e-9)
    assert oil.stiffness(5e5) < 0.4 * clean.stiffness(5e5)
    assert oil.stiffness(300e5) > 0.98 * clean.stiffness(300e5)
    assert math.isfinite(oil.stiffness(-5e5))
