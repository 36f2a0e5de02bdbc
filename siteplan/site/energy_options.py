"""Loads, ground, fluid and U-bend of a site file; what it leaves open is in energy.toml."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from importlib.resources import files
from typing import Any

from siteplan.flow.fluids import fluid_names
from siteplan.heat_units import (
    PIPE_SIZES_M,
    format_temperature,
    parse_conductivity,
    parse_difference,
    parse_diffusivity,
    parse_temperature,
)
from siteplan.reading import Table
from siteplan.site.days import parse_day
from siteplan.site.energy import BoreLoop, Earth, Energy, Fluid, GroundYear, Loads
from siteplan.units import parse_length

COLDEST_C, WARMEST_C = -5.0, 40.0
"""Entering temperatures for which extended-range heat pumps are made, 23 F to 104 F: ASHRAE
Handbook, HVAC Applications, chapter on geothermal energy, introduction [C]."""
HOURS = 8760.0
GROUND_KEYS = ("temperature", "conductivity", "diffusivity", "frost", "swing", "coldest_day")


@cache
def _defaults() -> dict[str, dict[str, Any]]:
    text = files("siteplan.site").joinpath("energy.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def read_energy(root: Table, fluid: Fluid) -> Energy | None:
    """What heat the exchanger has to move, None where the site file states no loads."""
    if not root.has("loads"):
        _unused(root)
        return None
    loads = _loads(root.table("loads"))
    earth = _earth(root.table("ground"))
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


def _loads(table: Table) -> Loads:
    usual = _defaults()["loads"]
    if not table.has("heating") and not table.has("cooling"):
        table.fault("", "has neither heating nor cooling.", 'Add heating = "36 MBH".')
    loads = Loads(
        heating_w=table.power("heating") or 0.0,
        cooling_w=table.power("cooling") or 0.0,
        heating_hours=table.number("heating_hours", 0.0, least=0, most=HOURS),
        cooling_hours=table.number("cooling_hours", 0.0, least=0, most=HOURS),
        cop=table.number("cop", usual["cop"], least=1.01, most=10),
        eer=table.number("eer", usual["eer"], least=1, most=60),
        heating_month=table.number("heating_month", usual["heating_month"], least=1 / 12, most=1),
        cooling_month=table.number("cooling_month", usual["cooling_month"], least=1 / 12, most=1),
    )
    for key in ("heating", "cooling"):
        if table.has(key):
            table.required(f"{key}_hours", f"{key}_hours = 1800 (equivalent full-load hours)")
    table.has("years")
    table.finish()
    return loads


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
        table.required("diffusivity", 'diffusivity = "0.9 ft2/day"')
    elif not root.has("loads"):
        for key in ("temperature", "diffusivity"):
            if key in said:
                table.fault(
                    key,
                    "is of no use without loads, or swing and coldest_day.",
                    f"Add [loads], or swing and coldest_day, or leave out {key}.",
                )
    if "conductivity" in said and not root.has("loads"):
        table.fault(
            "conductivity",
            "is of no use without loads.",
            "Add [loads], or leave out conductivity.",
        )
    year = GroundYear(frost_m=table.length("frost", 0.0) if "frost" in said else None)
    if season:
        year = replace(
            year,
            temperature_c=_between(table, "temperature", parse_temperature, (-5.0, 35.0), 10.0),
            swing_k=_between(table, "swing", parse_difference, (0.1, 30.0), 10.0),
            coldest_day=table.quantity("coldest_day", parse_day),
            diffusivity_m2s=_between(table, "diffusivity", parse_diffusivity, (1e-7, 5e-6), 1e-6),
        )
    table.finish()
    return year


def _earth(table: Table) -> Earth:
    table.required("temperature", 'temperature = "52 F"')
    table.required("conductivity", 'conductivity = "1.2 Btu/h.ft.F"')
    table.required("diffusivity", 'diffusivity = "0.9 ft2/day"')
    return Earth(  # read_ground_year notes keys that do not exist
        temperature_c=_between(table, "temperature", parse_temperature, (-5.0, 35.0), 10.0),
        conductivity=_between(table, "conductivity", parse_conductivity, (0.2, 8.0), 2.0),
        diffusivity_m2s=_between(table, "diffusivity", parse_diffusivity, (1e-7, 5e-6), 1e-6),
    )


def read_fluid(table: Table) -> Fluid:
    """Fluid of a site file's [fluid] table."""
    usual = _defaults()["fluid"]
    limits = (COLDEST_C, WARMEST_C)
    fluid = Fluid(
        coldest_c=_between(
            table, "coldest", parse_temperature, limits, parse_temperature(usual["coldest"])
        ),
        warmest_c=_between(
            table, "warmest", parse_temperature, limits, parse_temperature(usual["warmest"])
        ),
        heating_drop_k=_between(
            table, "heating_drop", parse_difference, (0.1, 15.0), parse_difference(usual["drop"])
        ),
        cooling_rise_k=_between(
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
        grout=_between(
            table, "grout", parse_conductivity, (0.3, 4.0), parse_conductivity(usual["grout"])
        ),
        top_m=table.length("top", parse_length(usual["top"], "m")),
    )
    table.finish()
    return loop


def _between(
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
        low, high = (_shown(limit, parse) for limit in limits)
        table.fault(key, f"{table.raw(key)!r} is out of range.", f"Give {low} to {high}.")
        return default
    return value


def _shown(value: float, parse: Callable[[Any], float]) -> str:
    if parse is parse_temperature:
        return f"{value:g} C ({format_temperature(value, 'ft')})"
    if parse is parse_difference:
        return f"{value:g} K"
    return f"{value:g} {'W/m.K' if parse is parse_conductivity else 'm2/s'}"


def _judge(energy: Energy, root: Table) -> None:
    """Note fluid temperatures that the ground cannot give."""
    table, ground = root.table("fluid"), energy.earth.temperature_c
    if energy.loads.heating_w and energy.fluid.coldest_c >= ground:
        table.fault(
            "coldest",
            f"of {energy.fluid.coldest_c:.1f} C is not colder than the ground at {ground:.1f} C.",
            "Lower it: heat flows only from warm to cold.",
        )
    if energy.loads.cooling_w and energy.fluid.warmest_c <= ground:
        table.fault(
            "warmest",
            f"of {energy.fluid.warmest_c:.1f} C is not warmer than the ground at {ground:.1f} C.",
            "Raise it: heat flows only from warm to cold.",
        )
