"""Vertical bores: as few as carry the length required, or a count or grid that somebody typed."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.distance import pdist
from shapely.geometry.base import BaseGeometry

from siteplan.findings.model import Reason, reason
from siteplan.geometry.memory import remembered
from siteplan.geometry.points.bound import packing_bound
from siteplan.geometry.points.few import holds_none_of, most_points
from siteplan.geometry.points.packing import pack_rows
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.bores.free_field import least_step, place_freely
from siteplan.layout.bores.grid import fitted_grid, typed_places
from siteplan.layout.bores.neighbours import Neighbours
from siteplan.layout.counting import ROUNDING_SLACK, elements_needed, within_limit
from siteplan.layout.elements import Bore
from siteplan.layout.header.network import CROSSING_COST
from siteplan.layout.header.router import reachable_area
from siteplan.layout.in_rows import Placement, place_in_rows
from siteplan.layout.model import Ground, Header, Layout
from siteplan.layout.own_frame import placed_alike
from siteplan.layout.sparing import kept_off, on_points, quieter
from siteplan.preferences.table import figure_of
from siteplan.site.bore_grid import BoreGrid
from siteplan.site.model import (
    VerticalOptions,
)
from siteplan.units.model import UnitSystem
from siteplan.units.systems import US

Floats = NDArray[np.float64]

FREELY = figure_of("layout.bores.upright.freely")
FEW_MORE = figure_of("layout.bores.upright.few_more")


@dataclass(frozen=True, slots=True)
class _Wanted:
    """A field to be laid out: its options, the length required [m], and the number of bores."""

    options: VerticalOptions
    required_m: float
    bores: int


@remembered
def lay_out_bores(
    ground: Ground,
    options: VerticalOptions,
    required_m: float,
    neighbours: Neighbours | None = None,
) -> Layout:
    """Bores that carry the length required [m], or all that fit.

    The number is the fewest that can carry it at the greatest depth, unless a count or a grid is
    given; the depth is the same for all, rounded up to a whole foot or half metre where that does
    not pass the greatest depth. The bores form full straight rows in a compact block near an
    entry, numbered row by row, to and fro. Where rows do not hold enough they stand freely, if the
    options let them and it is not proven that no arrangement holds enough. A grid with a place of
    its own, and bores whose places are given, stand exactly there, whatever the ground is.
    """
    area = reachable_area(ground)
    needed = options.stated or elements_needed(required_m, options.depth_most_m)
    needed = within_limit(needed, "bores", "vertical")
    wanted = _Wanted(options, required_m, needed)
    if options.as_typed:
        return _typed_layout(ground, area, wanted)
    placed = placed_alike(
        ground, area, lambda own, room: _place(own, room, options, needed, neighbours)
    )
    return _layout(ground, area, wanted, placed)


def _place(
    ground: Ground,
    area: BaseGeometry,
    options: VerticalOptions,
    needed: int,
    neighbours: Neighbours | None,
) -> Placement:
    """Bores in the arrangement asked for; by default in rows where those hold enough."""
    spacing = options.spacing_m
    # rows are easier to stake and drill: free places only where asked for, or where rows fall
    # short
    if options.arrangement == "free":
        return place_freely(ground, area, spacing_m=spacing, count=needed)
    rows = place_in_rows(
        ground,
        area,
        spacing_m=spacing,
        count=needed,
        widest_m=options.spacing_most_m,
        neighbours=neighbours,
    )
    rows = _sparing(ground, area, rows)
    # free packing takes about a second: not where a proof says that it cannot help
    enough = rows.capacity >= needed or rows.capacity == 0
    if options.arrangement == "rows" or enough:
        return rows
    # then not even free places would do
    if not freely_may_hold(needed, rows.capacity):
        return rows
    if needed > packing_bound(area, spacing) or holds_none_of(area, needed, spacing):
        return rows
    free = place_freely(ground, area, spacing_m=spacing, count=needed)
    # no more bores than in rows, and untidy: then rather the rows
    return free if free.capacity > rows.capacity else rows


def freely_may_hold(bores: int, in_rows: int) -> bool:
    """Whether it is worth looking for so many bores in free places, of what straight rows hold."""
    return bores <= FREELY * in_rows + FEW_MORE


def _sparing(ground: Ground, area: BaseGeometry, first: Placement) -> Placement:
    """Bores in rows, or as many as far apart that stand less on ground to be spared.

    These are taken where their header with its crossings is not longer by more than that is worth,
    and where they do not stand closer together as a whole: they would take more heat from one
    another, and have to be longer.
    """
    # nothing to spare, nothing to look for: rows as they are
    lain_on = on_points(ground.spared, first.points)
    if not lain_on or first.header is None:
        return first
    best, least = first, _cost(first.header) + sum(lain_on.values())
    for room in quieter(area, ground.spared, lain_on):
        other = place_in_rows(ground, room, spacing_m=first.spacing_m, count=len(first.points))
        if other.header is None or len(other.points) < len(first.points):
            continue
        if _apart(other.points) < _apart(first.points) - TOLERANCE:
            continue
        cost = _cost(other.header) + sum(on_points(ground.spared, other.points).values())
        if cost < least - TOLERANCE:
            best, least = other, cost
    if best.header is None or best is first:
        return first
    kept = kept_off(lain_on, on_points(ground.spared, best.points), first.header, best.header)
    return replace(best, capacity=first.capacity, kept_off=kept)


def _apart(points: Floats) -> float:
    """Mean of the logarithms of all distances between points: how little they disturb one another.

    What a bore does to the ground at a distance falls about as its logarithm rises.
    """
    return float(np.log(pdist(points)).mean()) if len(points) > 1 else 0.0


def _cost(header: Header) -> float:
    return header.length_m + CROSSING_COST * len(header.crossings)


def _typed_layout(ground: Ground, area: BaseGeometry, wanted: _Wanted) -> Layout:
    """Bores where somebody put them, or a grid where it fits; the lot's capacity beside them."""
    options = wanted.options
    rows = ground.memory.of(pack_rows, area, options.spacing_m)
    held = sum(len(pattern.points) for pattern in rows)
    spacing = _typed_spacing(options)
    fitted = None
    if options.placed:
        fitted = typed_places(ground, options)
    elif options.grid is not None:
        fitted = fitted_grid(ground, area, options.grid)
    if fitted is None:
        return _layout(ground, area, wanted, Placement(np.zeros((0, 2)), None, held, spacing))
    # a grid that found room is proof that so many fit; places given by hand prove nothing
    capacity = held if options.placed else max(held, wanted.bores)
    placed = Placement(*fitted, capacity, spacing)
    return _layout(ground, area, wanted, placed, by_hand=options.placed)


def _typed_spacing(options: VerticalOptions) -> float:
    """Least distance that the bores of a grid, or those whose places are given, keep [m]."""
    grid = options.grid
    if grid is None:
        return least_step(np.array(options.places), options.spacing_m)
    apart = [grid.spacing_m] * (grid.columns > 1) + [grid.row_spacing_m] * (grid.rows > 1)
    return min(apart, default=options.spacing_m)


def _layout(
    ground: Ground,
    area: BaseGeometry,
    wanted: _Wanted,
    placed: Placement,
    *,
    by_hand: bool = False,
) -> Layout:
    options = wanted.options
    depth = depth_of_each(wanted.required_m, len(placed.points), options=options, unit=ground.unit)
    most = ground.memory.of(_most, area, options.spacing_m, placed.capacity)
    return Layout(
        system="vertical",
        elements=tuple(
            Bore(f"B{number}", float(x), float(y), options.diameter_m, depth)
            for number, (x, y) in enumerate(placed.points, start=1)
        ),
        header=placed.header,
        spacing_m=placed.spacing_m,
        capacity_m=_held(placed.capacity, options) * options.depth_most_m,
        obstacle=_obstacle(ground, wanted, placed, most=most),
        most=most,
        by_hand=by_hand,
        kept_off=placed.kept_off,
    )


def _held(capacity: int, options: VerticalOptions) -> int:
    """How many bores may count: no more than the number asked for."""
    return capacity if options.count is None else min(capacity, options.count)


def depth_of_each(
    required_m: float, bores: int, *, options: VerticalOptions, unit: UnitSystem = US
) -> float:
    """Depth of each bore [m]: the length shared out, up to a whole step, within the limits."""
    share, step = required_m / max(bores, 1), unit.step_m
    depth = min(math.ceil(share / step - ROUNDING_SLACK) * step, options.depth_most_m)
    return max(depth, options.depth_least_m)


def _most(area: BaseGeometry, spacing_m: float, held: int) -> int:
    """Bores that no arrangement exceeds."""
    return most_points(area, spacing_m, held=held)


def _obstacle(ground: Ground, wanted: _Wanted, placed: Placement, *, most: int) -> Reason | None:
    options, count = wanted.options, len(placed.points)
    if count >= wanted.bores:
        return too_deep(options, wanted.required_m, wanted.bores)
    if ground.area.is_empty:
        return reason("no-available-area", things="bores")
    if placed.capacity == 0:
        return reason("no-way-for-header")
    if options.grid is not None:
        return _no_room_for(options.grid)
    room = room_for(placed.capacity, most, options)
    if options.count is not None:
        return reason("bores-short-of-count", room=room, wanted=wanted.bores)
    depth_m = options.depth_most_m
    return reason("bores-short-of-need", room=room, wanted=wanted.bores, depth_m=depth_m)


def room_for(held: int, most: int, options: VerticalOptions) -> Reason:
    """How many bores were found room for, and how many no arrangement exceeds."""
    bound = reason("than-bound", most=most) if most > held else None
    return reason("room-for-bores", held=held, spacing_m=options.spacing_m, bound=bound)


def _no_room_for(grid: BoreGrid) -> Reason:
    return reason(
        "no-place-for-grid",
        rows=grid.rows,
        columns=grid.columns,
        along_m=grid.spacing_m,
        across_m=grid.row_spacing_m,
    )


def too_deep(options: VerticalOptions, required_m: float, bores: int) -> Reason | None:
    """That so many bores cannot carry the length within the greatest depth; else None."""
    share, most = required_m / max(bores, 1), options.depth_most_m
    if bores == 0 or share <= most * (1 + ROUNDING_SLACK):
        return None
    return reason("bores-too-deep", bores=bores, share_m=share, most_m=most)
