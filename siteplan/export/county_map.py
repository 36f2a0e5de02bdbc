"""The map of a screened county: lots by verdict, to scale, with a legend.

All lots are never held at once: they are gone through for the bounds, for the numbers, and once
more as they are drawn, piece by piece. So a county takes no more memory than a piece of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import numpy as np
import shapely
from matplotlib import rc_context
from matplotlib.artist import Artist
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import PolyCollection
from matplotlib.figure import Figure
from matplotlib.patches import Patch
from matplotlib.text import Text
from numpy.typing import NDArray

from siteplan.errors import ExportError
from siteplan.export.county_numbers import MOST_NUMBERS, Number, Pieces, numbers_of
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
OUTLINED_PX: Final = 5.0
"""Lots that are smaller as a rule have an outline of their own color, which dark lines would
hide [pixels]."""
NUMBERS_PT: Final = {".png": (6.5, 5.5, 4.5), ".pdf": (6.5, 5.5, 4.5, 3.0, 2.0, 1.4, 1.0)}
"""Heights of a lot's number, of which it has the greatest that it has room for [pt]: on a picture
those that can be read, on a page that is zoomed in smaller ones too, down to the least letter that
the library draws."""
WIDTH_IN, HEIGHT_IN, DPI = 11.0, 8.5, 150
SAMPLE: Final = 50_000
"""Of so many lots at most, evenly picked, it is told where most of them lie."""

Bounds = tuple[float, float, float, float]


def groups_of(columns: dict[str, NDArray[Any]]) -> NDArray[np.str_]:
    """Group of each lot on the map."""
    trench, bores = columns["trench"], columns["bores"]
    either = (trench == "undecided") | (bores == "undecided")
    groups = np.where(either, "undecided", "neither fits").astype("<U16")
    groups[bores == "fits"], groups[trench == "fits"] = "bores fit", "trenches fit"
    groups[(trench == "fits") & (bores == "fits")] = "both fit"
    groups[columns["why_not"] != ""] = "not screened"
    return groups


@dataclass(slots=True)
class _County:
    """What is known of all lots before they are drawn.

    Parameters
    ----------
    bounds
        West, south, east and north of those that are near most others.
    counts
        Lots of each group.
    size
        How wide and high a lot is, the mean of both: half of the lots are less.
    pick
        What brings one of them in by itself, an example.
    """

    bounds: Bounds = (0.0, 0.0, 1.0, 1.0)
    counts: dict[str, int] = field(default_factory=lambda: dict.fromkeys(COLORS, 0))
    size: float = 0.0
    pick: str = ""


def draw_county(lots: Pieces, crs: str, path: Path, *, unit: str, handed: str = "") -> None:
    """Write the map of lots: a PNG, or a PDF to zoom in and to search for a lot's number.

    Parameters
    ----------
    lots
        Gives outlines and columns of all lots, piece by piece, as often as it is called.
    crs
        Coordinate system of the outlines.
    handed
        Name of the file that ``siteplan new --screened`` needs, told on the map.

    Raises
    ------
    ExportError
        The file cannot be written.
    """
    figure = Figure(figsize=(WIDTH_IN, HEIGHT_IN), dpi=DPI)
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0.02, 0.02, 0.72, 0.92))
    county = _looked_over(lots)
    _frame(axes, county.bounds, crs)
    corner, other = axes.transData.inverted().transform([(0, 0), (1, 1)])
    pixel, kind = other - corner, path.suffix.lower()
    axes.add_artist(_Lots(axes, lots, pixel, outlined=county.size > OUTLINED_PX * pixel.max()))
    frame = axes.viewLim.extents
    numbers, left_out = numbers_of(lots, frame, pixel * DPI / 72, NUMBERS_PT[kind])
    axes.add_artist(_Numbers(axes, numbers))
    _legend(figure, county.counts)
    _how_to_go_on(figure, county, handed, left_out, zoomed=kind == ".pdf")
    _scale_bar(figure, axes, crs, county.bounds, unit)
    # neither program nor time stands in the file
    silent = ("Software",) if kind == ".png" else ("Creator", "Producer", "CreationDate")
    try:
        with rc_context({"pdf.fonttype": 42}):
            figure.savefig(path, metadata=dict.fromkeys(silent))
    except OSError as error:
        raise ExportError(f"{path} cannot be written ({error}).") from error


class _Lots(Artist):
    """All lots in the colors of their groups, read as they are drawn and let go again."""

    def __init__(
        self, axes: Any, lots: Pieces, pixel: NDArray[np.float64], *, outlined: bool
    ) -> None:
        super().__init__()
        self._on = axes
        self._lots, self._outlined = lots, outlined
        self._coarse = SHORTEST_PX * float(pixel.max())

    def draw(self, renderer: Any) -> None:
        """Draw them."""
        for shapes, columns in self._lots():
            groups = groups_of(columns)
            for group, color in COLORS.items():
                edge = "#333333" if self._outlined else color
                rings = _rings(shapes[groups == group], self._coarse)
                drawn = PolyCollection(rings, facecolors=color, edgecolors=edge, linewidths=0.2)
                drawn.set_figure(self._on.figure)
                drawn.set_transform(self._on.transData)
                drawn.set_clip_path(self._on.patch)
                drawn.draw(renderer)


class _Numbers(Artist):
    """Numbers of lots, drawn by one text that is moved: each as its own takes much memory."""

    def __init__(self, axes: Any, numbers: list[Number]) -> None:
        super().__init__()
        self._on, self._numbers = axes, numbers
        self.set_zorder(3)

    def draw(self, renderer: Any) -> None:
        """Draw them."""
        drawn = Text(rotation_mode="anchor")
        drawn.set_figure(self._on.figure)
        drawn.set_transform(self._on.transData)
        for each in self._numbers:
            drawn.set(
                text=each.text, position=each.place, fontsize=each.size_pt, ha=each.across,
                va=each.up, rotation=math.degrees(each.angle),
            )  # fmt: skip
            drawn.draw(renderer)


def _looked_over(lots: Pieces) -> _County:
    """What all lots together are: gone through twice."""
    county, step, place = _County(), 1, 0
    # lots that were screened tell where the county is, the others only where there are no such
    some = {True: np.zeros((0, 4)), False: np.zeros((0, 4))}
    for shapes, columns in lots():
        names, counts = np.unique(groups_of(columns), return_counts=True)
        for name, count in zip(names.tolist(), counts.tolist(), strict=True):
            county.counts[name] += count
        sound = columns["why_not"] == ""
        if not county.pick and "where" in columns and sound.any():
            county.pick = str(columns["where"][sound][0])
        picked, place = np.arange(-place % step, len(shapes), step), place + len(shapes)
        for good, those in some.items():
            of_these = shapes[picked[sound[picked] == good]]
            some[good] = np.concatenate([those, _known_bounds(of_these)])
        if sum(map(len, some.values())) > SAMPLE:
            # thinned as those to come are
            some, step = {good: those[::2] for good, those in some.items()}, 2 * step
    those = some[True] if len(some[True]) else some[False]
    if not len(those):
        return county
    # a lot that lies at the other end of the world must not make the county a point
    low, high = np.quantile(those[:, :2], 0.001, axis=0), np.quantile(those[:, 2:], 0.999, axis=0)
    span = (high - low).max()
    county.size = float(np.median((those[:, 2:] - those[:, :2]).mean(axis=1)))
    county.bounds = _bounds(lots, (low - span, high + span))
    return county


def _known_bounds(shapes: NDArray[np.object_]) -> NDArray[np.float64]:
    """Bounds of lots that have a shape."""
    each: NDArray[np.float64] = shapely.bounds(shapes)
    return each[np.isfinite(each).all(axis=1)]


def _bounds(lots: Pieces, near: tuple[NDArray[np.float64], NDArray[np.float64]]) -> Bounds:
    """Bounds of all lots that lie within those told."""
    low, high = np.full(2, np.inf), np.full(2, -np.inf)
    for shapes, _ in lots():
        each = _known_bounds(shapes)
        kept = each[(each[:, :2] >= near[0]).all(axis=1) & (each[:, 2:] <= near[1]).all(axis=1)]
        low = np.minimum(low, kept[:, :2].min(axis=0, initial=np.inf))
        high = np.maximum(high, kept[:, 2:].max(axis=0, initial=-np.inf))
    west, south, east, north = (*low.tolist(), *high.tolist())
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


def _how_to_go_on(
    figure: Any, county: _County, handed: str, left_out: int, *, zoomed: bool
) -> None:
    """What brings a lot of the map into a folder of its own, and where the other numbers are."""
    lines = ["Zoom in for the numbers of the lots,\nor search for one."] if zoomed else []
    if left_out:
        lots = "lot has" if left_out == 1 else "lots have"
        more = not zoomed and sum(county.counts.values()) <= MOST_NUMBERS
        elsewhere = "--map NAME.pdf has more of them." if more else "the CSV has them."
        lines.append(f"{left_out:,} {lots} no room for a number here:\n{elsewhere}")
    if handed and county.pick:
        lines.append(
            "To plan a lot by its number:\nsiteplan new FOLDER\n"
            f'  --screened {handed}\n  --where "{county.pick}"'
        )
    figure.text(0.755, 0.52, "\n\n".join(lines), fontsize=8, va="top")


def _legend(figure: Any, counts: dict[str, int]) -> None:
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
