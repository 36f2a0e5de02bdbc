"""Reading and wording of temperatures, conductivities and the like.

Inside the package temperatures are in degrees Celsius, differences in kelvin, everything else SI.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Final, Literal

from siteplan.units.lengths import BTU_PER_HOUR, FOOT, INCH, UnitError

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
}
DIFFUSIVITIES: Final = {
    "m2/s": 1.0,
    "mm2/s": 1e-6,
    "m2/day": 1.0 / DAY,
    "ft2/day": FOOT**2 / DAY,
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
FLUXES: Final = {"w/m2": 1.0, "btu/h.ft2": BTU_PER_HOUR / FOOT**2}
RESISTANCE: Final = 1 / BTU_PER_HOUR_FOOT_F
"""h ft F/Btu [m K/W]."""

_SINGLE = re.compile(r"\s*([+-]?(?:\d[\d,]*\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([^\d\s.,].*?)\s*")


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
    number, unit = _split(value, {"f": 1.0, "c": 1.0}, "a temperature such as '52 F' or '11 C'")
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
    number, unit = _split(value, DIFFERENCES, "a temperature difference such as '6 F' or '3 K'")
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
    number, unit = _split(value, CONDUCTIVITIES, expected)
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
    number, unit = _split(value, DIFFUSIVITIES, expected)
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
    number, unit = _split(value, ENERGIES, expected)
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
    number, unit = _split(value, FLUXES, expected)
    return number * FLUXES[unit]


def format_energy(watt_hours: float, unit: Literal["ft", "m"]) -> str:
    """Energy for people: millions of Btu beside feet, kilowatt-hours beside metres.

    Examples
    --------
    >>> format_energy(293_071, "ft"), format_energy(12_345_678, "m")
    ('1.0 MMBtu', '12,346 kWh')
    """
    if unit == "ft":
        return f"{watt_hours / ENERGIES['mmbtu']:,.1f} MMBtu"
    return f"{watt_hours / 1e3:,.0f} kWh"


def format_diffusivity(value: float, unit: Literal["ft", "m"]) -> str:
    """Diffusivity for people.

    Examples
    --------
    >>> format_diffusivity(1e-6, "ft"), format_diffusivity(1e-6, "m")
    ('0.93 ft2/day', '1.00 mm2/s')
    """
    if unit == "ft":
        return f"{value / DIFFUSIVITIES['ft2/day']:.2f} ft2/day"
    return f"{value * 1e6:.2f} mm2/s"


def format_resistance(value: float, unit: Literal["ft", "m"]) -> str:
    """Thermal resistance of a length, for people.

    Examples
    --------
    >>> format_resistance(0.089, "ft"), format_resistance(0.089, "m")
    ('0.154 h.ft.F/Btu', '0.089 m.K/W')
    """
    if unit == "ft":
        return f"{value / RESISTANCE:.3f} h.ft.F/Btu"
    return f"{value:.3f} m.K/W"


def format_line_power(watts_a_metre: float, unit: Literal["ft", "m"]) -> str:
    """Heat flow of a length, for people.

    Examples
    --------
    >>> format_line_power(20.0, "ft"), format_line_power(20.0, "m")
    ('20.8 Btu/h.ft', '20.0 W/m')
    """
    if unit == "ft":
        return f"{watts_a_metre / BTU_PER_HOUR * FOOT:.1f} Btu/h.ft"
    return f"{watts_a_metre:.1f} W/m"


def format_temperature(celsius: float, unit: Literal["ft", "m"]) -> str:
    """Temperature for people: Fahrenheit beside feet, Celsius beside metres.

    Examples
    --------
    >>> format_temperature(10.0, "ft"), format_temperature(10.0, "m")
    ('50.0 F', '10.0 C')
    """
    if unit == "ft":
        return f"{celsius / FAHRENHEIT + 32.0:.1f} F"
    return f"{celsius:.1f} C"


def format_difference(kelvin: float, unit: Literal["ft", "m"]) -> str:
    """Temperature difference for people.

    Examples
    --------
    >>> format_difference(5.0, "ft"), format_difference(0.52, "m")
    ('9.0 F', '0.5 K')
    """
    return f"{kelvin / FAHRENHEIT:.1f} F" if unit == "ft" else f"{kelvin:.1f} K"


def format_conductivity(value: float, unit: Literal["ft", "m"]) -> str:
    """Conductivity for people.

    Examples
    --------
    >>> format_conductivity(2.0, "ft"), format_conductivity(2.0, "m")
    ('1.16 Btu/h.ft.F', '2.00 W/m.K')
    """
    if unit == "ft":
        return f"{value / BTU_PER_HOUR_FOOT_F:.2f} Btu/h.ft.F"
    return f"{value:.2f} W/m.K"


def _split(value: str | float, units: Mapping[str, float], expected: str) -> tuple[float, str]:
    """Number and unit of a quantity with one number."""
    found = _SINGLE.fullmatch(value) if isinstance(value, str) else None
    if found is None:
        missing = " has no unit" if _is_number(value) else " is not understood"
        raise UnitError(f"{value!r}{missing}; write {expected}.")
    unit = re.sub(r"[\s\-·*]+", ".", found[2].replace("°", "").replace("²", "2").lower())
    if unit not in units:
        raise UnitError(f"{value!r} has unit {found[2]!r}; write {expected}.")
    number = float(found[1].replace(",", ""))
    if not math.isfinite(number):
        raise UnitError(f"{value!r} is not {expected}.")
    return number, unit


def _is_number(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


PIPE_SIZES_M: Final = {
    "3/4 in": 1.050 * INCH,
    "1 in": 1.315 * INCH,
    "1-1/4 in": 1.660 * INCH,
    "1-1/2 in": 1.900 * INCH,
    "2 in": 2.375 * INCH,
}
"""Outer diameter by nominal size, iron pipe size: ASTM D3035 [m]."""
