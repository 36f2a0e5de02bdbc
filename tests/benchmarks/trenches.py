"""Length of trench in the ten reference areas, beside a brute sweep, axis rows, rings, the bound.

python tests/benchmarks/trenches.py compare [--areas ABC] [--sweep AB] [--step-deg 0.05]
python tests/benchmarks/trenches.py growth
"""

from __future__ import annotations

import argparse
import json
import math
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
from shapely import LineString, Point, Polygon, get_num_coordinates
from shapely.geometry import shape
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.lines.bends import kept_apart, lawful_pieces
from siteplan.geometry.lines.rings import contours
from siteplan.geometry.lines.rows import best_rows
from siteplan.geometry.lines.sweep import rings_of
from siteplan.geometry.offset import keep_inside
from siteplan.layout.trenches.fit import fit_trenches, total_length, trench_bound, trench_rule
from siteplan.layout.trenches.fullest import field_rule

AREAS = Path(__file__).parents[1] / "references" / "areas.geojson"
SPACING, SHORTEST, GRID = 3.0, 15.0, 0.01


def main() -> None:
    """Print the tables asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", choices=["compare", "growth"])
    parser.add_argument("--areas", default="ABCDEFGHIJ")
    parser.add_argument("--sweep", default="ABCG", help="areas swept by brute force")
    parser.add_argument("--step-deg", type=float, default=0.05)
    asked = parser.parse_args()
    if asked.what == "growth":
        growth()
        return
    print(
        "| area | axis rows | brute sweep, any gaps | straight | rings alone | best | bound | b/s |"
    )
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    for name, area in reference_areas().items():
        if name in asked.areas:
            step = asked.step_deg if name in asked.sweep else None
            print(row_of(name, area, step), flush=True)


def reference_areas() -> dict[str, BaseGeometry]:
    """Areas by their letter."""
    features = json.loads(AREAS.read_text(encoding="utf-8"))["features"]
    return {one["properties"]["name"][0]: shape(one["geometry"]) for one in features}


def row_of(name: str, area: BaseGeometry, sweep_deg: float | None) -> str:
    """One area in all ways: metres / processor seconds."""
    axis = timed(lambda: axis_rows(area))
    swept = "-" if sweep_deg is None else cell(timed(lambda: brute_sweep(area, sweep_deg)))
    straight = timed(lambda: fitted(area, "straight"))
    rings = timed(lambda: rings_alone(area))
    best = timed(lambda: fitted(area, "best"))
    bound = trench_bound(area, SPACING)
    cells = [name, cell(axis), swept, cell(straight), cell(rings), cell(best), f"{bound:.1f}"]
    return f"| {' | '.join(cells)} | {best[0] / straight[0]:.3f} |"


def timed(work: Callable[[], float]) -> tuple[float, float]:
    """Result and processor time [s]."""
    start = time.process_time()
    return work(), time.process_time() - start


def cell(result: tuple[float, float]) -> str:
    """Length and time of one cell."""
    return f"{result[0]:.1f} / {result[1]:.2f}"


def fitted(area: BaseGeometry, how: str) -> float:
    """Total of the package's own lines [m]."""
    return total_length(fit_trenches(area, SPACING, shortest=SHORTEST, shape=how))


def axis_rows(area: BaseGeometry) -> float:
    """Rows along the x axis, their heights the best there [m]."""
    rule = trench_rule(area, SPACING, shortest=SHORTEST, longest=None)
    return best_rows(rings_of(area), rule, (0.0,))[0].total_m


def rings_alone(area: BaseGeometry) -> float:
    """Rings along the edge at whole spacings, those too near to a longer one cut [m]."""
    rule = trench_rule(area, SPACING, shortest=SHORTEST, longest=None)
    bends = field_rule(rule).bends
    rings: list[LineString] = []
    depth = 0.0
    while not (inner := keep_inside(area, depth)).is_empty:
        pieces = [
            piece
            for curve in contours(inner, bends.radius_m)
            for piece in lawful_pieces(curve, bends, shortest_m=SHORTEST)
            if piece.length >= SHORTEST
        ]
        rings += kept_apart(pieces, SPACING, shortest_m=SHORTEST, others=rings)
        depth += SPACING
    return total_length(rings)


def brute_sweep(area: BaseGeometry, step_deg: float) -> float:
    """Longest rows of any direction on a grid of heights, gaps of the spacing or more [m].

    Written without the package's sweep: every height is crossed with every edge.
    """
    rings = [np.asarray(ring.coords) for part in _parts(area) for ring in _rings(part)]
    starts = np.concatenate([ring[:-1] for ring in rings])
    ends = np.concatenate([ring[1:] for ring in rings])
    return max(
        _best_on_grid(starts, ends, math.radians(k * step_deg))
        for k in range(round(180.0 / step_deg))
    )


def _parts(area: BaseGeometry) -> Sequence[Polygon]:
    return getattr(area, "geoms", [area])


def _rings(part: Polygon) -> Sequence[LineString]:
    return [part.exterior, *part.interiors]


def _best_on_grid(starts: np.ndarray, ends: np.ndarray, turn: float) -> float:
    along = np.array([math.cos(turn), math.sin(turn)])
    across = np.array([-along[1], along[0]])
    low, high = starts @ across, ends @ across
    heights = np.arange(min(low.min(), high.min()) + GRID / 2, max(low.max(), high.max()), GRID)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = (heights[:, None] - low) / (high - low)
        crossing = (starts @ along) + share * ((ends - starts) @ along)
    hit = (np.minimum(low, high) <= heights[:, None]) & (heights[:, None] < np.maximum(low, high))
    crossing = np.where(hit, crossing, np.inf)
    most = int(hit.sum(axis=1).max())
    crossing = np.sort(crossing, axis=1)[:, :most]
    with np.errstate(invalid="ignore"):
        chords = crossing[:, 1::2] - crossing[:, ::2]
    # Chords of one row nearer than the spacing are not cut here: the sweep then finds too much.
    worth = np.where(np.isfinite(chords) & (chords >= SHORTEST), chords, 0.0).sum(axis=1)
    step = math.ceil(SPACING / GRID - 1e-9)
    best = np.zeros(len(worth) + step)
    for first in range(0, len(worth), step):
        band = worth[first : first + step]
        with_row = band + best[first : first + len(band)]
        before = best[first + step - 1] if first else 0.0
        best[first + step : first + step + len(band)] = np.maximum(
            np.maximum.accumulate(with_row), before
        )
    return float(best[-1])


def growth() -> None:
    """How the time grows with the vertices of one lot, and with its size."""
    print("| lot | vertices | straight | best | bound |")
    print("| --- | --- | --- | --- | --- |")
    for count in (12, 50, 100, 200, 400):
        print(_growth_row(f"star of 30 m, {count} points", star(30.0, count)), flush=True)
    for radius in (15.0, 60.0, 90.0):
        print(_growth_row(f"star of {radius:.0f} m, 200 points", star(radius, 200)), flush=True)


def star(radius: float, count: int) -> BaseGeometry:
    """A wavy lot with a round hole beside its middle."""
    turns = np.arange(count) * (math.tau / count)
    reach = radius * (1 + 0.15 * np.sin(3 * turns) + 0.08 * np.cos(7 * turns))
    lot = Polygon(np.column_stack([reach * np.cos(turns), reach * np.sin(turns)]))
    return lot.difference(Point(radius / 4, radius / 5).buffer(radius / 5, quad_segs=4))


def _growth_row(name: str, area: BaseGeometry) -> str:
    straight, best = (timed(lambda how=how: fitted(area, how)) for how in ("straight", "best"))
    bound = trench_bound(area, SPACING)
    cells = [name, str(get_num_coordinates(area)), cell(straight), cell(best), f"{bound:.1f}"]
    return f"| {' | '.join(cells)} |"


if __name__ == "__main__":
    main()
