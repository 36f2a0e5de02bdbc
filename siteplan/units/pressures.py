"""Reading of pressures; inside the package every pressure is in pascals."""

from __future__ import annotations

from typing import Final

from siteplan.units.written import split_quantity

PSI: Final = 6894.757293168
"""Pound-force per square inch: 0.45359237 x 9.80665 / 0.0254^2 [Pa]."""
PRESSURES: Final = {"psi": PSI, "kpa": 1000.0, "bar": 1e5, "mpa": 1e6, "pa": 1.0}


def parse_pressure(value: object) -> float:
    """Pressure [Pa].

    Raises
    ------
    UnitError
        It is no pressure with its unit.

    Examples
    --------
    >>> round(parse_pressure("75 psi")), parse_pressure("6 bar")
    (517107, 600000.0)
    """
    expected = "a pressure with its unit, such as '100 psi' or '7 bar'"
    number, unit = split_quantity(value, PRESSURES, expected)
    return number * PRESSURES[unit]
