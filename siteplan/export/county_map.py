"""The map of a screened county: lots by verdict, to scale, with a legend."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.errors import ExportError
from siteplan.site.frame import is_geographic, metres_of_system
from siteplan.units.systems import UNIT_SYSTEMS

COLORS: Final = {
    "both fit": "#0072b2", "bores fit": "#56b4e9", "trenches fit": "#009e73",
    "undecided": "#f0e442", "neither fits": "#d55e00", "not screened": "#999999",
}  # fmt: skip
"""Colour of each group of lots, told apart by colour-blind eyes too: M. Okabe and K. Ito, Color
Universal Design, 2008 (from memory)."""
SHORTEST_PX: Final = 0.6
"""Details of outlines that are too small to be drawn [pixels]."""
NUMBER_PT: Final = 6.5
"""Height of a lot's number on the map [pt]."""
MOST_NUMBERS: Final = 500
"""So many numbers of a part are drawn at most."""
WIDTH_IN, HEIGHT_IN, DPI = 11.0, 8.5, 150

Piece = tuple[NDArray[np.object_], dict[str, NDArray[Any]]]


def groups_of(columns: dict[str, NDArray[Any]]) -> NDArray[np.str_]:
    """Group of each lot on the map."""
    trench, bores = columns["trench"], columns["bores"]
    either = (trench == "undecided") | (bores == "undecided")
    groups = np.where(either, "undecided", "neither fits").astype("<U16")
    groups[bores == "fits"], groups[trench == "fits"] = "bores fit", "trenches fit"
    groups[(trench == "fits") & (bores == "fits")] = "both fit"
    groups[columns["why_not"] != ""] = "not screened"
    return groups


def draw_county(pieces: Sequence[Piece], crs: str, path: Path, *, unit: str) -> None:
    """Write the map of lots as a PNG.

    Raises
    ------
    ExportError
        The file cannot be written.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg  # noqa: PLC0415
    from matplotlib.collections import PolyCollection  # noqa: PLC0415
    from matplotlib.figure import Figure  # noqa: PLC0415

    figure = Figure(figsize=(WIDTH_IN, HEIGHT_IN), dpi=DPI)
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0.02, 0.02, 0.72, 0.92))
    bounds = _bounds(pieces)
    size = max(bounds[2] - bounds[0], bounds[3] - bounds[1], 1e-9)
    coarse = size / (0.72 * WIDTH_IN * DPI) * SHORTEST_PX
    counts = dict.fromkeys(COLORS, 0)
    for shapes, columns in pieces:
        groups = groups_of(columns)
        for group, color in COLORS.items():
            chosen = groups == group
            counts[group] += int(chosen.sum())
            rings = _rings(shapes[chosen], coarse)
            axes.add_collection(
                PolyCollection(rings, facecolors=color, edgecolors="#333333", linewidths=0.2)
            )
    _frame(axes, bounds, crs)
    _numbers(axes, pieces)
    _legend(figure, counts)
    _scale_bar(figure, axes, crs, bounds, unit)
    try:
        figure.savefig(path, metadata={"Software": None})
    except OSError as error:
        raise ExportError(f"{path} cannot be written ({error}).") from error


def _bounds(pieces: Sequence[Piece]) -> tuple[float, float, float, float]:
    each = np.concatenate([shapely.bounds(shapes) for shapes, _ in pieces] or [np.zeros((0, 4))])
    each = each[np.isfinite(each).all(axis=1)]
    if not len(each):
        return 0.0, 0.0, 1.0, 1.0
    # a lot that lies at the other end of the world must not make the county a point
    low, high = np.quantile(each[:, :2], 0.001, axis=0), np.quantile(each[:, 2:], 0.999, axis=0)
    span = (high - low).max()
    near = (each[:, :2] >= low - span).all(axis=1) & (each[:, 2:] <= high + span).all(axis=1)
    kept = each[near] if near.any() else each
    west, south = kept[:, :2].min(axis=0).tolist()
    east, north = kept[:, 2:].max(axis=0).tolist()
    return west, south, east, north


def _rings(shapes: NDArray[np.object_], coarse: float) -> list[NDArray[np.float64]]:
    """Outer rings, drawn no finer than the picture shows."""
    parts = shapely.get_parts(shapes[~shapely.is_missing(shapes)])
    parts = parts[shapely.get_type_id(parts) == 3]
    simple = shapely.simplify(parts, coarse, preserve_topology=False)
    small = shapely.is_empty(simple)
    simple[small] = shapely.envelope(parts[small])
    rings = shapely.get_exterior_ring(shapely.get_parts(simple))
    points, which = shapely.get_coordinates(rings, return_index=True)
    return np.split(points, np.flatnonzero(np.diff(which)) + 1) if len(points) else []


def _frame(axes: Any, bounds: tuple[float, float, float, float], crs: str) -> None:
    west, south, east, north = bounds
    room = 0.02 * max(east - west, north - south)
    axes.set_xlim(west - room, east + room)
    axes.set_ylim(south - room, north + room)
    stretch = 1 / math.cos(math.radians((south + north) / 2)) if is_geographic(crs) else 1.0
    axes.set_aspect(stretch, anchor="NW")
    axes.set_xticks([])
    axes.set_yticks([])


def _numbers(axes: Any, pieces: Sequence[Piece]) -> None:
    """The numbers of lots in which they have room: none lies over a line or another number."""
    axes.figure.canvas.draw()
    corner, other = axes.transData.inverted().transform([(0, 0), (1, 1)])
    high = NUMBER_PT / 72 * DPI
    for shapes, columns in pieces:
        known = np.flatnonzero(shapely.get_dimensions(shapes) == 2)
        spots = shapely.get_coordinates(shapely.point_on_surface(shapes[known]))
        names = [str(name) for name in columns["lot"][known]]
        wide = np.array([0.65 * len(name) * high for name in names])
        half = np.column_stack([wide, np.full(len(names), 1.2 * high)]) / 2 * (other - corner)
        boxes = shapely.box(*(spots - half).T, *(spots + half).T)
        for number in np.flatnonzero(shapely.covers(shapes[known], boxes))[:MOST_NUMBERS]:
            x, y = spots[number]
            axes.text(x, y, names[number], fontsize=NUMBER_PT, ha="center", va="center")


def _legend(figure: Any, counts: dict[str, int]) -> None:
    from matplotlib.patches import Patch  # noqa: PLC0415

    whole = max(sum(counts.values()), 1)
    handles = [
        Patch(
            facecolor=COLORS[group], edgecolor="#333333", label=f"{group}: {n:,} ({n / whole:.1%})"
        )
        for group, n in counts.items()
        if n
    ]
    figure.legend(
        handles=handles, loc="upper left", bbox_to_anchor=(0.75, 0.94), frameon=False, fontsize=10,
        title=f"{sum(counts.values()):,} lots", alignment="left",
    )  # fmt: skip
    figure.text(0.02, 0.955, "Lots screened for ground loops", fontsize=14, weight="bold")
    figure.text(
        0.755, 0.06, "A screening, no permit:\nplan a lot before it is drilled.\nNorth of the file "
        "is up.", fontsize=8,
    )  # fmt: skip


def _scale_bar(
    figure: Any, axes: Any, crs: str, bounds: tuple[float, float, float, float], unit: str
) -> None:
    """A bar of a round length, measured on the picture itself."""
    metres = metres_of_system(crs)
    if metres is None:
        metres = 111_320.0 * math.cos(math.radians((bounds[1] + bounds[3]) / 2))
    figure.canvas.draw()
    left, right = (axes.transData.transform((x, bounds[1]))[0] for x in (bounds[0], bounds[2]))
    per_pixel = (bounds[2] - bounds[0]) * metres / max(right - left, 1.0)
    system = UNIT_SYSTEMS[unit]
    step, name = system.way.size, system.way.label
    if per_pixel * 250 < step:
        step, name = system.metres, system.name
    length = _round_below(per_pixel * 250 / step)
    share = length * step / per_pixel / (WIDTH_IN * DPI)
    bar = figure.add_axes((0.755, 0.2, share, 0.012))
    bar.set_xticks([0, 1], ["0", f"{length:g} {name}"], fontsize=9)
    bar.set_yticks([])
    bar.set_xlim(0, 1)
    bar.axvspan(0, 0.5, color="black")
    # the ratio holds for the picture printed at its own size
    ratio = per_pixel * DPI / 0.0254
    figure.text(0.755, 0.23, f"1 : {ratio:,.0f} on {WIDTH_IN:g} by {HEIGHT_IN:g} in", fontsize=9)


def _round_below(value: float) -> float:
    power = 10.0 ** math.floor(math.log10(max(value, 1e-9)))
    return max(step * power for step in (1, 2, 5) if step * power <= value)
