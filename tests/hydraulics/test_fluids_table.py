"""The table of fluids against a property library, an equipment table and a handbook."""

import pytest

from siteplan.hydraulics.fluids import antifreeze_share, fluid_names, fluid_state, freezing_point

LIBRARY = {
    "water": "Water",
    "propylene glycol 20 %": "INCOMP::APG[0.20]",
    "propylene glycol 25 %": "INCOMP::APG[0.25]",
    "propylene glycol 30 %": "INCOMP::APG[0.30]",
    "methanol 15 %": "INCOMP::MMA[0.122]",  # 15 vol-% are 12.2 wt-%: Lange's Handbook, Table 5.13
    "ethanol 20 %": "INCOMP::MEA[0.164]",  # 20.2 vol-%, 16.4 wt-%
    "ethanol 25 %": "INCOMP::MEA[0.203]",  # 24.8 vol-%
    "ethanol 30 %": "INCOMP::MEA[0.242]",  # 29.5 vol-%
    "ethylene glycol 20 %": "INCOMP::AEG[0.20]",
    "ethylene glycol 25 %": "INCOMP::AEG[0.25]",
    "ethylene glycol 30 %": "INCOMP::AEG[0.30]",
}


@pytest.fixture(scope="module")
def library():
    """Gives a property of a fluid; takes 3 s to import, which no other process of a run needs."""
    from CoolProp.CoolProp import PropsSI

    return PropsSI


@pytest.mark.parametrize("temperature", [2.5, 7.0, 13.3, 22.0])
@pytest.mark.parametrize("fluid", LIBRARY)
def test_between_its_rows_the_table_keeps_near_the_library(library, fluid, temperature):
    state = fluid_state(fluid, temperature)
    kelvin = temperature + 273.15
    for key, value in (
        ("D", state.density),
        ("C", state.heat_capacity),
        ("V", state.viscosity),
        ("L", state.conductivity),
    ):
        expected = library(key, "T", kelvin, "P", 3e5, LIBRARY[fluid])
        assert value == pytest.approx(expected, rel=6e-3), key


@pytest.mark.parametrize(
    ("share", "temperature", "density", "heat_capacity"),
    # an equipment manual's table of propylene glycol by volume: kg/m3 and kJ/(kg K)
    [
        (20, 0, 1025.8, 3.93),
        (20, 10, 1022.7, 3.95),
        (25, 0, 1031.0, 3.86),
        (25, 20, 1023.7, 3.91),
        (30, 0, 1036.2, 3.79),
        (30, 5, 1034.5, 3.81),
        (30, 10, 1032.6, 3.82),
        (30, 20, 1028.4, 3.85),
    ],
)
def test_propylene_glycol_meets_a_published_table(share, temperature, density, heat_capacity):
    state = fluid_state(f"propylene glycol {share} %", temperature)
    assert state.density == pytest.approx(density, abs=0.3)
    assert state.heat_capacity / 1000 == pytest.approx(heat_capacity, abs=0.006)


@pytest.mark.parametrize(
    ("fluid", "celsius"),
    # Lange's Handbook of Chemistry, 15th edition, Table 5.13
    [("methanol 10 %", -5.0), ("methanol 20 %", -11.7), ("propylene glycol 20 %", -6.7),
     ("propylene glycol 25 %", -8.9), ("propylene glycol 30 %", -12.8), ("ethanol 14 %", -5.0),
     ("ethanol 20 %", -7.5)],
)  # fmt: skip
def test_freezing_points_are_those_of_the_handbook(fluid, celsius):
    assert freezing_point(fluid) == celsius


@pytest.mark.parametrize("fluid", [fluid for fluid in LIBRARY if fluid != "water"])
def test_no_mixture_is_said_to_freeze_lower_than_the_library_has_it(library, fluid):
    # 0.1 K for a handbook's rounding; mixtures after Melinder, and of glycols after ASHRAE
    kelvin = library("T_FREEZE", "T", 283.15, "P", 3e5, LIBRARY[fluid])
    assert freezing_point(fluid) >= kelvin - 273.15 - 0.1


def test_a_fluid_below_freezing_is_refused():
    with pytest.raises(ValueError, match=r"water at -2\.0 C: known from 0\.0 to 40\.0 C"):
        fluid_state("water", -2.0)


def test_the_thickest_mixture_is_three_tenths_of_glycol():
    # common practice, no source: up to 25 %, in the coldest ground 30 %; beyond, pumping is dear
    assert max(antifreeze_share(name) for name in fluid_names()) == 0.3


@pytest.mark.parametrize(
    ("share", "celsius", "viscosity"),
    # own evaluation of CoolProp 8.0.0, mixtures by volume after Melinder [mPa s]; no published
    # table of viscosities was found
    [(20, 0.0, 4.078), (25, 0.0, 5.4185), (25, -5.0, 6.8423), (30, 0.0, 7.2323)],
)
def test_glycol_is_as_thick_as_the_library_says(share, celsius, viscosity):
    state = fluid_state(f"propylene glycol {share} %", celsius)
    assert state.viscosity * 1e3 == pytest.approx(viscosity, abs=5e-4)
