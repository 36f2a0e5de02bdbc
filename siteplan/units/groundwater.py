"""Reading of what water does in the ground: how fast it flows through, how much passes."""

from __future__ import annotations

from typing import Final

from siteplan.units.heat import DAY
from siteplan.units.lengths import FOOT, GALLON
from siteplan.units.written import split_quantity

PERMEABILITIES: Final = {
    "m/s": 1.0, "cm/s": 0.01, "mm/s": 1e-3, "m/day": 1.0 / DAY, "m/d": 1.0 / DAY,
    "ft/day": FOOT / DAY, "ft/d": FOOT / DAY, "gpd/ft2": GALLON / DAY / FOOT**2,
}  # fmt: skip
"""Units of hydraulic conductivity [m/s]."""
TRANSMISSIVITIES: Final = {
    "m2/s": 1.0, "m2/day": 1.0 / DAY, "m2/d": 1.0 / DAY,
    "ft2/day": FOOT**2 / DAY, "ft2/d": FOOT**2 / DAY, "gpd/ft": GALLON / DAY / FOOT,
}  # fmt: skip
"""Units of transmissivity [m2/s]."""


def parse_permeability(value: str | float) -> float:
    """Hydraulic conductivity in m/s of ``"100 ft/day"`` or ``"1e-3 m/s"``.

    Raises
    ------
    UnitError
        Not a hydraulic conductivity, or no unit.

    Examples
    --------
    >>> round(parse_permeability("100 ft/day") * 86400, 2)
    30.48
    """
    expected = "a hydraulic conductivity such as '100 ft/day', '30 m/day' or '1e-3 m/s'"
    number, unit = split_quantity(value, PERMEABILITIES, expected)
    return number * PERMEABILITIES[unit]


def parse_transmissivity(value: str | float) -> float:
    """Transmissivity in m2/s of ``"3,000 ft2/day"`` or ``"0.004 m2/s"``.

    Raises
    ------
    UnitError
        Not a transmissivity, or no unit.

    Examples
    --------
    >>> round(parse_transmissivity("10,000 gpd/ft") * 86400, 1)
    124.2
    """
    expected = "a transmissivity such as '3,000 ft2/day', '280 m2/day' or '0.003 m2/s'"
    number, unit = split_quantity(value, TRANSMISSIVITIES, expected)
    return number * TRANSMISSIVITIES[unit]
