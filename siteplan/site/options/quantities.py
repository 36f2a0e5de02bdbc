"""Quantities of a site file: how each is read, in which units it is written and shown."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

from siteplan.site.options.declared import Option
from siteplan.units import heat
from siteplan.units.days import parse_day
from siteplan.units.lengths import (
    ANGLES,
    FLOWS,
    LENGTHS,
    POWERS,
    VOLTAGES,
    parse_angle,
    parse_bearing,
    parse_flow,
    parse_length,
    parse_power,
    parse_voltage,
    round_to,
)

MILLIMETRE: Final = 1e-3
"""What is shorter is no length on a lot: a length above zero has at least this [m]."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """One kind of quantity.

    Parameters
    ----------
    parse
        Value in SI units of what is written in a file whose bare lengths are in a unit.
    units
        Units in which it may be written, in small letters.
    shown
        Unit in which limits are told, in a file of feet and in one of metres.
    bare
        Whether a number without a unit will do.
    summed
        Whether several terms add up, as feet and inches do.
    """

    parse: Callable[[Any, str], float]
    units: Iterable[str]
    shown: Mapping[str, str]
    bare: bool = False
    summed: bool = False


def _alone(parse: Callable[[Any], float]) -> Callable[[Any, str], float]:
    """Parser of a quantity that has nothing to do with the unit of the file."""
    return lambda value, _: parse(value)


@cache
def quantities() -> Mapping[str, Quantity]:
    """All kinds of quantity by the name that the catalogue calls them."""
    nothing = {"ft": "", "m": ""}
    return {
        "length": Quantity(parse_length, LENGTHS, {"ft": "ft", "m": "m"}, bare=True, summed=True),
        "angle": Quantity(
            _alone(parse_angle), ANGLES, {"ft": "deg", "m": "deg"}, bare=True, summed=True
        ),
        "flow": Quantity(_alone(parse_flow), FLOWS, {"ft": "gpm", "m": "L/s"}, summed=True),
        "power": Quantity(_alone(parse_power), POWERS, {"ft": "MBH", "m": "kW"}, summed=True),
        "voltage": Quantity(_alone(parse_voltage), VOLTAGES, {"ft": "V", "m": "V"}, summed=True),
        "temperature": Quantity(_alone(heat.parse_temperature), ("f", "c"), {"ft": "F", "m": "C"}),
        "difference": Quantity(
            _alone(heat.parse_difference), heat.DIFFERENCES, {"ft": "F", "m": "K"}
        ),
        "conductivity": Quantity(
            _alone(heat.parse_conductivity),
            heat.CONDUCTIVITIES,
            {"ft": "Btu/h.ft.F", "m": "W/m.K"},
        ),
        "diffusivity": Quantity(
            _alone(heat.parse_diffusivity), heat.DIFFUSIVITIES, {"ft": "ft2/day", "m": "m2/s"}
        ),
        "flux": Quantity(_alone(heat.parse_flux), heat.FLUXES, {"ft": "Btu/h.ft2", "m": "W/m2"}),
        "energy": Quantity(_alone(heat.parse_energy), heat.ENERGIES, {"ft": "MMBtu", "m": "kWh"}),
        "bearing": Quantity(_alone(parse_bearing), (), nothing),
        "day": Quantity(_alone(parse_day), (), nothing),
    }


def limits_of(option: Option) -> tuple[float, float]:
    """Least and greatest value of a quantity, in SI units; infinite where there is no limit."""
    parse = quantities()[option.kind].parse
    least = -math.inf if option.least is None else parse_limit(option.least, parse)
    if option.above is not None:
        least = MILLIMETRE if option.kind == "length" else math.nextafter(option.above, math.inf)
    return least, math.inf if option.most is None else parse_limit(option.most, parse)


def parse_limit(limit: Any, parse: Callable[[Any, str], float]) -> float:
    """A limit in SI units: zero is zero in any of the units that have no zero of their own."""
    return 0.0 if limit == 0 else parse(limit, "m")


def limit_words(option: Option, unit: str) -> str:
    """Limits of a quantity in the units of the file, rounded inwards; empty where it has none.

    Examples
    --------
    >>> from siteplan.site.options.declared import declared
    >>> limit_words(declared("fluid.coldest"), "ft")
    '23 F to 104 F'
    >>> limit_words(declared("ground.conductivity"), "ft")
    '0.116 Btu/h.ft.F to 4.62 Btu/h.ft.F'
    >>> limit_words(declared("ground.diffusivity"), "m")
    '1e-07 m2/s to 5e-06 m2/s'
    >>> limit_words(declared("vertical.pad.tilt"), "m"), limit_words(declared("rig.width"), "ft")
    ('0 to 60 deg', 'more than zero')
    """
    if option.above is not None:
        return "more than zero"
    if option.most is None:
        return "zero or more" if option.least is not None else ""
    name = quantities()[option.kind].shown[unit]
    low, high = (_in_unit(limit, option.kind, unit) for limit in limits_of(option))
    low = round_to(low, _decimals(low), "up")
    high = round_to(high, _decimals(high), "down")
    return f"{low:g}{f' {name}' if option.least != 0 else ''} to {high:g} {name}"


def _in_unit(value: float, kind: str, unit: str) -> float:
    """A value in SI units in the unit that the file shows."""
    quantity = quantities()[kind]
    name = quantity.shown[unit]
    # what the unit's zero and one are in the package gives the way back
    zero = quantity.parse(f"0 {name}", "m")
    step = quantity.parse(f"1 {name}", "m") - zero
    return (value - zero) / step


def _decimals(value: float) -> int:
    """Decimals that show three digits of a value."""
    return 2 - math.floor(math.log10(max(abs(value), 1e-12)))
