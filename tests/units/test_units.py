"""Quantities: reading with their unit, formatting, rounding."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.units import lengths as units
from siteplan.units.bulk import parse_mass, parse_volume
from siteplan.units.heat import parse_conductivity, parse_diffusivity, parse_temperature
from siteplan.units.lengths import (
    format_bearing,
    parse_bearing,
    parse_flow,
    parse_length,
    parse_power,
)
from siteplan.units.pressures import parse_pressure
from siteplan.units.written import UnitError


@cache
def pint_units():  # type: ignore[no-untyped-def]
    """Units of a library that reads its own table of them, where a test asks for it."""
    import pint

    return pint.UnitRegistry()


@pytest.mark.parametrize(
    ("ours", "unit", "si"),
    [
        (units.FOOT, "foot", "m"),
        (units.US_SURVEY_FOOT, "survey_foot", "m"),
        (units.ACRE, "43560 foot**2", "m**2"),
        (units.GALLON, "gallon", "m**3"),
        (units.BTU_PER_HOUR, "Btu_it / hour", "W"),
    ],
)
def test_factors_agree_with_the_pint_library(ours: float, unit: str, si: str) -> None:
    theirs = pint_units()(unit).to(si).magnitude
    assert ours == pytest.approx(theirs, rel=1e-9)


def test_survey_foot_differs_by_two_parts_in_a_million() -> None:
    # 85 FR 62698: 1200/3937 m against 0.3048 m; over E = 1,583,292 ft that is 3.2 ft
    difference_ft = 1_583_292 * (units.US_SURVEY_FOOT / units.FOOT - 1)
    assert difference_ft == pytest.approx(3.17, abs=0.01)


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("12 ft 6 in", 12.5 * 0.3048),
        ("12'6\"", 12.5 * 0.3048),
        ("1,100 ft", 1100 * 0.3048),
        ("6.1 m", 6.1),
        ("6,100 mm", 6.1),
        ("2e1 m", 20.0),
        # feet and inches as drawings of the trade have them; common practice, no source
        ("12'-6\"", 12.5 * 0.3048),
        ("12'-6 1/2\"", (12 + 6.5 / 12) * 0.3048),
        ("12'-6-1/2\"", (12 + 6.5 / 12) * 0.3048),
        ("12’ 6”", 12.5 * 0.3048),
        ("12' 6''", 12.5 * 0.3048),
        ("12ft6in", 12.5 * 0.3048),
        ("12 ft. 6 in.", 12.5 * 0.3048),
        ("12 ft, 6 in", 12.5 * 0.3048),
        ("-12' 6\"", -12.5 * 0.3048),
        ("3/4 in", 0.75 * 0.0254),
        ("12 1/2", 12.5 * 0.3048),
        (10, 3.048),
        (1e-05, 3.048e-6),
        ("10", 3.048),
    ],
)
def test_lengths_are_read_as_people_write_them(text: str | float, metres: float) -> None:
    assert parse_length(text, "ft") == pytest.approx(metres, rel=1e-12)


@pytest.mark.parametrize("bad", ["", "ten feet", "10 furlong", True, None, [1], "nan", "1e999 m"])
def test_what_is_no_length_is_refused_with_what_to_write(bad: object) -> None:
    with pytest.raises(UnitError, match="a length such as 10, '10 ft'"):
        parse_length(bad, "ft")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("bad", "why"),
    [
        ("12,5 m", "a comma that does not separate thousands"),
        ("1,5", "a comma that does not separate thousands"),
        ("1,1000 ft", "a comma that does not separate thousands"),
        ("12-6", "no unit behind 12"),
        ("12'6", "no unit behind 6"),
        ("12 6", "no unit behind 12"),
        ("10 ft -2 ft", "has its units out of order"),
        ("5 ft 3 ft", "has its units out of order"),
        ("3 in 4 ft", "has its units out of order"),
        ("12.5.6", "is not a length"),
        ("5'-", "is not a length"),
        ("1/0 ft", "is not a length"),
    ],
)
def test_what_can_be_read_in_two_ways_is_refused(bad: str, why: str) -> None:
    with pytest.raises(UnitError, match=why):
        parse_length(bad, "ft")


@pytest.mark.parametrize(
    "text",
    ["36 MBH", "36 kBtu/h", "36,000 Btu/hr", "36,000 BTUH", "36000 BTU", "36 kBTU", "3 tons"],
)
def test_capacities_are_read_as_the_trade_writes_them(text: str) -> None:
    # a ton of refrigeration is 12,000 Btu an hour
    theirs = pint_units()("36000 Btu_it / hour").to("W").magnitude
    assert parse_power(text) == pytest.approx(theirs, rel=1e-9)


@pytest.mark.parametrize(
    "parse", [parse_temperature, parse_conductivity, parse_pressure, parse_diffusivity]
)
def test_a_decimal_comma_is_refused_in_every_quantity(parse: Callable[[str], float]) -> None:
    units = {
        parse_temperature: "C",
        parse_conductivity: "W/m.K",
        parse_pressure: "bar",
        parse_diffusivity: "m2/day",
    }
    assert parse(f"1,200 {units[parse]}") == pytest.approx(parse(f"1200 {units[parse]}"))
    with pytest.raises(UnitError, match="a comma that does not separate thousands"):
        parse(f"1,2 {units[parse]}")


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("N 45-30-15 E", 45 + 30 / 60 + 15 / 3600),
        ("S45°30’15”E", 180 - (45 + 30 / 60 + 15 / 3600)),
        ("N 45 30 W", 360 - 45.5),
    ],
)
def test_bearings_are_read_as_surveyors_write_them(text: str, degrees: float) -> None:
    assert parse_bearing(text) == pytest.approx(degrees)


@pytest.mark.parametrize("bad", ["N 45°75' E", "N 45 75 E", "N 45' E", "N 4530 E"])
def test_minutes_are_less_than_sixty_and_told_from_degrees(bad: str) -> None:
    with pytest.raises(UnitError, match="not a direction"):
        parse_bearing(bad)


def test_flow_and_power_need_their_unit() -> None:
    with pytest.raises(UnitError, match="no unit"):
        parse_flow(12)
    with pytest.raises(UnitError, match="no unit"):
        parse_power("4")


def test_volumes_and_masses_need_their_unit_and_take_those_of_both_systems() -> None:
    assert parse_volume("1 gal") == pytest.approx(231 * 0.0254**3)  # 231 cubic inches
    assert parse_volume("1 ft3") == pytest.approx(1728 / 231 * parse_volume("1 gal"))
    assert parse_mass("200 lb") == pytest.approx(90.718474)
    with pytest.raises(UnitError, match="no unit; write a volume"):
        parse_volume(20)
    with pytest.raises(UnitError, match="unit 'gal'; write a mass"):
        parse_mass("20 gal")


def test_a_ton_is_twelve_thousand_btu_per_hour() -> None:
    assert parse_power("1 ton") == pytest.approx(parse_power("12,000 Btu/h"), rel=1e-9)


@given(st.floats(0, 1e4), st.integers(0, 3))
def test_rounding_goes_the_wrong_way_by_a_few_micrometres_at_most(
    value: float, decimals: int
) -> None:
    assert units.round_to(value, decimals, "down") <= value + 4.001e-6
    assert units.round_to(value, decimals, "up") >= value - 4.001e-6


@pytest.mark.parametrize(
    ("dx", "dy", "bearing"),
    [
        (0, 1, "N 00°00'00\" E"),
        (-1, -1, "S 45°00'00\" W"),
        # atan(1.7320508 / 1.0000000) is 59.9999996 degrees: 60, not 59°59'60"
        (1.7320508, 1.0000000, "N 60°00'00\" E"),
    ],
)
def test_bearings_are_quadrants_to_the_second(dx: float, dy: float, bearing: str) -> None:
    assert format_bearing(dx, dy) == bearing


@pytest.mark.parametrize("written", ["3.2 m3/h", "3.2 m³/h"])
def test_a_power_may_be_raised(written: str) -> None:
    assert parse_flow(written) == pytest.approx(3.2 / 3600)
