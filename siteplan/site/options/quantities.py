"""Quantities of a site file: how each is read, in which units it is written and shown."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from types import MappingProxyType
from typing import Any, Final, Literal

from siteplan.site.options.declared import Option
from siteplan.units import heat
from siteplan.units.bulk import MASSES, VOLUMES, parse_mass, parse_volume
from siteplan.units.days import parse_day
from siteplan.units.groundwater import (
    PERMEABILITIES,
    TRANSMISSIVITIES,
    parse_permeability,
    parse_transmissivity,
)
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
from siteplan.units.model import Measure, UnitSystem
from siteplan.units.pressures import PRESSURES, parse_pressure

MILLIMETRE: Final = 1e-3
"""What is shorter is no length on a lot: a length above zero has at least this [m]."""


BEYOND: Final[Mapping[str, float]] = MappingProxyType({
    "length": 1e5, "flow": 10.0, "power": 1e8, "voltage": 2e6, "difference": 100.0, "flux": 5e3,
    "energy": 1e12,
})  # fmt: skip
"""What no site has, in SI units, where an option has no limit of its own: a slip of the pen."""


NOTHING_BARE: Final = ("power",)
"""Kinds of which 0 will do without a unit."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """One kind of quantity.

    Parameters
    ----------
    parse
        Value in SI units of what is written in a file whose bare lengths are in a unit.
    units
        Units in which it may be written, in small letters.
    measure
        Measure of a unit system in which limits are told.
    bare
        Whether a number without a unit will do.
    summed
        Whether several terms add up, as feet and inches do.
    """

    parse: Callable[[Any, str], float]
    units: Iterable[str]
    measure: Callable[[UnitSystem], Measure]
    bare: bool = False
    summed: bool = False


def _alone(parse: Callable[[Any], float]) -> Callable[[Any, str], float]:
    """Parser of a quantity that has nothing to do with the unit of the file."""
    return lambda value, _: parse(value)


DEGREES: Final = Measure("deg", 1.0, 1)
VOLTS: Final = Measure("V", 1.0, 0)
NOTHING: Final = Measure("", 1.0, 0)


@cache
def quantities() -> Mapping[str, Quantity]:
    """All kinds of quantity by the name that the catalogue calls them."""
    length = Quantity(parse_length, LENGTHS, lambda unit: Measure(unit.name, unit.metres, 2))
    angle = Quantity(_alone(parse_angle), ANGLES, lambda _: DEGREES)
    return {
        "length": replace(length, bare=True, summed=True),
        "angle": replace(angle, bare=True, summed=True),
        "flow": Quantity(_alone(parse_flow), FLOWS, lambda unit: unit.flow, summed=True),
        "power": Quantity(_alone(parse_power), POWERS, lambda unit: unit.power, summed=True),
        "volume": Quantity(_alone(parse_volume), VOLUMES, lambda unit: unit.fluid, summed=True),
        "mass": Quantity(_alone(parse_mass), MASSES, lambda unit: unit.mass, summed=True),
        "voltage": Quantity(_alone(parse_voltage), VOLTAGES, lambda _: VOLTS, summed=True),
        "temperature": Quantity(
            _alone(heat.parse_temperature), ("f", "c"), lambda unit: unit.temperature
        ),
        "difference": Quantity(
            _alone(heat.parse_difference), heat.DIFFERENCES, lambda unit: unit.difference
        ),
        "conductivity": Quantity(
            _alone(heat.parse_conductivity), heat.CONDUCTIVITIES, lambda unit: unit.conductivity
        ),
        "diffusivity": Quantity(
            _alone(heat.parse_diffusivity), heat.DIFFUSIVITIES, lambda unit: unit.diffusivity
        ),
        "flux": Quantity(_alone(heat.parse_flux), heat.FLUXES, lambda unit: unit.flux),
        "freezing index": Quantity(
            _alone(heat.parse_freezing_index), heat.FREEZING_INDICES, lambda u: u.freezing_index
        ),
        "density": Quantity(_alone(heat.parse_density), heat.DENSITIES, lambda unit: unit.density),
        "permeability": Quantity(
            _alone(parse_permeability), PERMEABILITIES, lambda unit: unit.permeability
        ),
        "transmissivity": Quantity(
            _alone(parse_transmissivity), TRANSMISSIVITIES, lambda unit: unit.transmissivity
        ),
        "pressure": Quantity(_alone(parse_pressure), PRESSURES, lambda unit: unit.pressure),
        "energy": Quantity(_alone(heat.parse_energy), heat.ENERGIES, lambda unit: unit.energy),
        "speed": Quantity(_alone(heat.parse_speed), heat.SPEEDS, lambda unit: unit.speed),
        "bearing": Quantity(_alone(parse_bearing), (), lambda _: NOTHING),
        "day": Quantity(_alone(parse_day), (), lambda _: NOTHING),
    }


def limits_of(option: Option) -> tuple[float, float]:
    """Least and greatest value of a quantity, in SI units; infinite where there is no limit.

    Without a limit of its own an option ends where no site has more.
    """
    parse = quantities()[option.kind].parse
    least = -math.inf if option.least is None else parse_limit(option.least, parse)
    if option.above is not None:
        least = MILLIMETRE if option.kind == "length" else math.nextafter(option.above, math.inf)
    if option.below is not None:
        least = parse_limit(option.below, parse)
    if option.most is None and option.beyond is not None:
        return least, parse_limit(option.beyond, parse)
    if option.most is None:
        return least, BEYOND.get(option.kind, math.inf)
    return least, parse_limit(option.most, parse)


def parse_limit(limit: Any, parse: Callable[[Any, str], float]) -> float:
    """A limit in SI units: zero is zero in any of the units that have no zero of their own."""
    return 0.0 if limit == 0 else parse(limit, "m")


def limit_words(option: Option, unit: UnitSystem) -> str:
    """Limits of a quantity in the units of the file, rounded inwards; empty where it has none.

    Examples
    --------
    >>> from siteplan.site.options.declared import declared
    >>> from siteplan.units.systems import METRIC, US
    >>> limit_words(declared("fluid.coldest"), US)
    '23 °F to 104 °F'
    >>> limit_words(declared("ground.conductivity"), US)
    '0.116 Btu/hr·ft·°F to 4.62 Btu/hr·ft·°F'
    >>> limit_words(declared("ground.diffusivity"), METRIC)
    '0.1 mm²/s to 5 mm²/s'
    >>> limit_words(declared("vertical.pad.tilt"), METRIC), limit_words(declared("rig.width"), US)
    ('0 to 60 deg', 'more than zero')
    """
    if option.above is not None:
        return "more than zero"
    if option.most is None:
        return "zero or more" if option.least is not None else ""
    measure = quantities()[option.kind].measure(unit)
    low, high = (measure.of(limit) for limit in limits_of(option))
    low = round_to(low, _decimals(low), "up")
    high = round_to(high, _decimals(high), "down")
    named = f" {measure.label}" if option.least != 0 else ""
    return f"{low:g}{named} to {high:g} {measure.label}"


def most_words(option: Option, unit: UnitSystem) -> str:
    """What no site has of a quantity, in the units of the file.

    Examples
    --------
    >>> from siteplan.site.options.declared import declared
    >>> from siteplan.units.systems import US
    >>> most_words(declared("loads.heating"), US)
    '341,214 MBH'
    >>> most_words(declared("pond.plates.wall"), US)
    '1 in'
    """
    return _whole(limits_of(option)[1], option, unit, "down")


def least_words(option: Option, unit: UnitSystem) -> str:
    """The least that any site has of a quantity, in the units of the file.

    Examples
    --------
    >>> from siteplan.site.options.declared import declared
    >>> from siteplan.units.systems import US
    >>> least_words(declared("rig.width"), US), least_words(declared("vertical.diameter"), US)
    ('2 ft', '2 in')
    """
    return _whole(limits_of(option)[0], option, unit, "up")


def _whole(value: float, option: Option, unit: UnitSystem, rounding: Literal["up", "down"]) -> str:
    """A limit in whole numbers, of the small unit where it is less than one of the large."""
    measure = quantities()[option.kind].measure(unit)
    if option.kind == "length" and measure.of(value) < 1.0:
        measure = unit.small
    return f"{round_to(measure.of(value), 0, rounding):,.0f} {measure.label}"


def out_of_limits(option: Option, value: float, unit: UnitSystem) -> tuple[str, str]:
    """What is wrong with a value beyond the limits of its option, and the mend.

    Examples
    --------
    >>> from siteplan.site.options.declared import declared
    >>> from siteplan.units.systems import US
    >>> out_of_limits(declared("rig.width"), 0.0254, US)
    ('is less than any site has.', 'Give at least 2 ft; is the unit right?')
    """
    least, most = limits_of(option)
    if value > most and option.most is None:
        mend = f"Give at most {most_words(option, unit)}; is the unit right?"
        return "is more than any site has.", mend
    if value < least and option.below is not None:
        mend = f"Give at least {least_words(option, unit)}; is the unit right?"
        return "is less than any site has.", mend
    if option.kind == "length":
        return (
            f"is too {'small' if value < least else 'large'}.",
            f"Give {limit_words(option, unit)}.",
        )
    if option.above is not None:
        return "is not above zero.", "Correct it or leave it out."
    return "is out of range.", f"Give {limit_words(option, unit)}."


def _decimals(value: float) -> int:
    """Decimals that show three digits of a value."""
    return 2 - math.floor(math.log10(max(abs(value), 1e-12)))


@cache
def in_si(kind: str, value: Any, unit: str) -> float:
    """A default of the catalogue in SI units, which every table without its key asks for."""
    return quantities()[kind].parse(value, unit)
