"""Loads of a site file: months, COP by temperature, and what the loop carries beside."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from siteplan.demand.ground_loads import pulses_of
from siteplan.errors import InputError
from siteplan.heat_balance import directions, ground_share
from siteplan.site.energy import Energy
from siteplan.site.ground_classes import ground_classes
from siteplan.site.readers.site_file import read_site

GALLON = 0.003785411784
GROUND = """
[ground]
temperature = "10 C"
conductivity = "2.0 W/m.K"
diffusivity = "1e-6 m2/s"
"""
HOUSE = """
[loads]
heating = "10 kW"
heating_hours = 2000
cop = 4.0
"""


@pytest.fixture
def energy_of(lot_text: str, write_site: Callable[..., Path]) -> Callable[[str], Energy]:
    def read(tables: str) -> Energy:
        text = lot_text.replace('capacity = "2 ton"\n', "")
        energy = read_site(write_site(f"{text}{tables}")).exchanger.energy
        assert energy is not None
        return energy

    return read


def months(*energies: float) -> str:
    return "[" + ", ".join(f'"{one} kWh"' for one in energies) + "]"


def test_twelve_months_give_the_year_and_its_hardest_month(energy_of):
    twelve = months(4000, 3500, 2500, 1500, 500, 0, 0, 0, 500, 1500, 2500, 3500)
    energy = energy_of(
        f'[loads]\nheating = "10 kW"\nheating_months = {twelve}\ncop = 4.0\n{GROUND}'
    )
    # 20,000 kWh over 10 kW are 2,000 h; 4,000 of 20,000 in January
    assert energy.loads.heating_hours == pytest.approx(2000)
    assert energy.loads.heating_month == pytest.approx(0.2)
    # 4,000 kWh x 3/4 over 730 h
    assert pulses_of(energy, "heating").month_w == pytest.approx(4000e3 * 0.75 / 730)


@pytest.mark.parametrize("nothing", ["0", '"0"', '"0 ton"'])
def test_a_load_of_nothing_is_none_and_needs_no_unit_and_no_hours(energy_of, nothing):
    loads = energy_of(HOUSE + f"cooling = {nothing}\n" + GROUND).loads
    assert loads == energy_of(HOUSE + GROUND).loads
    assert loads.cooling_w == 0


def test_a_cop_by_entering_temperature_is_read_between_its_rows(energy_of):
    tables = HOUSE.replace("cop = 4.0", 'cop = { "0 C" = 3.0, "10 C" = 4.0 }')
    energy = energy_of(f'{tables}{GROUND}[fluid]\ncoldest = "0 C"\n')
    # at the design hour 0 C: 2/3 from the ground; over the year half way to the ground's 10 C: 3.5
    assert ground_share(energy, "heating") == pytest.approx(2 / 3)
    assert ground_share(energy, "heating", year=True) == pytest.approx(2.5 / 3.5)


def test_hot_water_is_people_litres_and_rise(energy_of):
    water = '[loads.hot_water]\npeople = 4\neach = "50 L/day"\nrise = "40 K"\ncop = 3\n'
    side = energy_of(HOUSE + water + GROUND).loads.sides[0]
    # 200 L a day x 4.186 kJ/(kg K) x 40 K = 33.5 MJ a day = 9.30 kWh, 387.6 W on average
    assert side.power_w == pytest.approx(387.6, abs=0.1)
    assert side.year_wh == pytest.approx(387.6 * 8760, rel=1e-3)
    assert side.ground_share == pytest.approx(2 / 3)


def test_a_radiant_floor_is_a_heating_load_of_its_own_cop(energy_of):
    floor = '[loads.radiant_floor]\nheating = "6 kW"\nhours = 1500\ncop = 5\n'
    energy = energy_of(HOUSE + floor + GROUND)
    # 10 x 3/4 + 6 x 4/5 = 12.3 kW
    assert pulses_of(energy, "heating").peak_w == pytest.approx(12_300)
    # 10 x 3/4 x 2,000 + 6 x 4/5 x 1,500 = 22,200 kWh
    assert pulses_of(energy, "heating").year_w == pytest.approx(22_200e3 / 8760)


def test_snow_is_melted_on_the_area_of_a_feature(energy_of):
    walk = (
        '\n[[feature]]\nid = "walk"\nkind = "driveway"\narea = [[2, 2], [12, 2], [12, 5], [2, 5]]\n'
    )
    melt = '[loads.snow_melt]\nof = "walk"\nflux = "400 W/m2"\nhours = 120\n'
    melt += '[fluid]\ncoldest = "45 F"\n'
    energy = energy_of(walk + HOUSE + melt + GROUND)
    side = energy.loads.sides[0]
    # 10 x 3 units; the lot of this test is drawn in feet: 300 sq ft = 2.787 m2 x 10
    assert side.power_w == pytest.approx(400 * 30 * 0.3048**2, rel=1e-9)
    assert side.ground_share == 1.0
    assert energy.loads.winter_w == pytest.approx(10_000 + side.power_w)


def test_cold_fluid_melts_no_snow_without_a_heat_pump(energy_of):
    walk = (
        '\n[[feature]]\nid = "walk"\nkind = "driveway"\narea = [[2, 2], [12, 2], [12, 5], [2, 5]]\n'
    )
    melt = '[loads.snow_melt]\nof = "walk"\nflux = "400 W/m2"\nhours = 120\n'
    with pytest.raises(InputError, match=r"is fed by the loop's own fluid, of 32\.0 °F"):
        energy_of(walk + HOUSE + melt + GROUND)


def test_a_lot_may_melt_snow_and_nothing_else(energy_of):
    walk = (
        '\n[[feature]]\nid = "walk"\nkind = "driveway"\narea = [[2, 2], [12, 2], [12, 5], [2, 5]]\n'
    )
    melt = '[loads.snow_melt]\nof = "walk"\nflux = "100 Btu/h.ft2"\nhours = 120\ncop = 4\n'
    energy = energy_of(walk + melt + GROUND)
    assert directions(energy) == ("heating",)


def test_a_named_soil_gives_the_low_conductivity_and_the_middle_diffusivity(energy_of):
    ground = '[ground]\ntemperature = "10 C"\nsoil = "limestone"\n'
    earth = energy_of(HOUSE + ground).earth
    # ASHRAE Handbook, HVAC Applications, thermal properties of rocks (from memory): limestone
    # 1.4 to 2.2 Btu/h.ft.F, 0.90 to 1.40 ft2/day
    assert earth.conductivity == pytest.approx(1.4 * 1.730735, rel=1e-5)
    assert earth.diffusivity_m2s == pytest.approx(1.15 * 0.3048**2 / 86_400)
    assert earth.basis == (
        "limestone, low by common practice, in the range of ASHRAE Handbook, Fundamentals"
    )


def test_what_is_stated_comes_before_the_named_soil(energy_of):
    earth = energy_of(HOUSE + GROUND + 'soil = "granite"\n').earth
    assert earth.conductivity == 2.0


def test_a_thermal_response_test_is_named_as_the_basis(energy_of):
    earth = energy_of(HOUSE + GROUND + 'test = "J. Doe, 2026-05-02"\n').earth
    assert earth.basis == "thermal response test, J. Doe, 2026-05-02"


def test_every_soil_runs_from_low_to_high():
    for one in ground_classes().values():
        for low, high in filter(
            None, (one.published.span, one.published.design, one.conductivities)
        ):
            assert 0 < low < high
        assert 0 < one.diffusivities[0] < one.diffusivities[1]


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("heating_hours = 2000", f"heating_months = {months(*range(11))}", "has 11 energies"),
        ("heating_hours = 2000", 'heating_months = ["4"]', "an energy such as"),
        (
            "heating_hours = 2000",
            f"heating_hours = 5\nheating_months = {months(*range(12))}",
            "heating_hours: is of no use with heating_months",
        ),
        ("cop = 4.0", 'cop = { "0 C" = 3.0 }', "fewer than two temperatures"),
        ("cop = 4.0", 'cop = { "0" = 3.0, "9 C" = 4 }', r"write a temperature|a temperature such"),
        ("[ground]", '[loads.hot_water]\nrise = "40 K"\n[ground]', "people: is missing"),
        (
            "[ground]",
            '[loads.snow_melt]\nof = "lawn"\nflux = "400 W/m2"\nhours = 9\n[ground]',
            "'lawn' is no paved feature of this site that has an area",
        ),
        (
            "[ground]",
            '[loads.snow_melt]\nof = "lawn"\nflux = "-4 W/m2"\nhours = 9\n[ground]',
            "flux: '-4 W/m2' is not above zero",
        ),
        ('conductivity = "2.0 W/m.K"', 'soil = "limstone"', "did you mean .?limestone"),
        (
            'conductivity = "2.0 W/m.K"',
            'soil = "basalt"\ntest = "J. Doe"',
            "test: names a thermal response test without its result",
        ),
        ('heating = "10 kW"', "heating = 0", "has neither heating nor cooling"),
        ('heating = "10 kW"', "heating = 7", "7 has no unit"),
        (
            "[ground]",
            f"cooling = 0\ncooling_months = {months(*range(12))}\n[ground]",
            "cooling_months: is of no use with cooling = 0",
        ),
        ("[ground]", '[fluid]\nmixture = "propylene glycol 35 %"\n[ground]', "is not known"),
        # the lot is in feet, so limits and examples are in its units: 40 C is 104 F, 5e-6 m2/s
        # are 5e-6 x 86,400 / 0.3048^2 = 4.65 ft2/day
        ("[ground]", '[fluid]\nwarmest = "50 C"\n[ground]', "Give 23 °F to 104 °F"),
        ('diffusivity = "1e-6 m2/s"', 'diffusivity = "9 ft2/day"', "to 4.65 ft²/day"),
        ("cop = 4.0", 'eer = { "60" = 3.0, "90 F" = 4 }', '"60 F" = 21, "90 F" = 14'),
    ],
)
def test_what_cannot_be_is_refused_by_name(energy_of, old, new, message):
    with pytest.raises(InputError, match=message):
        energy_of((HOUSE + GROUND).replace(old, new))


def test_a_trench_is_dug_in_loose_ground_and_its_year_is_taken_as_usual_there():
    # soils by their names; the others are rock: common knowledge of the trade, no source
    rock = {"granite", "limestone", "sandstone", "wet shale", "dry shale", "basalt"}
    rock |= {"gneiss", "mica schist", "marble"}
    assert {one.name for one in ground_classes().values() if not one.loose} == rock
