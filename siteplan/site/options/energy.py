"""Loads, ground, fluid and U-bend of a site file."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from siteplan.hydraulics.pipes import pipes
from siteplan.site.energy import BoreLoop, Earth, Energy, Fluid, GroundYear
from siteplan.site.frost import Freezing, frost_depth
from siteplan.site.ground_classes import GroundClass, ground_classes
from siteplan.site.options.declared import declared
from siteplan.site.options.loads import read_loads
from siteplan.site.options.read import Read, require
from siteplan.units.heat import format_temperature, parse_conductivity

PIPE_CONDUCTIVITY: Final = "0.225 Btu/h.ft.F"
"""Of polyethylene: Geothermal Energy (2015), s40517-015-0029-1, Table 1."""
FILM_RESISTANCE: Final = 0.007
"""Between turbulent fluid and wall; what that table leaves beside the wall [m K/W]."""
STAND_IN: Final = Earth(temperature_c=10.0, conductivity=2.0, diffusivity_m2s=1e-6)
"""Ground with which reading goes on where the site file states none: a fault was noted."""


def read_energy(root: Read, fluid: Fluid) -> Energy | None:
    """What heat the exchanger has to move, None where the site file states no loads."""
    if root["loads"] is None:
        return None
    earth = _earth(root["ground"])
    loads = read_loads(root["loads"], fluid, earth)
    energy = Energy(loads, earth, fluid, _loop(root["loop"]), root["loads"]["years"])
    _judge(energy, root)
    return energy


def idle_figures(root: Read) -> tuple[str, ...]:
    """What is stated and changes nothing, since no loads are: as the file writes it."""
    if root["loads"] is not None:
        return ()
    ground, fluid = root["ground"], root["fluid"]
    season = ground.says("swing") or ground.says("coldest_day")
    of_ground = () if season else ("temperature", "diffusivity", "soil")
    idle = [f"[ground] {key}" for key in (*of_ground, "conductivity", "test") if ground.says(key)]
    idle += [f"[fluid] {key}" for key in ("warmest", "cooling_rise") if fluid.says(key)]
    return (*idle, *(["[loop]"] if root.says("loop") else []))


def read_ground_year(root: Read) -> GroundYear:
    """Frost and the year at the surface, of a site file's [ground] table.

    Temperature, swing, coldest day and diffusivity go together; for loads on a named soil swing and
    coldest day are taken as usual. What only [loads] need changes nothing without them.
    """
    ground, loads = root["ground"], root["loads"] is not None
    usual = loads and is_soil(ground)
    season = ground.says("swing") or ground.says("coldest_day")
    if season and not usual:
        for key in ("temperature", "swing", "coldest_day"):
            require(ground, declared(f"ground.{key}"))
        _soil_or(ground, "diffusivity")
    year = GroundYear(frost_of(ground), _freezing(ground))
    if not season and not usual:
        return year
    return replace(
        year,
        temperature_c=_temperature(ground),
        swing_k=ground["swing"],
        coldest_day=ground["coldest_day"],
        diffusivity_m2s=_diffusivity(ground),
    )


def is_soil(ground: Read) -> bool:
    """Whether the ground is named as soil; rock, or a test of a bore, says nothing of a trench."""
    named = _soil(ground)
    return named is not None and named.loose


def frost_of(ground: Read) -> float | None:
    """Depth to which the ground freezes, stated or calculated [m]."""
    freezing = _freezing(ground)
    return ground["frost"] if freezing is None else frost_depth(freezing)


def _freezing(ground: Read) -> Freezing | None:
    """What a frost depth is to be calculated from; None where it is stated, or nothing is."""
    given: Read | None = ground["freezing"]
    if given is None:
        return None
    needed = ("index", "days", "mean", "conductivity", "density", "water", "surface")
    values = {key: given[key] for key in needed}
    if ground.says("frost") or None in values.values():
        return None
    return Freezing(
        index_k_days=values["index"],
        days=values["days"],
        mean_c=values["mean"],
        conductivity=values["conductivity"],
        density=values["density"],
        water=values["water"] / 100.0,
        surface=values["surface"],
    )


def _earth(ground: Read) -> Earth:
    require(ground, declared("ground.temperature"))
    _soil_or(ground, "conductivity", ', or soil = "limestone"')
    _soil_or(ground, "diffusivity")
    soil = _soil(ground)
    usual = STAND_IN.conductivity if soil is None else soil.conductivity
    return Earth(
        temperature_c=_temperature(ground),
        conductivity=ground["conductivity"] or usual,
        diffusivity_m2s=_diffusivity(ground),
        basis=_earth_basis(ground),
        diffusivity_basis=_diffusivity_basis(ground),
        most_conductivity=None
        if soil is None or ground["conductivity"]
        else soil.most_conductivity,
    )


def _temperature(ground: Read) -> float:
    stated: float | None = ground["temperature"]
    return STAND_IN.temperature_c if stated is None else stated


def _soil(ground: Read) -> GroundClass | None:
    """Soil or rock named."""
    return ground_classes().get(ground["soil"] or "")


def _soil_or(ground: Read, key: str, other: str = "") -> None:
    """Ask for a key that a soil or rock would give too."""
    if not ground.says("soil"):
        ground.table.required(key, declared(f"ground.{key}").line + other)


def _diffusivity(ground: Read) -> float:
    soil = _soil(ground)
    stated: float | None = ground["diffusivity"]
    return stated or (STAND_IN.diffusivity_m2s if soil is None else soil.diffusivity_m2s)


def _diffusivity_basis(ground: Read) -> str:
    soil = _soil(ground)
    named = soil is not None and not ground.says("diffusivity")
    return soil.diffusivity_basis if soil is not None and named else "as stated"


def _earth_basis(ground: Read) -> str:
    """Where the conductivity comes from."""
    test = ground["test"]
    if test and not ground.says("conductivity"):
        what = "names a thermal response test without its result."
        ground.fault("test", what, "Add conductivity.")
    if test:
        return f"thermal response test, {test}"
    named = _soil(ground)
    if named is not None and not ground.says("conductivity"):
        return named.basis
    return "as stated"


def read_fluid(given: Read) -> Fluid:
    """Fluid of a site file's [fluid] table."""
    return Fluid(
        coldest_c=given["coldest"],
        warmest_c=given["warmest"],
        heating_drop_k=given["heating_drop"],
        cooling_rise_k=given["cooling_rise"],
        mixture=given["mixture"],
    )


def _loop(given: Read) -> BoreLoop:
    pipe = pipes()[given["pipe"]].outer_m
    return BoreLoop(
        pipe_diameter_m=pipe,
        dimension_ratio=given["dimension_ratio"],
        pipe_conductivity=parse_conductivity(PIPE_CONDUCTIVITY),
        film_resistance=FILM_RESISTANCE,
        shank_m=pipe + given["gap"],
        grout=given["grout"],
        top_m=given["top"],
    )


def _judge(energy: Energy, root: Read) -> None:
    """Note fluid temperatures that the ground cannot give."""
    fluid, ground = root["fluid"], energy.earth.temperature_c
    unit = root.unit
    below = format_temperature(ground, unit)
    if energy.loads.heating_w and energy.fluid.coldest_c >= ground:
        fluid.fault(
            "coldest",
            f"of {format_temperature(energy.fluid.coldest_c, unit)} is not colder than the ground "
            f"at {below}.",
            "Lower it: heat flows only from warm to cold.",
        )
    if energy.loads.cooling_w and energy.fluid.warmest_c <= ground:
        fluid.fault(
            "warmest",
            f"of {format_temperature(energy.fluid.warmest_c, unit)} is not warmer than the ground "
            f"at {below}.",
            "Raise it: heat flows only from warm to cold.",
        )
