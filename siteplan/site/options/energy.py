"""Loads, ground, fluid and U-bend of a site file; what it leaves open is in energy.toml."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cache
from importlib.resources import files
from typing import Any

from siteplan.hydraulics.fluids import fluid_names
from siteplan.reading import Table
from siteplan.site.days import parse_day
from siteplan.site.energy import BoreLoop, Earth, Energy, Fluid, GroundYear
from siteplan.site.ground_classes import ground_classes
from siteplan.site.options.loads import read_loads
from siteplan.units.heat import (
    PIPE_SIZES_M,
    format_temperature,
    parse_conductivity,
    parse_difference,
    parse_diffusivity,
    parse_temperature,
)
from siteplan.units.lengths import parse_length, round_to
from siteplan.units.model import Measure, UnitSystem

COLDEST_C, WARMEST_C = -5.0, 40.0
"""Entering temperatures for which extended-range heat pumps are made, 23 F to 104 F: ASHRAE
Handbook, HVAC Applications, chapter on geothermal energy, introduction [C]."""
GROUND_KEYS = (
    "temperature",
    "conductivity",
    "diffusivity",
    "frost",
    "swing",
    "coldest_day",
    "soil",
    "test",
)


MEASURES: Mapping[Callable[[Any], float], Callable[[UnitSystem], Measure]] = {
    parse_temperature: lambda unit: unit.temperature,
    parse_difference: lambda unit: unit.difference,
    parse_conductivity: lambda unit: unit.conductivity,
    parse_diffusivity: lambda unit: unit.diffusivity,
}
"""Measure of a unit system that a quantity is read in."""


@cache
def _defaults() -> dict[str, dict[str, Any]]:
    text = files("siteplan.site.options").joinpath("energy.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def read_energy(root: Table, fluid: Fluid) -> Energy | None:
    """What heat the exchanger has to move, None where the site file states no loads."""
    if not root.has("loads"):
        _unused(root)
        return None
    earth = _earth(root.table("ground"))
    loads = read_loads(root.table("loads"), _defaults(), fluid, earth)
    loop = _loop(root.table("loop"))
    years = root.table("loads").number("years", _defaults()["loads"]["years"], least=1, most=100)
    energy = Energy(loads, earth, fluid, loop, years)
    _judge(energy, root)
    return energy


def _unused(root: Table) -> None:
    if root.has("loop"):
        root.fault("loop", "is of no use without loads.", "Add [loads], or leave out [loop].")
    fluid = root.table("fluid")
    for name in ("warmest", "cooling_rise"):
        if fluid.has(name):
            fluid.fault(name, "is of no use without loads.", f"Add [loads], or leave out {name}.")


def read_ground_year(root: Table) -> GroundYear:
    """Frost and the year at the surface, of a site file's [ground] table.

    Temperature, swing, coldest day and diffusivity go together; what only [loads] need is refused
    without them.
    """
    table = root.table("ground")
    said = [key for key in GROUND_KEYS if table.has(key)]
    season = "swing" in said or "coldest_day" in said
    if season:
        table.required("temperature", 'temperature = "52 F"')
        table.required("swing", 'swing = "22 F"')
        table.required("coldest_day", 'coldest_day = "3 February"')
        _soil_or(table, "diffusivity", 'diffusivity = "0.9 ft2/day"')
    elif not root.has("loads"):
        for key in ("temperature", "diffusivity", "soil"):
            if key in said:
                table.fault(
                    key,
                    "is of no use without loads, or swing and coldest_day.",
                    f"Add [loads], or swing and coldest_day, or leave out {key}.",
                )
    for key in ("conductivity", "test"):
        if key in said and not root.has("loads"):
            table.fault(key, "is of no use without loads.", f"Add [loads], or leave out {key}.")
    year = GroundYear(frost_m=table.length("frost", 0.0) if "frost" in said else None)
    if season:
        year = replace(
            year,
            temperature_c=quantity_between(
                table, "temperature", parse_temperature, (-5.0, 35.0), 10.0
            ),
            swing_k=quantity_between(table, "swing", parse_difference, (0.1, 30.0), 10.0),
            coldest_day=table.quantity("coldest_day", parse_day),
            diffusivity_m2s=_diffusivity(table),
        )
    table.finish()
    return year


def _earth(table: Table) -> Earth:
    table.required("temperature", 'temperature = "52 F"')
    _soil_or(table, "conductivity", 'conductivity = "1.2 Btu/h.ft.F", or soil = "limestone"')
    _soil_or(table, "diffusivity", 'diffusivity = "0.9 ft2/day"')
    soil = ground_classes().get(_soil(table))
    usual = 2.0 if soil is None else soil.conductivity
    return Earth(  # read_ground_year notes keys that do not exist
        temperature_c=_ground_temperature(table),
        conductivity=quantity_between(table, "conductivity", parse_conductivity, (0.2, 8.0), usual),
        diffusivity_m2s=_diffusivity(table),
        basis=_earth_basis(table),
        diffusivity_basis=_diffusivity_basis(table),
    )


def _ground_temperature(table: Table) -> float:
    return quantity_between(table, "temperature", parse_temperature, (-5.0, 35.0), 10.0)


def _soil(table: Table) -> str:
    """Soil or rock named; empty where none is."""
    return table.choice("soil", tuple(ground_classes()), "")


def _soil_or(table: Table, key: str, example: str) -> None:
    """Ask for a key that a soil or rock would give too."""
    if not table.has("soil"):
        table.required(key, example)


def _diffusivity(table: Table) -> float:
    soil = ground_classes().get(_soil(table))
    usual = 1e-6 if soil is None else soil.diffusivity_m2s
    return quantity_between(table, "diffusivity", parse_diffusivity, (1e-7, 5e-6), usual)


def _diffusivity_basis(table: Table) -> str:
    named = _soil(table) and not table.has("diffusivity")
    return f"{_soil(table)}, middle of the published range" if named else "as stated"


def _earth_basis(table: Table) -> str:
    """Where the conductivity comes from."""
    test, soil = table.text("test"), _soil(table)
    if test and not table.has("conductivity"):
        what = "names a thermal response test without its result."
        table.fault("test", what, "Add conductivity.")
    if test:
        return f"thermal response test, {test}"
    if soil and not table.has("conductivity"):
        return f"{soil}, low value of the published range"
    return "as stated"


def read_fluid(table: Table) -> Fluid:
    """Fluid of a site file's [fluid] table."""
    usual = _defaults()["fluid"]
    limits = (COLDEST_C, WARMEST_C)
    fluid = Fluid(
        coldest_c=quantity_between(
            table, "coldest", parse_temperature, limits, parse_temperature(usual["coldest"])
        ),
        warmest_c=quantity_between(
            table, "warmest", parse_temperature, limits, parse_temperature(usual["warmest"])
        ),
        heating_drop_k=quantity_between(
            table, "heating_drop", parse_difference, (0.1, 15.0), parse_difference(usual["drop"])
        ),
        cooling_rise_k=quantity_between(
            table, "cooling_rise", parse_difference, (0.1, 15.0), parse_difference(usual["rise"])
        ),
        mixture=table.choice("mixture", fluid_names(), usual["mixture"]),
    )
    table.finish()
    return fluid


def _loop(table: Table) -> BoreLoop:
    usual = _defaults()["loop"]
    pipe = PIPE_SIZES_M[table.choice("pipe", tuple(PIPE_SIZES_M), usual["pipe"])]
    gap = table.length("gap", parse_length(usual["gap"], "m"))
    loop = BoreLoop(
        pipe_diameter_m=pipe,
        dimension_ratio=table.number("dimension_ratio", usual["dimension_ratio"], least=5, most=30),
        pipe_conductivity=parse_conductivity(usual["pipe_conductivity"]),
        film_resistance=usual["film_resistance"],
        shank_m=pipe + gap,
        grout=quantity_between(
            table, "grout", parse_conductivity, (0.3, 4.0), parse_conductivity(usual["grout"])
        ),
        top_m=table.length("top", parse_length(usual["top"], "m")),
    )
    table.finish()
    return loop


def quantity_between(
    table: Table,
    key: str,
    parse: Callable[[Any], float],
    limits: tuple[float, float],
    default: float,
) -> float:
    """Quantity of a key within limits, else a fault and the default."""
    value = table.quantity(key, parse)
    if value is None:
        return default
    if not limits[0] <= value <= limits[1]:
        words = limit_words(limits, parse, table.unit)
        table.fault(key, f"{table.raw(key)!r} is out of range.", f"Give {words}.")
        return default
    return value


def limit_words(
    limits: tuple[float, float], parse: Callable[[Any], float], unit: UnitSystem
) -> str:
    """Both limits of a quantity in the units of the file, rounded inwards.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> limit_words((-5.0, 40.0), parse_temperature, US)
    '23 °F to 104 °F'
    >>> limit_words((0.2, 8.0), parse_conductivity, US)
    '0.116 Btu/hr·ft·°F to 4.62 Btu/hr·ft·°F'
    >>> limit_words((1e-7, 5e-6), parse_diffusivity, METRIC)
    '0.1 mm²/s to 5 mm²/s'
    """
    name = MEASURES[parse](unit).label
    # what the unit's zero and one are in the package gives the way back
    zero = parse(f"0 {name}")
    step = parse(f"1 {name}") - zero
    low, high = ((limit - zero) / step for limit in limits)
    low = round_to(low, _decimals(low), "up")
    high = round_to(high, _decimals(high), "down")
    return f"{low:g} {name} to {high:g} {name}"


def _decimals(value: float) -> int:
    """Decimals that show three digits of a value."""
    return 2 - math.floor(math.log10(max(abs(value), 1e-12)))


def _judge(energy: Energy, root: Table) -> None:
    """Note fluid temperatures that the ground cannot give."""
    table, ground = root.table("fluid"), energy.earth.temperature_c
    unit = root.unit
    below = format_temperature(ground, unit)
    if energy.loads.heating_w and energy.fluid.coldest_c >= ground:
        table.fault(
            "coldest",
            f"of {format_temperature(energy.fluid.coldest_c, unit)} is not colder than the ground "
            f"at {below}.",
            "Lower it: heat flows only from warm to cold.",
        )
    if energy.loads.cooling_w and energy.fluid.warmest_c <= ground:
        table.fault(
            "warmest",
            f"of {format_temperature(energy.fluid.warmest_c, unit)} is not warmer than the ground "
            f"at {below}.",
            "Raise it: heat flows only from warm to cold.",
        )
