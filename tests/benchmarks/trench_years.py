"""Length of two-pipe trench by a simulation of the ground in section, beside that of the plan.

    python tests/benchmarks/trench_years.py SITE [SITE ...]

Finite volumes between the middle of a trench and the middle between two, down to 15 m, whose
surface keeps its temperature: nothing of line sources, images or closed forms. Of the plan come the
loads by month, the undisturbed ground, and what film and pipe resist. Heat flows of all months of
six years and six design hours are stepped through implicitly.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csc_matrix, diags
from scipy.sparse.linalg import splu

import siteplan
from siteplan.demand.calculated_trench import calculate_trench, climate_of
from siteplan.demand.fluid_side import Flows
from siteplan.demand.ground_loads import month_flows
from siteplan.demand.ground_temperature import ground_temperature
from siteplan.demand.required import laid_out
from siteplan.heat_balance import HARDEST, MONTHS, design_heat, loop_flow
from siteplan.hydraulics.pipes import pipes
from siteplan.site.trench_kinds import trench_kinds

Floats = NDArray[np.float64]
FINE = 0.04
DEEP = 15.0
YEARS = 6
MONTH_S = 730 * 3600.0
DAY_S = 86_400.0


def edges(until: float, middle: float) -> Floats:
    """Edges of cells from 0, fine around a place and growing away from it [m]."""
    centre = [middle - FINE / 2 + FINE * number for number in range(2)]
    low, high, step = [centre[0]], [centre[1]], FINE
    while low[-1] > 0:
        step = FINE if middle - low[-1] < 0.3 else step * 1.15
        low.append(low[-1] - step)
    step = FINE
    while high[-1] < until:
        step = FINE if high[-1] - middle < 0.3 else step * 1.15
        high.append(high[-1] + step)
    low, high = [at for at in low if at > FINE / 3], [at for at in high if at < until - FINE / 3]
    return np.array([0.0, *low[::-1], *high, until])


def section(
    aside: float, depth: float, half: float, conductivity: float, capacity: float
) -> tuple[csc_matrix, Floats, int]:
    """Exchange between cells over their heat capacity [1/s], capacities, and the pipe's cell."""
    across, down = edges(half, aside), edges(DEEP, depth)
    wide, high = np.diff(across), np.diff(down)
    columns, rows = len(wide), len(high)
    number = np.arange(columns * rows).reshape(rows, columns)
    middle = (across[:-1] + across[1:]) / 2, (down[:-1] + down[1:]) / 2
    beside = conductivity * high[:, None] / np.diff(middle[0])[None, :]
    below = conductivity * wide[None, :] / np.diff(middle[1])[:, None]
    pairs = np.concatenate(
        [
            np.stack([number[:, :-1].ravel(), number[:, 1:].ravel()], 1),
            np.stack([number[:-1].ravel(), number[1:].ravel()], 1),
        ]
    )
    through = np.concatenate([beside.ravel(), below.ravel()])
    size = columns * rows
    links = csc_matrix(
        (np.tile(through, 2), (np.r_[pairs[:, 0], pairs[:, 1]], np.r_[pairs[:, 1], pairs[:, 0]])),
        shape=(size, size),
    )
    lost = np.asarray(links.sum(axis=1)).ravel()
    lost[number[0]] += conductivity * wide / (high[0] / 2)
    heat = capacity * (high[:, None] * wide[None, :]).ravel()
    at = number[np.abs(middle[1] - depth).argmin(), np.abs(middle[0] - aside).argmin()]
    return (links - diags(lost)).tocsc(), heat, int(at)


def wall_rise(
    flows: Floats, peak: float, field: tuple[csc_matrix, Floats, int], local: float
) -> Floats:
    """Rise of the pipe's wall at the end of six design hours after each month [K m].

    ``flows`` and ``peak``: of one pipe, in all; a metre of trench of one metre in all.
    """
    exchange, heat, at = field
    slow_s, fast_s = MONTH_S / 15, 900.0
    slow, fast = (splu((diags(heat / step) - exchange).tocsc()) for step in (slow_s, fast_s))
    state, rises = np.zeros(len(heat)), []
    source = np.zeros(len(heat))
    for flow in flows:
        source[at] = flow
        for _ in range(15):
            state = slow.solve(heat / slow_s * state + source)
        hours = state.copy()
        source[at] = peak
        for _ in range(24):
            hours = fast.solve(heat / fast_s * hours + source)
        rises.append(hours[at] + peak * local)
    return np.array(rises)


def main() -> None:
    """Print a line for each site."""
    parser = argparse.ArgumentParser()
    parser.add_argument("site", nargs="+", type=Path)
    for path in parser.parse_args().site:
        site = siteplan.read_site(path)
        wanted = site.exchanger
        energy, options = wanted.energy, wanted.horizontal
        climate = energy and climate_of(energy, wanted.ground_year)
        layout = siteplan.plan_site(site, system="horizontal").drawn.layout
        if energy is None or climate is None or layout is None or options.pipes != 2:
            continue
        laid = laid_out(layout)
        pipe = pipes()[laid.pipe or "3/4 in"]
        flows = Flows(laid.circuit_flow_m3s, loop_flow(wanted))
        planned = calculate_trench(energy, climate, options, pipe, flows=flows)
        way, side = planned.decides, planned.side
        (aside, above), *_ = trench_kinds()[options.kind].at
        depth, earth = options.depth_m - above, energy.earth
        field = section(
            abs(aside),
            depth,
            options.spacing_m / 2,
            earth.conductivity,
            earth.conductivity / earth.diffusivity_m2s,
        )
        # a cell stands for a pipe of 0.208 of its width (steady flow between square cells)
        radius = 0.208 * FINE
        local = float(np.log(radius / (pipe.outer_m / 2))) / (2 * np.pi * earth.conductivity)
        peak, needed = design_heat(energy, way), []
        for first in (True, False):
            year = month_flows(energy, way, first=first)
            months = year if first else np.tile(year, YEARS)
            for later in (0, 1, 2):
                share = year[HARDEST + later] / year[HARDEST]
                if share <= 0:
                    continue
                rises = wall_rise(months / 2, peak * share / 2, field, local)
                end = HARDEST + later + (0 if first else (YEARS - 1) * MONTHS)
                total = rises[end] + peak * share / 2 * side.resistance
                day = climate.coldest_day + (0 if way == "heating" else 182.5)
                day += (later + 0.5) * 365 / 12
                ground = ground_temperature(climate, depth, day)
                needed.append(total / abs(ground - side.mean_c))
        print(
            f"{path.name}, {way}: simulated {max(needed):.1f} m, planned {planned.length_m:.1f} m "
            f"({planned.length_m / max(needed) - 1:+.1%}), steady form {planned.steady_m:.1f} m",
            flush=True,
        )


if __name__ == "__main__":
    main()
