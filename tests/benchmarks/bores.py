"""Bores in the ten reference areas: free places beside rows, the axis grid and a constraint solver.

The solver (OR-tools CP-SAT, the extra ``bench``) chooses among candidates on the best lattice drawn
finer; it gets that lattice as a hint. Every figure comes from a process of its own, one after the
other, so that the peak memory is that method's own.
"""

from __future__ import annotations

import argparse
import json
import math
import multiprocessing
import resource
import time
import tomllib
from pathlib import Path

import numpy as np
import shapely
import shapely.affinity
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from shapely.geometry import shape
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.points.bound import packing_bound
from siteplan.geometry.points.packing import centre_of, pack_points, pack_rows
from siteplan.geometry.tolerance import TOLERANCE

REFERENCES = Path(__file__).parent.parent / "references"
SPACINGS_M = (6.1, 4.6)
MOST_CANDIDATES = 4000
COUNTS = (3, 10, 30, 100, 300, 1000, 1500)
VERTICES = (100, 1000, 10_000)

Points = NDArray[np.float64]


def areas() -> dict[str, BaseGeometry]:
    """The ten areas, by the letter of their names."""
    text = (REFERENCES / "areas.geojson").read_text(encoding="utf-8")
    return {
        feature["properties"]["name"][0]: shape(feature["geometry"])
        for feature in json.loads(text)["features"]
    }


def axis_grid(area: BaseGeometry, spacing: float) -> Points:
    """Grid along the axes from the corner of the bounding box."""
    west, south, east, north = area.bounds
    x, y = np.meshgrid(np.arange(west, east, spacing), np.arange(south, north, spacing))
    grid = np.column_stack([x.ravel(), y.ravel()])
    return grid[shapely.dwithin(area, shapely.points(grid), TOLERANCE)]


def candidates(area: BaseGeometry, spacing: float) -> tuple[Points, int]:
    """The best lattice, then finer places on it and on the boundary; how many the lattice has."""
    patterns = pack_rows(area, spacing)
    lattice = np.vstack([pattern.points for pattern in patterns])
    fullest = max(patterns, key=lambda pattern: len(pattern.points))
    angle = math.radians(fullest.direction_deg)
    reach = math.dist(area.bounds[:2], area.bounds[2:])
    for parts in range(10, 1, -1):
        step = spacing / parts
        edge = shapely.get_coordinates(shapely.segmentize(area.boundary, step))
        number = np.arange(-math.ceil(reach / step), math.ceil(reach / step) + 1)
        i, j = (axis.ravel() for axis in np.meshgrid(number, number))
        turned = np.array([[math.cos(angle), math.sin(angle)]])
        across = np.array([[math.cos(angle + math.pi / 3), math.sin(angle + math.pi / 3)]])
        fine = fullest.points[0] + step * (i[:, None] * turned + j[:, None] * across)
        fine = fine[shapely.dwithin(area, shapely.points(fine), TOLERANCE)]
        if len(lattice) + len(fine) + len(edge) <= MOST_CANDIDATES:
            break
    others = np.vstack([fine, edge])
    new = cKDTree(lattice).query(others)[0] > 1e-4
    return np.vstack([lattice, others[new]]), len(lattice)


def cliques(points: Points, spacing: float) -> list[list[int]]:
    """Sets of candidates all too near to each other, every such pair in one of them."""
    tree = cKDTree(points)
    least = spacing - TOLERANCE
    found = []
    for index, near in enumerate(tree.query_ball_point(points, least * (1 - 1e-12))):
        others = np.array([other for other in near if other > index], dtype=np.int64)
        distance = np.hypot(*(points[others] - points[index]).T)
        left = others[np.argsort(-distance, kind="stable")]
        while left.size:
            middle = (points[index] + points[left[0]]) / 2
            clique = tree.query_ball_point(middle, least / 2 * (1 - 1e-12))
            clique = sorted({*clique, index, int(left[0])})
            found.append(clique)
            left = left[~np.isin(left, clique)]
    return found


def solved(area: BaseGeometry, spacing: float, seconds: float) -> int:
    """What the constraint solver places within a number of seconds on two threads."""
    from ortools.sat.python import cp_model

    points, hinted = candidates(area, spacing)
    model = cp_model.CpModel()
    chosen = [model.new_bool_var(f"p{number}") for number in range(len(points))]
    for clique in cliques(points, spacing):
        model.add_at_most_one(chosen[number] for number in clique)
    for number, variable in enumerate(chosen):
        model.add_hint(variable, number < hinted)
    model.maximize(sum(chosen))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2
    solver.solve(model)
    return round(solver.objective_value)


def count_of(method: str, area: BaseGeometry, spacing: float, amount: float) -> int:
    """Points that a method places; ``amount`` is the effort, or the seconds of the solver."""
    if method == "grid":
        return len(axis_grid(area, spacing))
    if method == "solver":
        return solved(area, spacing, amount)
    if method == "bound":
        return packing_bound(area, spacing)
    return len(pack_points(area, spacing, arrangement=method, effort=amount))  # type: ignore[arg-type]


def _measured(method: str, area: BaseGeometry, spacing: float, amount: float) -> tuple[float, ...]:
    start = time.process_time()
    count = count_of(method, area, spacing, amount)
    seconds = time.process_time() - start
    return count, seconds, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def measured(
    method: str, area: BaseGeometry, spacing: float, amount: float = 1.0
) -> tuple[float, ...]:
    """Points, processor seconds, and peak memory of a process of its own [MB]."""
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        return pool.apply(_measured, (method, area, spacing, amount))


def compare(letters: str, efforts: list[float], solver_seconds: float) -> None:
    """Print all methods side by side: count / processor seconds / peak MB."""
    names = ["grid", "rows", *(f"free x{effort:g}" for effort in efforts)]
    names += ["CP-SAT"] if solver_seconds > 0 else []
    print("points / processor seconds / peak MB")
    print("| spacing | area | " + " | ".join(names) + " | bound |")
    for spacing in SPACINGS_M:
        for letter, area in areas().items():
            if letter not in letters:
                continue
            west, south = centre_of(area)
            local = shapely.affinity.translate(area, -west, -south)
            tasks = [("grid", 1.0), ("rows", 1.0), *(("free", effort) for effort in efforts)]
            tasks += [("solver", solver_seconds)] if solver_seconds > 0 else []
            cells = [
                "{:.0f} / {:.2f} / {:.0f}".format(*measured(method, local, spacing, amount))
                for method, amount in tasks
            ]
            bound = packing_bound(local, spacing)
            print(f"| {spacing} | {letter} | " + " | ".join(cells) + f" | {bound} |", flush=True)


def growth() -> None:
    """Print what rows and free places cost as points, then vertices, grow."""
    print("processor seconds / peak MB")
    print("| area | rows | free |")
    for count in COUNTS:
        # near the densest packing, sqrt(3)/2 of a squared spacing for each point
        field = shapely.box(0, 0, *[6.1 * math.sqrt(count * math.sqrt(0.75))] * 2)
        _growth_line(f"square for about {count}", field)
    for vertices in VERTICES:
        _growth_line(
            f"circle of {vertices} vertices", shapely.Point(0, 0).buffer(40, vertices // 4)
        )


def _growth_line(name: str, area: BaseGeometry) -> None:
    cells = []
    for method in ("rows", "free"):
        count, seconds, memory = measured(method, area, 6.1)
        cells.append(f"{count:.0f} in {seconds:.2f} s, {memory:.0f} MB")
    print(f"| {name} | " + " | ".join(cells) + " |", flush=True)


def square(effort: float) -> None:
    """Print how far below the best known spacing in the unit square each count stays."""
    text = (REFERENCES / "square_packing.toml").read_text(encoding="utf-8")
    for count, best in tomllib.loads(text)["largest_least_distance"].items():
        start = time.process_time()
        points = pack_points(shapely.box(0, 0, 10, 10), 0.5, count=int(count), effort=effort)
        least = cKDTree(points).query(points, k=2)[0][:, 1].min() / 10
        seconds = time.process_time() - start
        print(
            f"n = {count}: {least / best - 1:+.1e} of the best known, {seconds:.1f} s", flush=True
        )


def main() -> None:
    """Print the tables asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("table", choices=["compare", "growth", "square"])
    parser.add_argument("--areas", default="ABCDEFGHIJ", help="letters of the areas to compare on")
    parser.add_argument("--effort", type=float, nargs="+", default=[1.0])
    parser.add_argument("--solver-seconds", type=float, default=60.0, help="0: without the solver")
    options = parser.parse_args()
    if options.table == "compare":
        compare(options.areas, options.effort, options.solver_seconds)
    elif options.table == "growth":
        growth()
    else:
        square(options.effort[0])


if __name__ == "__main__":
    main()
