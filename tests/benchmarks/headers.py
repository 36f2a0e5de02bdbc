"""Header trees beside the bound on any tree: 5 to 60 bores among 0 or 20 rotated obstacles.

No tree that joins bores and entry is shorter than the shortest spanning tree of straight lines
between them, obstacles ignored, times sqrt(3)/2 (conjectured by Gilbert and Pollak 1968 and never
refuted), and surely not times 0.8241 (Chung and Graham 1985, proven).
"""

from __future__ import annotations

import math
import statistics
import time

import numpy as np
import numpy.typing as npt
import shapely
import shapely.ops
from scipy.sparse.csgraph import minimum_spanning_tree
from scipy.spatial.distance import cdist
from shapely import Polygon, affinity, box
from shapely.geometry.base import BaseGeometry

from siteplan.layout.header.router import route_header
from siteplan.layout.model import Ground, Header
from siteplan.site.model import Entry

RUNS = 5
SPACING_M = 6.1
CLEARANCE_M = 1.0
STEINER, PROVEN = math.sqrt(3) / 2, 0.8241


def field(
    count: int, obstacles: int, *, rows: bool, seed: int
) -> tuple[BaseGeometry, npt.NDArray[np.float64]]:
    """Ground with holes, and bores on it: in rows, or scattered a spacing apart."""
    chance = np.random.default_rng(seed)
    side = SPACING_M * (math.ceil(math.sqrt(count)) + 2) * 1.6
    holes: list[Polygon] = []
    while len(holes) < obstacles:
        x, y = chance.uniform(2, side - 2, 2)
        wide, high, turn = chance.uniform(1, 3), chance.uniform(1, 3), chance.uniform(0, 90)
        hole = affinity.rotate(box(x, y, x + wide, y + high), turn)
        if all(hole.distance(other) > 2 * CLEARANCE_M for other in holes):
            holes.append(hole)
    ground = box(0, 0, side, side) - shapely.union_all(holes).buffer(CLEARANCE_M)
    ground = max(shapely.get_parts(ground), key=lambda part: part.area)
    if rows:
        steps = np.arange(SPACING_M, side - 2, SPACING_M)
        places = np.array([(x, y) for y in steps for x in steps])
    else:
        places = chance.uniform(0, side, (40 * count, 2))
    kept: list[npt.NDArray[np.float64]] = []
    for place in places:
        apart = all(math.dist(place, other) >= SPACING_M - 1e-9 for other in kept)
        if len(kept) < count and apart and ground.buffer(-0.1).covers(shapely.Point(place)):
            kept.append(place)
    return ground, np.array(kept)


def routed(
    ground: BaseGeometry, bores: npt.NDArray[np.float64], *, rows: bool
) -> tuple[Header, float]:
    """Header, and its median processor time [s]."""
    side = ground.bounds[2]
    entry = Entry("E1", shapely.ops.nearest_points(ground, shapely.Point(side / 2, 0))[0])
    view = Ground(ground, ground, (entry,))
    ends = [[(float(x), float(y))] for x, y in bores]
    times = []
    for _ in range(RUNS):
        begun = time.process_time()
        header = route_header(view, ends, along_deg=0.0 if rows else None)
        times.append(time.process_time() - begun)
    assert header is not None
    return header, statistics.median(times)


def spanning(bores: npt.NDArray[np.float64], header: Header) -> float:
    """Shortest spanning tree of straight lines, obstacles ignored [m]."""
    start = (header.entry.point.x, header.entry.point.y)
    places = np.vstack([bores, start])
    return float(minimum_spanning_tree(cdist(places, places)).sum())


def main() -> None:
    """Print the table."""
    print("| bores | obstacles | stand | header m | spanning tree m | over bound | s |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for rows in (True, False):
        for count in (5, 20, 60):
            for obstacles in (0, 20):
                ground, bores = field(count, obstacles, rows=rows, seed=count + obstacles)
                header, seconds = routed(ground, bores, rows=rows)
                tree = spanning(bores, header)
                over = header.length_m / (STEINER * tree)
                stand = "in rows" if rows else "scattered"
                print(
                    f"| {len(bores)} | {obstacles} | {stand} | {header.length_m:.1f} | {tree:.1f} "
                    f"| {over:.3f} | {seconds:.2f} |"
                )
    print(f"\nBound: {STEINER:.4f} x spanning tree; proven: {PROVEN} x.")


if __name__ == "__main__":
    main()
