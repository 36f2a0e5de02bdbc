"""Length of bores by superposing every month of all years, beside the pulses of the plan.

    python tests/benchmarks/bore_years.py SITE [SITE ...]

Of the plan only the places of the bores, the resistance of a bore and the loads are used, not its
response functions. Monthly flows follow a bell whose hardest month has the stated share of the
year; the machine starts with the first month whose net flow goes in the direction looked at, so
that nothing has come back before the first hardest month. Point sources and their mirror images are
integrated over both bores; six hours of design load end every hardest month.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import erfc, exp1

import siteplan
from siteplan.demand.calculated import bed_of, calculate_bores
from siteplan.demand.fluid_side import Flows, fluid_side, u_bend_pipe
from siteplan.demand.required import laid_out
from siteplan.heat_balance import Direction, design_heat, directions, ground_share, loop_flow
from siteplan.site.energy import Energy

Floats = NDArray[np.float64]
MONTH_H = 730.0
PEAK_S = 6 * 3600.0
POINTS, WEIGHTS = np.polynomial.legendre.leggauss(80)
FEW, FEW_WEIGHTS = np.polynomial.legendre.leggauss(8)


def bell(share: float) -> Floats:
    """Twelve shares of a year around month 6, the greatest as stated."""
    months = np.arange(12) - 6.0
    if share <= 1 / 12 + 1e-9:
        return np.full(12, 1 / 12)

    def weights(wide: float) -> Floats:
        return np.asarray(np.exp(-((months / wide) ** 2)))

    wide = brentq(lambda s: 1 / weights(s).sum() - share, 0.05, 60.0)
    return weights(wide) / weights(wide).sum()


@dataclass(frozen=True)
class Field:
    """Bores of one length in the ground."""

    gaps: Floats
    count: int
    radius: float
    top: float
    conductivity: float
    diffusivity: float

    def rise(self, length: float, times: Floats) -> Floats:
        """Mean rise of all bores' walls for a watt a metre in each, after some times [m K/W]."""
        distinct, many = np.unique(self.gaps.round(2), return_counts=True)
        own = np.array([self._pair(self.radius, length, t) for t in times])
        for gap, number in zip(distinct, many, strict=True):
            own += 2 * number / self.count * np.array([self._pair(gap, length, t) for t in times])
        return own

    def _pair(self, distance: float, length: float, time: float) -> float:
        """Mean rise along a bore for a watt a metre of another [m K/W]."""
        reach = 2 * np.sqrt(self.diffusivity * time)
        # v = distance sinh(x) takes the peak out of near pairs of points
        end = np.arcsinh(length / distance)
        x = end * (POINTS + 1) / 2
        v = distance * np.sinh(x)
        real = np.hypot(distance, v)
        direct = 2 * (length - v) * erfc(real / reach) / real
        # pairs of points a height v apart lie 2 top + v to 2 (top + length) - v below the images
        sums = 2 * self.top + v[:, None] + (length - v)[:, None] * (FEW + 1)
        image = np.hypot(distance, sums)
        mirrored = 2 * (length - v) * ((erfc(image / reach) / image) * FEW_WEIGHTS / 2).sum(axis=1)
        integrand = (direct - mirrored) * distance * np.cosh(x)
        total = float((WEIGHTS * integrand).sum()) * end / 2
        return total / (4 * np.pi * self.conductivity * length)


def monthly(energy: Energy, way: Direction) -> tuple[Floats, int]:
    """Net flow of twelve months from the first start, and which of them is the hardest [W]."""
    loads = energy.loads
    share = {each: ground_share(energy, each, year=True) for each in ("heating", "cooling")}
    heat = loads.heating_w * share["heating"] * loads.heating_hours * bell(loads.heating_month)
    for side in loads.sides:
        heat = heat + side.ground_share * side.year_wh * bell(side.hardest)
    cool = loads.cooling_w * share["cooling"] * loads.cooling_hours * bell(loads.cooling_month)
    flows = (heat - np.roll(cool, 6)) / MONTH_H
    if way == "cooling":
        flows = np.roll(-flows, 6)
    start = 6
    while flows[start - 1] > 0 and start > 1:
        start -= 1
    return np.roll(flows, -start), 6 - start


def simulate(
    energy: Energy, field: Field, resistance: float, way: Direction, difference: float
) -> tuple[float, float, int]:
    """Length for the hardest hour of all years, and of the first [m]; the year of the former."""
    flows, hardest = monthly(energy, way)
    flows = np.tile(flows, int(energy.years))
    hard = np.arange(len(flows)) % 12 == hardest
    times = np.arange(1, len(flows) + 1) * MONTH_H * 3600
    known = np.unique(np.geomspace(1, len(times), 24).round().astype(int)) - 1
    scale = field.radius**2 / (4 * field.diffusivity * PEAK_S)
    short = float(exp1(scale)) / (4 * np.pi * field.conductivity)
    peak = design_heat(energy, way)
    steps = np.diff(np.concatenate(([0.0], flows)))

    def rises(length: float) -> Floats:
        each = field.rise(length / field.count, times[known])
        response = np.interp(np.log(times), np.log(times[known]), each)
        slow = np.convolve(steps, response)[: len(times)]
        return np.where(hard, slow + (peak - flows) * short + peak * resistance, 0.0) / length

    def length_until(months: int) -> float:
        return float(
            brentq(lambda x: rises(x)[:months].max() - difference, 5.0, 1e5, xtol=0.1, rtol=1e-4)
        )

    whole = length_until(len(flows))
    return whole, length_until(12), int(rises(whole).argmax()) // 12 + 1


def main() -> None:
    """Print a line for each site and direction."""
    parser = argparse.ArgumentParser()
    parser.add_argument("site", nargs="+", type=Path)
    for path in parser.parse_args().site:
        site = siteplan.read_site(path)
        layout = siteplan.plan_site(site, system="vertical").drawn.layout
        energy = site.exchanger.energy
        if layout is None or energy is None:
            continue
        laid, across = laid_out(layout), site.exchanger.vertical.diameter_m
        flows = Flows(laid.circuit_flow_m3s, loop_flow(site.exchanger))
        planned = calculate_bores(energy, across, laid.bores, flows=flows)
        places = np.array([(bore.x_m, bore.y_m) for bore in laid.bores])
        upper = np.triu_indices(len(places), 1)
        gaps = np.hypot(*(places[upper[0]] - places[upper[1]]).T)
        for way in directions(energy):
            side = fluid_side(energy, way, u_bend_pipe(energy), flows)
            bed = bed_of(energy, across, side.resistance)
            earth = energy.earth
            field = Field(
                gaps, len(places), across / 2, bed.top_m, earth.conductivity, earth.diffusivity_m2s
            )
            difference = abs(earth.temperature_c - side.mean_c)
            whole, first, year = simulate(energy, field, bed.bore_resistance, way, difference)
            print(
                f"{path.name}, {way}: every month {whole:.1f} m (hardest in year {year}; "
                f"first year alone {first:.1f} m); planned {planned.sizing.length_m:.1f} m, "
                f"{planned.decides} decides",
                flush=True,
            )


if __name__ == "__main__":
    main()
