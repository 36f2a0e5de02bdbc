"""Bore length calculated from loads, ground and fluid, for the bores where they stand."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.distance import pdist, squareform

from siteplan.demand.bore_length import Bed, Pulses, Sizing, size_bores
from siteplan.demand.bore_resistance import Section, bore_resistance
from siteplan.demand.fluid_side import (
    UNKNOWN,
    Flows,
    FluidSide,
    fluid_lines,
    fluid_side,
    u_bend_pipe,
)
from siteplan.demand.ground_loads import (
    SEASON_YEARS,
    earth_lines,
    load_lines,
    pulses_of,
)
from siteplan.demand.model import Line, Required
from siteplan.geometry.inclined import downward, mean_gap
from siteplan.heat_balance import Direction, directions
from siteplan.layout.elements import Bore
from siteplan.site.energy import Energy
from siteplan.units.heat import (
    format_conductivity,
    format_difference,
    format_resistance,
    format_temperature,
)
from siteplan.units.lengths import format_length, format_power, rough_length
from siteplan.units.model import UnitSystem

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Calculated:
    """Bore length required for one arrangement of bores, and what decides it.

    Parameters
    ----------
    decides
        Heating or cooling.
    pulses, sizing
        Of the time that asks for more: the first season, or the last year.
    years
        That time, from the first start.
    other
        Of the time that asks for less.
    bore_resistance
        Fluid to bore wall [m K/W].
    side
        Fluid and pipe.
    """

    decides: Direction
    pulses: Pulses
    sizing: Sizing
    years: float
    other: Sizing
    bore_resistance: float
    side: FluidSide


def bed_of(energy: Energy, diameter_m: float, pipe_resistance: float) -> Bed:
    """Ground and bore for the pulse equation.

    Raises
    ------
    ValueError
        The U-bend does not fit in the bore.
    """
    loop, earth = energy.loop, energy.earth
    section = Section(
        bore_radius_m=diameter_m / 2,
        pipe_radius_m=loop.pipe_diameter_m / 2,
        shank_m=loop.shank_m,
        grout=loop.grout,
        ground=earth.conductivity,
        pipe_resistance=pipe_resistance,
    )
    return Bed(
        earth.conductivity,
        earth.diffusivity_m2s,
        diameter_m / 2,
        bore_resistance(section),
        loop.top_m,
        energy.years,
    )


def calculate_bores(
    energy: Energy,
    diameter_m: float,
    bores: Sequence[Bore] = (),
    *,
    flows: Flows = UNKNOWN,
) -> Calculated:
    """Length required of bores where they stand; without any, of bores far from one another.

    Raises
    ------
    ValueError
        The U-bend does not fit in the bore, the fluid would freeze, or no length is enough.
    """
    distances, ground = distances_of(bores), energy.earth.temperature_c
    # both directions: the one that asks for more decides, and which it is depends on ground and
    # fluid
    seasons = []
    for way in directions(energy):
        side = fluid_side(energy, way, u_bend_pipe(energy), flows)
        bed = bed_of(energy, diameter_m, side.resistance)
        difference = ground - side.mean_c if way == "heating" else side.mean_c - ground
        # a surplus of the other direction counts only once it has come in: the first season, in
        # which nothing has come back, is sized for beside the last year
        times = [
            (size_bores(pulses, replace(bed, years=years), difference, distances), pulses, years)
            for pulses, years in (
                (pulses_of(energy, way), energy.years),
                (pulses_of(energy, way, first=True), SEASON_YEARS),
            )
        ]
        (other, *_), (sizing, pulses, years) = sorted(times, key=lambda time: time[0].length_m)
        seasons.append(Calculated(way, pulses, sizing, years, other, bed.bore_resistance, side))
    return max(seasons, key=lambda season: season.sizing.length_m)


def distances_of(bores: Sequence[Bore]) -> Floats:
    """Distances of all pairs of bores, averaged over the depth where they lean [m]."""
    tops = np.array([(bore.x_m, bore.y_m) for bore in bores]).reshape(-1, 2)
    if not any(bore.tilt_deg for bore in bores):
        return pdist(tops)
    ways = downward([bore.tilt_deg for bore in bores], [bore.azimuth_deg for bore in bores])
    between = np.zeros((len(bores), len(bores), 3))
    between[..., :2] = tops[None, :] - tops[:, None]
    apart = ways[None, :] - ways[:, None]
    # bores that fan out part with depth: their collars' distance would make them neighbours they
    # are not
    mean = mean_gap(between, apart, min(bore.depth_m for bore in bores))
    return np.asarray(squareform(mean, checks=False))


def required_bores(
    energy: Energy,
    diameter_m: float,
    bores: Sequence[Bore],
    unit: UnitSystem,
    *,
    flows: Flows = UNKNOWN,
) -> Required:
    """Drilled length required of bores where they stand, with the reasoning.

    Raises
    ------
    ValueError
        The U-bend does not fit in the bore, the fluid would freeze, or no length is enough.
    """
    calculated = calculate_bores(energy, diameter_m, bores, flows=flows)
    drilled = calculated.sizing.length_m + max(1, len(bores)) * energy.loop.top_m
    length = rough_length(drilled, unit, "up")
    return Required(
        rounded_up(drilled),
        "calculated",
        f"{length} calculated: {_in_words(energy, calculated, len(bores), unit)}",
        lines=(
            *_lines(energy, calculated, len(bores), unit),
            Line("bore required", length, "and above the U-bend's beginning, of each bore"),
        ),
    )


def rounded_up(length_m: float) -> float:
    """Length to the next millimetre, so that iterating comes to rest."""
    return math.ceil(length_m * 1000.0 - 1e-6) / 1000.0


def _lines(
    energy: Energy, calculated: Calculated, bores: int, unit: UnitSystem
) -> tuple[Line, ...]:
    earth, sizing = energy.earth, calculated.sizing
    years, month, peak = (format_resistance(value, unit) for value in sizing.resistances)
    named = f"{energy.years:.0f} years", "half a year, nothing come back yet"
    when, other = named if calculated.years == energy.years else named[::-1]
    stand = f"{bores} bores where they stand" if bores > 1 else "one bore, or bores far apart"
    length = rough_length(sizing.length_m, unit, "up")
    return (
        *load_lines(energy, calculated.decides, unit),
        Line("ground, undisturbed", format_temperature(earth.temperature_c, unit)),
        *earth_lines(earth, unit),
        *fluid_lines(calculated.side, unit),
        Line(
            "bore resistance Rb", format_resistance(calculated.bore_resistance, unit), "multipole"
        ),
        Line("6 hours Rh", peak, "cylinder source"),
        Line("a month Rm", month, "cylinder source"),
        Line(f"{when} Ry", years, "cylinder source"),
        Line("ground less mean fluid", format_difference(sizing.difference_k, unit)),
        Line("taken by neighbours Tp", format_difference(sizing.penalty_k, unit), stand),
        Line("exchanging", length, "(qh (Rb + Rh) + qm Rm + qy Ry)/(difference - Tp)"),
        Line(f"exchanging for {other}", rough_length(calculated.other.length_m, unit, "up")),
        Line("U-bend begins at", format_length(energy.loop.top_m, unit), "[loop] top"),
    )


def _in_words(energy: Energy, calculated: Calculated, bores: int, unit: UnitSystem) -> str:
    peak = format_power(calculated.pulses.peak_w, unit)
    verb = "drawn from" if calculated.decides == "heating" else "given to"
    ground = format_temperature(energy.earth.temperature_c, unit)
    difference = format_difference(calculated.sizing.difference_k, unit)
    sentence = f"{calculated.decides} decides, {peak} {verb} the ground of {ground}, "
    sentence += f"{format_conductivity(energy.earth.conductivity, unit)}; fluid {difference} "
    sentence += "colder" if calculated.decides == "heating" else "warmer"
    if bores > 1:
        penalty = format_difference(abs(calculated.sizing.penalty_k), unit)
        verb = "take" if calculated.sizing.penalty_k >= 0 else "add"
        when = (
            "the first season"
            if calculated.years == SEASON_YEARS
            else f"{calculated.years:.0f} years"
        )
        sentence += f"; the bores where they stand {verb} {penalty} of it in {when}"
    return sentence
