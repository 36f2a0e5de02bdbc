"""Reading and wording of temperatures, conductivities and the like.

Inside the package temperatures are in degrees Celsius, differences in kelvin, everything else SI.
"""

from __future__ import annotations

from typing import Final

from siteplan.units.lengths import BTU_PER_HOUR, FOOT
from siteplan.units.model import UnitSystem
from siteplan.units.written import split_quantity

FAHRENHEIT: Final = 5 / 9
"""A degree Fahrenheit [K]."""
BTU_PER_HOUR_FOOT_F: Final = BTU_PER_HOUR / FOOT / FAHRENHEIT
"""Btu/(h ft F) [W/(m K)]."""
DAY: Final = 86_400.0

CONDUCTIVITIES: Final = {
    "w/m.k": 1.0,
    "w/mk": 1.0,
    "w/(m.k)": 1.0,
    "btu/h.ft.f": BTU_PER_HOUR_FOOT_F,
    "btu/(h.ft.f)": BTU_PER_HOUR_FOOT_F,
    "btu/hr.ft.f": BTU_PER_HOUR_FOOT_F,
    "btu/(hr.ft.f)": BTU_PER_HOUR_FOOT_F,
}
DIFFUSIVITIES: Final = {
    "m2/s": 1.0,
    "mm2/s": 1e-6,
    "m2/day": 1.0 / DAY,
    **dict.fromkeys(("ft2/day", "sq.ft/day"), FOOT**2 / DAY),
}
DIFFERENCES: Final = {"k": 1.0, "c": 1.0, "f": FAHRENHEIT}
ENERGIES: Final = {
    "wh": 1.0,
    "kwh": 1e3,
    "mwh": 1e6,
    "gj": 1e9 / 3600,
    "mmbtu": 1e6 * BTU_PER_HOUR,
    "million.btu": 1e6 * BTU_PER_HOUR,
}
BTU_PER_POUND: Final = 2326.0
"""British thermal unit (International Table) a pound, exact by definition [J/kg]."""
BTU_PER_POUND_F: Final = 4186.8
"""The same a pound and degree, exact by definition [J/(kg K)]."""
FREEZING_INDICES: Final = {"f.day": FAHRENHEIT, "f.days": FAHRENHEIT, "c.day": 1.0, "c.days": 1.0,
                           "k.day": 1.0, "k.days": 1.0}  # fmt: skip
DENSITIES: Final = {"lb/ft3": 0.45359237 / FOOT**3, "kg/m3": 1.0}
SPEEDS: Final = {"m/s": 1.0, "km/h": 1 / 3.6, "mph": 0.44704, "kn": 1852 / 3600, "ft/s": FOOT}
FLUXES: Final = {"w/m2": 1.0, "btu/h.ft2": BTU_PER_HOUR / FOOT**2}
RESISTANCE: Final = 1 / BTU_PER_HOUR_FOOT_F
"""h ft F/Btu [m K/W]."""


def parse_temperature(value: str | float) -> float:
    """Temperature in degrees Celsius of ``"52 F"`` or ``"11 C"``; the unit must be written.

    Raises
    ------
    UnitError
        Not a temperature, or no unit.

    Examples
    --------
    >>> parse_temperature("50 F"), parse_temperature("-1.5 C")
    (10.0, -1.5)
    """
    number, unit = split_quantity(
        value, {"f": 1.0, "c": 1.0}, "a temperature such as '52 F' or '11 C'"
    )
    return (number - 32.0) * FAHRENHEIT if unit == "f" else number


def parse_difference(value: str | float) -> float:
    """Temperature difference in kelvin of ``"6 F"`` or ``"3 K"``; the unit must be written.

    Raises
    ------
    UnitError
        Not a temperature difference, or no unit.

    Examples
    --------
    >>> parse_difference("9 F"), parse_difference("3 K")
    (5.0, 3.0)
    """
    number, unit = split_quantity(
        value, DIFFERENCES, "a temperature difference such as '6 F' or '3 K'"
    )
    return number * DIFFERENCES[unit]


def parse_conductivity(value: str | float) -> float:
    """Thermal conductivity in W/(m K) of ``"1.2 Btu/h.ft.F"`` or ``"2.0 W/m.K"``.

    Raises
    ------
    UnitError
        Not a conductivity, or no unit.

    Examples
    --------
    >>> round(parse_conductivity("1 Btu/h.ft.F"), 4)
    1.7307
    """
    expected = "a conductivity such as '1.2 Btu/h.ft.F' or '2.0 W/m.K'"
    number, unit = split_quantity(value, CONDUCTIVITIES, expected)
    return number * CONDUCTIVITIES[unit]


def parse_diffusivity(value: str | float) -> float:
    """Thermal diffusivity in m2/s of ``"0.9 ft2/day"`` or ``"0.08 m2/day"``.

    Raises
    ------
    UnitError
        Not a diffusivity, or no unit.

    Examples
    --------
    >>> round(parse_diffusivity("0.0864 m2/day"), 12)
    1e-06
    """
    expected = "a diffusivity such as '0.9 ft2/day', '0.08 m2/day' or '1e-6 m2/s'"
    number, unit = split_quantity(value, DIFFUSIVITIES, expected)
    return number * DIFFUSIVITIES[unit]


def parse_energy(value: str | float) -> float:
    """Energy in watt-hours of ``"4,200 kWh"``, ``"15 GJ"`` or ``"14 MMBtu"``, a million Btu each.

    Raises
    ------
    UnitError
        Not an energy, or no unit.

    Examples
    --------
    >>> parse_energy("2 kWh"), round(parse_energy("1 MMBtu"))
    (2000.0, 293071)
    """
    expected = "an energy such as '4,200 kWh', '15 GJ' or '14 MMBtu'"
    number, unit = split_quantity(value, ENERGIES, expected)
    return number * ENERGIES[unit]


def parse_flux(value: str | float) -> float:
    """Heat flow of a square metre in W/m2 of ``"125 Btu/h.ft2"`` or ``"400 W/m2"``.

    Raises
    ------
    UnitError
        Not a heat flow of an area, or no unit.

    Examples
    --------
    >>> round(parse_flux("100 Btu/h.ft2"), 1)
    315.5
    """
    expected = "a heat flow of an area such as '125 Btu/h.ft2' or '400 W/m2'"
    number, unit = split_quantity(value, FLUXES, expected)
    return number * FLUXES[unit]


def parse_speed(value: str | float) -> float:
    """Speed in m/s of ``"7 mph"`` or ``"3 m/s"``.

    Raises
    ------
    UnitError
        Not a speed, or no unit.

    Examples
    --------
    >>> round(parse_speed("10 mph"), 4)
    4.4704
    """
    number, unit = split_quantity(value, SPEEDS, "a speed such as '7 mph' or '3 m/s'")
    return number * SPEEDS[unit]


def parse_freezing_index(value: str | float) -> float:
    """Freezing index in kelvin days of ``"2,000 F.day"`` or ``"1100 C.day"``.

    Raises
    ------
    UnitError
        Not a freezing index, or no unit.

    Examples
    --------
    >>> round(parse_freezing_index("1,800 F.days"), 6)
    1000.0
    """
    expected = "a freezing index such as '2,000 F.day' or '1100 C.day'"
    number, unit = split_quantity(value, FREEZING_INDICES, expected)
    return number * FREEZING_INDICES[unit]


def parse_density(value: str | float) -> float:
    """Density in kg/m3 of ``"100 lb/ft3"`` or ``"1600 kg/m3"``.

    Raises
    ------
    UnitError
        Not a density, or no unit.

    Examples
    --------
    >>> round(parse_density("62.4 lb/ft3"), 1)
    999.6
    """
    number, unit = split_quantity(
        value, DENSITIES, "a density such as '100 lb/ft3' or '1600 kg/m3'"
    )
    return number * DENSITIES[unit]


def format_energy(watt_hours: float, unit: UnitSystem) -> str:
    """Energy for people: millions of Btu beside feet, kilowatt-hours beside metres.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> format_energy(293_071, US), format_energy(12_345_678, METRIC)
    ('1.0 MMBtu', '12,346 kWh')
    """
    return unit.energy.text(watt_hours)


def format_diffusivity(value: float, unit: UnitSystem) -> str:
    """Diffusivity for people.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> format_diffusivity(1e-6, US), format_diffusivity(1e-6, METRIC)
    ('0.93 ft²/day', '1.00 mm²/s')
    """
    return unit.diffusivity.text(value)


def format_resistance(value: float, unit: UnitSystem) -> str:
    """Thermal resistance of a length, for people.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> format_resistance(0.089, US), format_resistance(0.089, METRIC)
    ('0.154 hr·ft·°F/Btu', '0.089 m·K/W')
    """
    return unit.resistance.text(value)


def format_line_power(watts_a_metre: float, unit: UnitSystem) -> str:
    """Heat flow of a length, for people.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> format_line_power(20.0, US), format_line_power(20.0, METRIC)
    ('20.8 Btu/hr·ft', '20.0 W/m')
    """
    return unit.line_power.text(watts_a_metre)


def format_temperature(celsius: float, unit: UnitSystem) -> str:
    """Temperature for people: Fahrenheit beside feet, Celsius beside metres.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> format_temperature(10.0, US), format_temperature(10.0, METRIC)
    ('50.0 °F', '10.0 °C')
    """
    return unit.temperature.text(celsius)


def format_difference(kelvin: float, unit: UnitSystem) -> str:
    """Temperature difference for people.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> format_difference(5.0, US), format_difference(0.52, METRIC)
    ('9.0 °F', '0.5 K')
    """
    return unit.difference.text(kelvin)


def format_conductivity(value: float, unit: UnitSystem) -> str:
    """Conductivity for people.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> format_conductivity(2.0, US), format_conductivity(2.0, METRIC)
    ('1.16 Btu/hr·ft·°F', '2.00 W/m·K')
    """
    return unit.conductivity.text(value)
