"""Bore length calculated from loads, ground and fluid, for the bores where they stand."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.distance import pdist, squareform

from siteplan.demand.bore_length import Bed, Pulses, Sizing, size_bores
from siteplan.demand.bore_resistance import Section, bore_resistance, wall_resistance
from siteplan.demand.model import Required
from siteplan.geometry.inclined import downward, mean_gap
from siteplan.heat_units import format_conductivity, format_difference, format_temperature
from siteplan.layout.model import Bore
from siteplan.site.energy import BoreLoop, Earth, Energy
from siteplan.site.model import DisplayUnit
from siteplan.units import format_length, format_power, rough

Floats = NDArray[np.float64]
Direction = Literal["heating", "cooling"]

BTU_PER_WATT_HOUR = 3.412
HOURS_A_YEAR = 8760.0
HOURS_A_MONTH = 730.0


@dataclass(frozen=True, slots=True)
class Calculated:
    """Bore length required for one arrangement of bores, and what decides it."""

    decides: Direction
    pulses: Pulses
    sizing: Sizing
    bore_resistance: float


def ground_share(energy: Energy, direction: Direction) -> float:
    """Share of a load that flows between exchanger and ground [-].

    Heating (COP - 1)/COP; cooling (EER + 3.412)/EER, as the compressor's work goes down too.

    Examples
    --------
    At a COP of 5 four fifths of the heat come from the ground (common practice, no source).

    >>> from siteplan.site.energy import Loads
    >>> loads = Loads(10e3, 8e3, 1800, 600, 5.0, 13.648, 0.2, 0.3)
    >>> energy = Energy(loads, None, None, None, 25)
    >>> ground_share(energy, "heating"), round(ground_share(energy, "cooling"), 3)
    (0.8, 1.25)
    """
    if direction == "heating":
        return (energy.loads.cop - 1.0) / energy.loads.cop
    return (energy.loads.eer + BTU_PER_WATT_HOUR) / energy.loads.eer


def pulses_of(energy: Energy, direction: Direction) -> Pulses:
    """Heat flows of the design hours, the hardest month and the year, one direction positive [W].

    The month and the year follow from the design load and its equivalent full-load hours; the
    year is what is drawn in the direction sized for, less what is given back in the other.
    """
    loads = energy.loads
    share = {way: ground_share(energy, way) for way in ("heating", "cooling")}
    drawn = loads.heating_w * share["heating"] * loads.heating_hours
    given = loads.cooling_w * share["cooling"] * loads.cooling_hours
    if direction == "heating":
        peak, year, net = loads.heating_w * share["heating"], drawn, drawn - given
        month = year * loads.heating_month / HOURS_A_MONTH
    else:
        peak, year, net = loads.cooling_w * share["cooling"], given, given - drawn
        month = year * loads.cooling_month / HOURS_A_MONTH
    return Pulses(peak, min(month, peak), net / HOURS_A_YEAR)


def bed_of(energy: Energy, diameter_m: float) -> Bed:
    """Ground and bore for the pulse equation.

    Raises
    ------
    ValueError
        The U-bend does not fit in the bore.
    """
    loop, earth = energy.loop, energy.earth
    resistance = bore_resistance(_section(loop, earth, diameter_m))
    return Bed(
        earth.conductivity,
        earth.diffusivity_m2s,
        diameter_m / 2,
        resistance,
        loop.top_m,
        energy.years,
    )


def _section(loop: BoreLoop, earth: Earth, diameter_m: float) -> Section:
    wall = wall_resistance(loop.dimension_ratio, loop.pipe_conductivity)
    return Section(
        bore_radius_m=diameter_m / 2,
        pipe_radius_m=loop.pipe_diameter_m / 2,
        shank_m=loop.shank_m,
        grout=loop.grout,
        ground=earth.conductivity,
        pipe_resistance=wall + loop.film_resistance,
    )


def calculate_bores(energy: Energy, diameter_m: float, bores: Sequence[Bore] = ()) -> Calculated:
    """Length required of bores where they stand; without any, of bores far from one another.

    Raises
    ------
    ValueError
        The U-bend does not fit in the bore, or no length is enough.
    """
    bed = bed_of(energy, diameter_m)
    distances = distances_of(bores)
    fluid, ground = energy.fluid, energy.earth.temperature_c
    differences: dict[Direction, float] = {}
    if energy.loads.heating_w:
        differences["heating"] = ground - (fluid.coldest_c - fluid.heating_drop_k / 2)
    if energy.loads.cooling_w:
        differences["cooling"] = fluid.warmest_c + fluid.cooling_rise_k / 2 - ground
    found = [
        Calculated(way, pulses, size_bores(pulses, bed, difference, distances), bed.bore_resistance)
        for way, difference in differences.items()
        for pulses in [pulses_of(energy, way)]
    ]
    return max(found, key=lambda one: one.sizing.length_m)


def distances_of(bores: Sequence[Bore]) -> Floats:
    """Distances of all pairs of bores, averaged over the depth where they lean [m]."""
    tops = np.array([(bore.x_m, bore.y_m) for bore in bores]).reshape(-1, 2)
    if not any(bore.tilt_deg for bore in bores):
        return pdist(tops)
    ways = downward([bore.tilt_deg for bore in bores], [bore.azimuth_deg for bore in bores])
    between = np.zeros((len(bores), len(bores), 3))
    between[..., :2] = tops[None, :] - tops[:, None]
    apart = ways[None, :] - ways[:, None]
    mean = mean_gap(between, apart, min(bore.depth_m for bore in bores))
    return np.asarray(squareform(mean, checks=False))


def required_bores(
    energy: Energy, diameter_m: float, bores: Sequence[Bore], unit: DisplayUnit
) -> Required:
    """Length required of bores where they stand, with the reasoning.

    Raises
    ------
    ValueError
        The U-bend does not fit in the bore, or no length is enough.
    """
    found = calculate_bores(energy, diameter_m, bores)
    return Required(
        _rounded_up(found.sizing.length_m),
        "calculated",
        _in_words(energy, found, len(bores), unit),
    )


def _rounded_up(length_m: float) -> float:
    """Length to the next millimetre, so that iterating comes to rest."""
    return math.ceil(length_m * 1000.0 - 1e-6) / 1000.0


def _in_words(energy: Energy, found: Calculated, bores: int, unit: DisplayUnit) -> str:
    length = format_length(found.sizing.length_m, unit, rough(unit), rounding="up")
    peak = format_power(found.pulses.peak_w, unit)
    verb = "drawn from" if found.decides == "heating" else "given to"
    ground = format_temperature(energy.earth.temperature_c, unit)
    difference = format_difference(found.sizing.difference_k, unit)
    words = f"{length} calculated: {found.decides} decides, {peak} {verb} the ground of {ground}, "
    words += f"{format_conductivity(energy.earth.conductivity, unit)}; fluid {difference} "
    words += "colder" if found.decides == "heating" else "warmer"
    if bores > 1:
        penalty = format_difference(abs(found.sizing.penalty_k), unit)
        verb = "take" if found.sizing.penalty_k >= 0 else "add"
        words += f"; the bores where they stand {verb} {penalty} of it in {energy.years:.0f} years"
    return words
