"""Bore length calculated from loads, ground and fluid, for the bores where they stand."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from siteplan.demand.bore_length import Bed, Pulses, Sizing, size_bores
from siteplan.demand.bore_resistance import Section, bore_resistance
from siteplan.demand.fluid_side import (
    UNKNOWN,
    Flows,
    FluidSide,
    fluid_figures,
    fluid_side,
    u_bend_pipe,
)
from siteplan.demand.ground_loads import (
    SEASON_YEARS,
    earth_figures,
    load_figures,
    pulses_of,
)
from siteplan.demand.model import DemandError, Required
from siteplan.findings.model import Reason, reason
from siteplan.geometry.inclined import downward, mean_gap
from siteplan.heat_balance import Direction, directions
from siteplan.layout.elements import Bore
from siteplan.site.energy import Energy

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
    DemandError
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
    if not section.fits:
        raise DemandError(reason("u-bend-not-in-bore"))
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
    DemandError
        The U-bend does not fit in the bore, or no length is enough.
    FluidRangeError
        The fluid is frozen, or hotter than its table goes.
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
    from scipy.spatial.distance import pdist, squareform  # noqa: PLC0415

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
    energy: Energy, diameter_m: float, bores: Sequence[Bore], *, flows: Flows = UNKNOWN
) -> Required:
    """Drilled length required of bores where they stand, with the calculation.

    Raises
    ------
    DemandError
        As of `calculate_bores`.
    """
    calculated = calculate_bores(energy, diameter_m, bores, flows=flows)
    drilled = calculated.sizing.length_m + max(1, len(bores)) * energy.loop.top_m
    return Required(
        rounded_up(drilled),
        "calculated",
        _in_short(energy, calculated, len(bores), drilled),
        figures=(
            *_figures(energy, calculated, len(bores)),
            reason("figure-bore-required", length_m=drilled),
        ),
    )


def rounded_up(length_m: float) -> float:
    """Length to the next millimetre, so that iterating comes to rest."""
    return math.ceil(length_m * 1000.0 - 1e-6) / 1000.0


def _figures(energy: Energy, calculated: Calculated, bores: int) -> tuple[Reason, ...]:
    earth, sizing = energy.earth, calculated.sizing
    years, month, peak = sizing.resistances
    named = reason("years-sized-for", years=energy.years), reason("half-a-year")
    when, other = named if calculated.years == energy.years else named[::-1]
    stand = reason("bores-where-they-stand", bores=bores) if bores > 1 else reason("bores-alone")
    return (
        *load_figures(energy, calculated.decides),
        reason("figure-ground-undisturbed", ground_c=earth.temperature_c),
        *earth_figures(earth),
        *fluid_figures(calculated.side),
        reason("figure-bore-resistance", resistance=calculated.bore_resistance),
        reason("figure-hours-resistance", resistance=peak),
        reason("figure-month-resistance", resistance=month),
        reason("figure-years-resistance", resistance=years, when=when),
        reason("figure-difference", difference_k=sizing.difference_k),
        reason("figure-neighbours", penalty_k=sizing.penalty_k, stand=stand),
        reason("figure-exchanging", length_m=sizing.length_m),
        reason("figure-exchanging-else", length_m=calculated.other.length_m, when=other),
        reason("figure-u-bend-top", top_m=energy.loop.top_m),
    )


def _in_short(energy: Energy, calculated: Calculated, bores: int, drilled_m: float) -> Reason:
    heating = calculated.decides == "heating"
    return reason(
        "calculated-bores",
        length_m=drilled_m,
        decides=calculated.decides,
        peak_w=calculated.pulses.peak_w,
        way=reason("drawn-from" if heating else "given-to"),
        ground_c=energy.earth.temperature_c,
        conductivity=energy.earth.conductivity,
        difference_k=calculated.sizing.difference_k,
        warmth=reason("colder" if heating else "warmer"),
        neighbours=_neighbours(calculated) if bores > 1 else None,
    )


def _neighbours(calculated: Calculated) -> Reason:
    """What the other bores take of the temperature difference, and when."""
    when = reason("years-sized-for", years=calculated.years)
    if calculated.years == SEASON_YEARS:
        when = reason("first-season")
    # they never add: a surplus of the other direction is left to the first season, without it
    return reason("neighbours-take", penalty_k=calculated.sizing.penalty_k, when=when)
