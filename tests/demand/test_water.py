"""Free convection in water against published cylinders, and the density of water."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.demand.water import (
    churchill_chu,
    density_span,
    outside_film,
    water_density,
)


def test_the_density_of_water_agrees_with_its_equation_of_state():
    # CoolProp 8.0 (IAPWS-95), 1 atm
    coolprop = pytest.importorskip("CoolProp.CoolProp")
    for temperature in (0.5, 2, 4, 6, 10, 20, 30, 40):
        known = coolprop.PropsSI("D", "T", 273.15 + temperature, "P", 101_325, "Water")
        assert water_density(temperature) == pytest.approx(known, rel=1e-5)


def test_water_is_heaviest_near_four_degrees():
    # 3.98 C, 999.97 kg/m3: handbooks
    assert max(range(200), key=lambda k: water_density(k / 20)) / 20 == pytest.approx(4, abs=0.05)
    assert water_density(3.98) == pytest.approx(999.97, abs=0.005)


def test_a_published_hot_pipe_is_met():
    # Cengel, 8 cm pipe of 70 C in a room of 20 C: Ra 1.869e6, Pr 0.7241, Nu 17.40
    assert churchill_chu(1.869e6, 0.7241) == pytest.approx(17.40, abs=0.01)
    # h = Nu k / D = 17.40 x 0.02699 / 0.08 = 5.869 W/m2K, x pi 0.08 m x 6 m x 50 K = 443 W
    h = churchill_chu(1.869e6, 0.7241) * 0.02699 / 0.08
    assert h * 3.14159 * 0.08 * 6 * 50 == pytest.approx(443, abs=1)


def test_the_general_library_prints_the_same():
    # library ht 1.2, docstring of Nu_horizontal_cylinder_Churchill_Chu: Pr 0.69, Gr 2.63e9
    assert churchill_chu(0.69 * 2.63e9, 0.69) == pytest.approx(139.13493970073597, rel=1e-12)


@pytest.mark.parametrize(
    ("water", "surface", "expected"),
    # own reference calculation with expansion coefficients, 33.4 mm pipe [W/m2K]
    [(10, 6, 252.5), (8, 4, 206.2), (5, 2, 127.8), (20, 15, 398.9), (28, 33, 511.8)],
)
def test_pipes_in_water_meet_the_reference(water, surface, expected):
    assert outside_film(0.0334, water, surface) == pytest.approx(expected, rel=0.01)


def test_two_temperatures_of_one_density_still_move_the_water():
    # 2 C and about 5.96 C have the same density; the film between them is heavier
    assert abs(water_density(2.0) - water_density(5.96)) < 2e-3
    assert density_span(5.96, 2.0) > 0.03
    assert outside_film(0.0334, 5.96, 2.0) > 60


@given(st.floats(0, 35), st.floats(-5, 40))
def test_the_film_is_never_worse_than_water_at_rest(water, surface):
    # 0.36 is the Nusselt number without any motion; k of water is 0.55 W/(m K) or more
    assert outside_film(0.0334, water, surface) > 0.36 * 0.55 / 0.0334
