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
NUMBERS_PT: Final = {".png": (6.5, 5.5, 4.5), ".pdf": (6.5, 5.5, 4.5, 3.0, 2.0, 1.4, 1.0)}
"""Heights of a lot's number, of which it has the greatest that it has room for [pt]: on a picture
those that can be read, on a page that is zoomed in smaller ones too, down to the least letter that
the library draws."""
LETTER_EM, THIN_EM, THIN_LETTERS = 0.66, 0.24, "-.,:;/|' "
"""Width of a letter by the height of the text, and how much less some are."""
BESIDE_EM: Final = 0.3
"""How far off its lot a number beside it stands, by its height."""
MOST_NUMBERS: Final = 20_000
"""So many numbers are drawn at most: a page with more takes minutes to write and to open."""
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


def draw_county(
    pieces: Sequence[Piece], crs: str, path: Path, *, unit: str, handed: str = ""
) -> None:
    """Write the map of lots: a PNG, or a PDF to zoom in and to search for a lot's number.

    ``handed``: name of the file that ``siteplan new --screened`` needs, told on the map.

    Raises
    ------
    ExportError
        The file cannot be written.
    """
    from matplotlib import rc_context  # noqa: PLC0415
    from matplotlib.backends.backend_agg import FigureCanvasAgg  # noqa: PLC0415
    from matplotlib.figure import Figure  # noqa: PLC0415

    figure = Figure(figsize=(WIDTH_IN, HEIGHT_IN), dpi=DPI)
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0.02, 0.02, 0.72, 0.92))
    bounds = _bounds(pieces)
    counts = _lots(axes, pieces, bounds)
    _frame(axes, bounds, crs)
    kind = path.suffix.lower()
    left_out = _numbers(axes, pieces, NUMBERS_PT[kind])
    _legend(figure, counts)
    _how_to_go_on(figure, pieces, handed, left_out, zoomed=kind == ".pdf")
    _scale_bar(figure, axes, crs, bounds, unit)
    # neither program nor time stands in the file
    silent = ("Software",) if kind == ".png" else ("Creator", "Producer", "CreationDate")
    try:
        with rc_context({"pdf.fonttype": 42}):
            figure.savefig(path, metadata=dict.fromkeys(silent))
    except OSError as error:
        raise ExportError(f"{path} cannot be written ({error}).") from error


def _lots(
    axes: Any, pieces: Sequence[Piece], bounds: tuple[float, float, float, float]
) -> dict[str, int]:
    """Draw all lots in the colors of their groups; how many there are of each."""
    from matplotlib.collections import PolyCollection  # noqa: PLC0415

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
    return counts


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
    axes.apply_aspect()
    axes.set_xticks([])
    axes.set_yticks([])


def _numbers(axes: Any, pieces: Sequence[Piece], sizes_pt: Sequence[float]) -> int:
    """Numbers of lots, each as large as it has room in its lot, or beside it; how many have none.

    None lies over a line or another number.
    """
    corner, other = axes.transData.inverted().transform([(0, 0), (1, 1)])
    unit = (other - corner) * DPI / 72
    room, left_out = MOST_NUMBERS, list[tuple[NDArray[np.object_], NDArray[np.str_]]]()
    for shapes, columns in pieces:
        # one without width has no frame to write in
        known = np.flatnonzero(shapely.get_type_id(shapely.oriented_envelope(shapes)) == 3)
        names = columns["lot"][known].astype(str)
        named = np.flatnonzero(names != "")
        spots, angle, size = _rooms(shapes[known][named], names[named], sizes_pt, unit)
        drawn = np.flatnonzero(size > 0)[:room]
        room, rest = room - len(drawn), np.setdiff1d(np.arange(len(named)), drawn)
        left_out.append((shapes[known][named][rest], names[named][rest]))
        for number in drawn.tolist():
            axes.text(
                *spots[number], names[named][number], fontsize=size[number], ha="center",
                va="center", rotation=math.degrees(angle[number]), rotation_mode="anchor",
            )  # fmt: skip
    outlines = np.concatenate([np.zeros(0, dtype=object), *(shapes for shapes, _ in pieces)])
    rest_of = [np.concatenate([each[k] for each in left_out]) for k in (0, 1) if left_out]
    count = sum(len(names) for _, names in left_out)
    if not 0 < count <= room:
        return count
    return count - _beside(axes, (rest_of[0], rest_of[1]), outlines, sizes_pt[-2:], unit)


def _beside(
    axes: Any, lots: tuple[NDArray[np.object_], NDArray[np.str_]], outlines: NDArray[np.object_],
    sizes_pt: Sequence[float], unit: NDArray[np.float64],
) -> int:  # fmt: skip
    """Draw numbers beside their lots where no lot and no other number is; how many have room."""
    shapes, names = lots
    west, south, east, north = shapely.bounds(shapes).T
    spot = {"left": (east, (south + north) / 2), "right": (west, (south + north) / 2),
            "center": ((west + east) / 2, north)}  # fmt: skip
    ground, frame = shapely.STRtree(outlines), shapely.box(*axes.viewLim.extents)
    size, side = np.zeros(len(names)), np.zeros(len(names), dtype="<U6")
    kept = np.zeros(0, dtype=object)
    for each in sizes_pt:
        gap, wide = BESIDE_EM * each * unit, LETTER_EM * np.char.str_len(names) * each * unit[0]
        for way, (x, y) in spot.items():
            low = {"left": x + gap[0], "right": x - gap[0] - wide, "center": x - wide / 2}[way]
            under = y + gap[1] if way == "center" else y - 0.6 * each * unit[1]
            boxes = shapely.box(low, under, low + wide, under + 1.2 * each * unit[1])
            open_ = np.flatnonzero((size == 0) & shapely.contains(frame, boxes))
            around = shapely.buffer(boxes[open_], 0.9 * gap.min(), join_style="mitre")
            met = np.zeros(len(open_), dtype=bool)
            for tree in (ground, shapely.STRtree(kept)):
                met[tree.query(around, predicate="intersects")[0]] = True
            free = open_[~met]
            free = free[_clear_of_others(boxes[free])]
            size[free], side[free], kept = each, way, np.append(kept, boxes[free])
    for number in np.flatnonzero(size > 0).tolist():
        way, (x, y) = str(side[number]), spot[str(side[number])]
        off = BESIDE_EM * size[number] * unit * {"left": (1, 0), "right": (-1, 0)}.get(way, (0, 1))
        axes.text(
            x[number] + off[0], y[number] + off[1], names[number], fontsize=size[number], ha=way,
            va="bottom" if way == "center" else "center",
        )  # fmt: skip
    return int((size > 0).sum())


def _clear_of_others(boxes: NDArray[np.object_]) -> NDArray[np.bool_]:
    """Which boxes may stay, so that none meets another: of two that do the first."""
    clear = np.ones(len(boxes), dtype=bool)
    pairs = shapely.STRtree(boxes).query(boxes, predicate="intersects").T
    for one, other in sorted(pairs[pairs[:, 0] < pairs[:, 1]].tolist()):
        if clear[one]:
            clear[other] = False
    return clear


def _rooms(
    shapes: NDArray[np.object_], names: NDArray[np.str_], sizes_pt: Sequence[float],
    unit: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:  # fmt: skip
    """Where the name of each lot has room: its middle, direction on the paper [rad], size [pt].

    ``unit``: a point in the units of the map, across and up. The size is 0 where none has room.
    """
    spots = shapely.get_coordinates(shapely.point_on_surface(shapes))
    frames = shapely.get_coordinates(shapely.oriented_envelope(shapes)).reshape(-1, 5, 2) / unit
    sides = np.diff(frames[:, :3], axis=1)
    longest = np.hypot(*sides.transpose(2, 0, 1)).argmax(axis=1)
    along = sides[np.arange(len(sides)), longest]
    turned = np.arctan2(along[:, 1], along[:, 0])
    # read from below or from the right, as dimensions are: ISO 129-1, from memory
    turned = (turned + np.pi / 3) % np.pi - np.pi / 3
    angle, size = np.zeros(len(shapes)), np.zeros(len(shapes))
    thin = sum(np.char.count(names, each) for each in THIN_LETTERS)
    wide, high = (LETTER_EM * np.char.str_len(names) - thin * THIN_EM) / 2, 0.6
    corners = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)], dtype=np.float64)
    for each in sizes_pt:
        for way in (np.zeros(len(shapes)), turned):
            x, y = corners[:, 0] * wide[:, None] * each, corners[:, 1] * high * each
            cosine, sine = np.cos(way)[:, None], np.sin(way)[:, None]
            box = np.stack([x * cosine - y * sine, x * sine + y * cosine], axis=2) * unit
            fits = (size == 0) & shapely.covers(shapes, shapely.polygons(spots[:, None] + box))
            angle[fits], size[fits] = way[fits], each
    return spots, angle, size


def _how_to_go_on(
    figure: Any, pieces: Sequence[Piece], handed: str, left_out: int, *, zoomed: bool
) -> None:
    """What brings a lot of the map into a folder of its own, and where the other numbers are."""
    picks = [str(each) for _, columns in pieces for each in columns.get("where", ())[:1]]
    lines = ["Zoom in for the numbers of the lots,\nor search for one."] if zoomed else []
    if left_out:
        lots = "lot has" if left_out == 1 else "lots have"
        elsewhere = "the CSV has them." if zoomed else "--map NAME.pdf has more of them."
        lines.append(f"{left_out:,} {lots} no room for a number here:\n{elsewhere}")
    if handed and picks:
        lines.append(
            "To plan a lot by its number:\nsiteplan new FOLDER\n"
            f'  --screened {handed}\n  --where "{picks[0]}"'
        )
    figure.text(0.755, 0.52, "\n\n".join(lines), fontsize=8, va="top")


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
