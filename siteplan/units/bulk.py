"""Volumes and masses in which things are bought."""

from __future__ import annotations

from typing import Final

from siteplan.units.lengths import FOOT, GALLON
from siteplan.units.written import parse_terms

VOLUMES: Final = {"gal": GALLON, "l": 1e-3, "m3": 1.0, "ft3": FOOT**3}
POUND: Final = 0.45359237
"""International pound [kg]."""
MASSES: Final = {"lb": POUND, "lbs": POUND, "kg": 1.0}


def parse_volume(value: str | float) -> float:
    """Volume in m3 of ``"20.4 gal"`` or ``"77 L"``; the unit must be written.

    Raises
    ------
    UnitError
        Not a volume, or no unit.

    Examples
    --------
    >>> round(parse_volume("1 gal") * 1000, 6)
    3.785412
    """
    return parse_terms(value, VOLUMES, "", "a volume with its unit, such as '20.4 gal' or '77 L'")


def parse_mass(value: str | float) -> float:
    """Mass in kilograms of ``"200 lb"`` or ``"90 kg"``; the unit must be written.

    Raises
    ------
    UnitError
        Not a mass, or no unit.

    Examples
    --------
    >>> round(parse_mass("50 lb"), 3)
    22.68
    """
    return parse_terms(value, MASSES, "", "a mass with its unit, such as '200 lb' or '90 kg'")
