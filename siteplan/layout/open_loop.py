"""A supply and a return well, far enough apart, with the shortest header."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial.distance import cdist
from shapely import Point
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from siteplan.findings.model import Reason, reason
from siteplan.geometry.memory import remembered
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.by_hand import joined_by_hand
from siteplan.layout.elements import Well
from siteplan.layout.header.router import reachable_area, route_header
from siteplan.layout.model import Ground, Header, Layout
from siteplan.layout.outfall import OUTFALL_M, Outfall
from siteplan.layout.way import Ways, ways_of
from siteplan.preferences.table import count_of, figure_of
from siteplan.site.model import Feature
from siteplan.site.open_loop import OpenOptions

Floats = NDArray[np.float64]
Spot = tuple[float, float]
Pair = tuple[Spot, Spot]

EDGE_SAMPLES: Final = count_of("layout.open_loop.edge_samples")
GRID_SIDE: Final = count_of("layout.open_loop.grid_side")
REFINEMENTS: Final = count_of("layout.open_loop.refinements")
NEAR_SIDE: Final = count_of("layout.open_loop.near_side")
UNKNOWN_DEPTH_M: Final = 0.0
"""Depth of an existing well, which nobody has said [m]."""
PIPE_A_METRE: Final = figure_of("layout.open_loop.pipe_a_metre")
NEARLY_M: Final = figure_of("layout.open_loop.nearly_m")
PAIRS_ROUTED: Final = count_of("layout.open_loop.pairs_routed")


@dataclass(frozen=True, slots=True)
class WellWish:
    """Where the water in the ground would have the return well; come as near to it as the lot lets.

    Parameters
    ----------
    separation_m
        From the supply well, straight down the groundwater's flow [m].
    downstream
        Direction of that flow, of length 1; None: the groundwater stands still.
    """

    separation_m: float = 0.0
    downstream: Spot | None = None

    def lacking_m(self, steps: Floats) -> Floats:
        """How much pairs lack of what is wished, for the steps from supply to return well [m].

        Beside the flow a pair counts half as far apart as it is, up the flow not at all.
        """
        apart = np.hypot(steps[..., 0], steps[..., 1])
        if self.downstream is not None:
            apart = (apart + steps @ np.asarray(self.downstream)) / 2
        return np.asarray(np.maximum(self.separation_m - apart, 0.0))


NO_WISH: Final = WellWish()


@dataclass(frozen=True, slots=True)
class _Places:
    """Places for one well and the pipe length from the nearest entry to each [m]."""

    spots: Floats
    ways: Floats


@dataclass(frozen=True, slots=True)
class _Search:
    """Where the two wells may stand, how far apart, and the ways there."""

    ways: Ways
    supply: BaseGeometry
    back: BaseGeometry
    separation_m: float
    farthest_m: float = math.inf
    wish: WellWish = NO_WISH

    def allows(self, apart: Floats) -> NDArray[np.bool_]:
        """Whether two wells may stand so far apart."""
        near_enough = apart <= self.farthest_m + TOLERANCE / 2
        return (apart >= self.separation_m - TOLERANCE / 2) & near_enough


@remembered
def lay_out_wells(
    ground: Ground,
    options: OpenOptions,
    return_area: BaseGeometry,
    existing: Feature | None = None,
    wish: WellWish = NO_WISH,
) -> Layout:
    """Supply and return well, at least the separation apart, with the shortest header found.

    What is wished comes before a short header.

    Parameters
    ----------
    ground
        Its area is where a new supply well may stand.
    options
        Separation, diameter and depth of the wells.
    return_area
        Where a return well may stand.
    existing
        A potable well that is the supply; None: a new one is placed.
    wish
        Where the return well would stand best.

    A place that somebody gave is kept: nothing is asked of it, and the other is looked for.
    """
    back = reachable_area(replace(ground, area=return_area))
    if options.return_at is not None:
        return_area = back = Point(options.return_at)
    supply = _supply_ground(ground, options, existing)
    obstacle = _no_ground(ground, return_area, options, supply=supply, back=back)
    pairs: list[Pair] = []
    if not obstacle:
        search = _Search(
            ways_of(ground),
            supply,
            back,
            separation_m=options.separation_m + _radius(existing),
            farthest_m=math.inf if options.farthest_m is None else options.farthest_m,
            wish=wish,
        )
        pairs = _best_pairs(search, [entry.point for entry in ground.entries])
        obstacle = None if pairs else _too_near(search)
    wells, header = _joined(ground, _wished(pairs, wish), options=options, existing=existing)
    kept = options.kept if wells else ()
    if kept and header is None:
        header = joined_by_hand(ground, [[*each.ends] for each in wells])
    elif wells and header is None:
        obstacle = reason("no-way-for-header")
    return Layout(
        "open", wells, header, options.separation_m, 0.0, obstacle, by_hand=bool(kept), kept=kept
    )


def _supply_ground(ground: Ground, options: OpenOptions, existing: Feature | None) -> BaseGeometry:
    """Where the supply well may stand: at one place, where that is given or it stands already."""
    if options.supply_at is not None:
        return Point(options.supply_at)
    return reachable_area(ground) if existing is None else existing.shape.centroid


def lay_out_placed(ground: Ground, options: OpenOptions, existing: Feature | None) -> Layout:
    """Supply and return well, or outfall, exactly where somebody gave both places, and a header.

    Parameters
    ----------
    ground
        Where the header may run; nothing is asked of the places.
    options
        Places, diameter and depth of the wells.
    existing
        A potable well that is the supply; None: its place is given.
    """
    spot = options.supply_at
    if existing is not None:
        spot = (float(existing.shape.centroid.x), float(existing.shape.centroid.y))
    assert spot is not None
    assert options.return_at is not None
    pair = (spot, options.return_at)
    header = joined_by_hand(ground, [[each] for each in pair])
    wells = _wells(pair, options, existing=existing)
    return Layout("open", wells, header, options.separation_m, 0.0, by_hand=True)


def _wished(pairs: list[Pair], wish: WellWish) -> list[Pair]:
    """Those pairs that lack least of what is wished."""
    if not pairs:
        return []
    steps = np.array([np.subtract(back, supply) for supply, back in pairs])
    lacking = wish.lacking_m(steps)
    least = lacking.min() + NEARLY_M
    return [pair for pair, lack in zip(pairs, lacking, strict=True) if lack <= least]


def _radius(existing: Feature | None) -> float:
    """How far an existing well, drawn as a polygon, reaches from its centre [m]."""
    if existing is None:
        return 0.0
    return float(shapely.hausdorff_distance(existing.shape, existing.shape.centroid))


def _joined(
    ground: Ground, pairs: list[Pair], *, options: OpenOptions, existing: Feature | None
) -> tuple[tuple[Well | Outfall, ...], Header | None]:
    """Wells of the pair with the shortest header, and the header."""
    if not pairs:
        return (), None
    routed = [(_header(ground, pair, existing=existing), pair) for pair in pairs]
    header, pair = min(routed, key=_header_length)
    return _wells(pair, options, existing=existing), header


def _wells(
    pair: Pair, options: OpenOptions, *, existing: Feature | None
) -> tuple[Well | Outfall, ...]:
    """Supply well, and return well or outfall, at a pair of places."""
    first, second = pair
    known = "" if existing is None else existing.id
    size = (options.diameter_m, options.depth_m)
    supply_size = size if existing is None else (options.diameter_m, UNKNOWN_DEPTH_M)
    supply = Well("SUPPLY", *first, *supply_size, "supply", known)
    if options.outfall:
        return supply, Outfall("OUTFALL", *second, OUTFALL_M, options.outfall)
    return supply, Well("RETURN", *second, *size, "return")


def _header_length(routed: tuple[Header | None, Pair]) -> float:
    return round(routed[0].length_m, 4) if routed[0] else np.inf


def _header(ground: Ground, pair: Pair, *, existing: Feature | None) -> Header | None:
    both = route_header(ground, [[spot] for spot in pair])
    if both is None and existing is not None:
        # an existing well that no header reaches has its own pipe to the building
        return route_header(ground, [[pair[1]]])
    return both


def _best_pairs(search: _Search, entries: Sequence[Point]) -> list[Pair]:
    """A few good pairs of places: the best of a coarse search, each searched closer."""
    supplies = _places(search.ways, _samples(search.supply, entries))
    other = _places(search.ways, _samples(search.back, entries))
    pairs = []
    # the best coarse pair need not be the best after closer search: a few, in different places
    for coarse in _coarse_pairs(search, supplies, other):
        pair = coarse
        # one step of the coarse grid around each place: the best lies no farther off where the
        # ground is smooth
        window = max(_side(search.supply), _side(search.back)) / GRID_SIDE
        for _ in range(REFINEMENTS):
            pair = _closer(search, pair, window=window)
            window /= 4
        pairs.append(pair)
    return pairs


def _closer(search: _Search, pair: Pair, *, window: float) -> Pair:
    """Best pair within a window around each place of a pair, itself included."""
    areas = (search.supply, search.back)
    supplies, other = (
        _places(search.ways, _samples_near(area, spot, window=window))
        for area, spot in zip(areas, pair, strict=True)
    )
    better = _coarse_pairs(search, supplies, other, most=1)
    return better[0] if better else pair


def _coarse_pairs(
    search: _Search, supplies: _Places, other: _Places, *, most: int = PAIRS_ROUTED
) -> list[Pair]:
    """Pairs that need least pipe, each pair in another part of the ground than those before."""
    steps = other.spots[None, :, :] - supplies.spots[:, None, :]
    apart = np.hypot(steps[..., 0], steps[..., 1])
    first, second = supplies.ways[:, None], other.ways[None, :]
    # a pipe to each from the entry, or from one on to the other
    pipe = np.minimum(first + second, np.minimum(first, second) + apart)
    pipe = pipe + PIPE_A_METRE * search.wish.lacking_m(steps)
    pipe = np.where(search.allows(apart), pipe, np.inf)
    pairs: list[Pair] = []
    while len(pairs) < most and pipe.size and np.isfinite(pipe).any():
        row, column = np.unravel_index(int(np.argmin(np.round(pipe, 6))), pipe.shape)
        here, there = supplies.spots[row], other.spots[column]
        pairs.append(((float(here[0]), float(here[1])), (float(there[0]), float(there[1]))))
        # the next best places lie beside the best, and lead to the same pair: strike them out
        # together
        near_one = np.hypot(*(supplies.spots - here).T) < search.separation_m / 2
        near_other = np.hypot(*(other.spots - there).T) < search.separation_m / 2
        pipe[np.ix_(near_one, near_other)] = np.inf
    return pairs


def _places(ways: Ways, spots: Floats) -> _Places:
    """Spots that a pipe reaches; a single spot that none reaches counts by its distance."""
    lengths = ways.to(spots)
    if len(spots) == 1 and not np.isfinite(lengths[0]) and len(ways.bends):
        lengths = np.hypot(*(ways.bends - spots[0]).T).min(keepdims=True)
    reached = np.isfinite(lengths)
    return _Places(spots[reached], lengths[reached])


def _samples(area: BaseGeometry, entries: Sequence[Point]) -> Floats:
    """Corners, places along the edge and inside, and the places nearest each entry."""
    if area.geom_type == "Point":
        return shapely.get_coordinates(area)
    # the shortest header begins at the places nearest an entry, which no raster would hit
    nearest = [nearest_points(area, entry)[0] for entry in entries]
    west, south, east, north = area.bounds
    inside = _grid_inside(
        area, np.linspace(west, east, GRID_SIDE), y=np.linspace(south, north, GRID_SIDE)
    )
    # wells as far apart as they must be are pushed to the edge: that is sampled more closely than
    # the inside
    step = max(area.length / EDGE_SAMPLES, TOLERANCE)
    edge = shapely.segmentize(area.boundary, step)
    return np.vstack([shapely.get_coordinates(nearest), shapely.get_coordinates(edge), inside])


def _samples_near(area: BaseGeometry, spot: Spot, *, window: float) -> Floats:
    """The spot, and places of an area inside and on its edge in a window around the spot."""
    if area.geom_type == "Point":
        return np.array([spot])
    x, y = spot
    frame = shapely.box(x - window, y - window, x + window, y + window)
    part = shapely.intersection(area, frame)
    step = np.linspace(-window, window, NEAR_SIDE)
    inside = _grid_inside(part, x + step, y=y + step)
    edge = shapely.segmentize(part.boundary, window / NEAR_SIDE)
    return np.vstack([[spot], shapely.get_coordinates(edge), inside])


def _grid_inside(area: BaseGeometry, x: Floats, *, y: Floats) -> Floats:
    grid = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    return grid[shapely.intersects_xy(area, grid)]


def _side(area: BaseGeometry) -> float:
    west, south, east, north = area.bounds
    return float(max(east - west, north - south))


def _no_ground(
    ground: Ground,
    return_area: BaseGeometry,
    options: OpenOptions,
    *,
    supply: BaseGeometry,
    back: BaseGeometry,
) -> Reason | None:
    if supply.is_empty and ground.area.is_empty:
        return reason("no-available-area", things="a supply well")
    if options.outfall and (return_area.is_empty or back.is_empty):
        return reason("no-way-to-outfall", water=options.outfall)
    if return_area.is_empty:
        return reason("no-available-area", things="a return well")
    return reason("no-way-for-header") if supply.is_empty or back.is_empty else None


def _too_near(search: _Search) -> Reason:
    supplies, other = (
        shapely.get_coordinates(area.convex_hull) for area in (search.supply, search.back)
    )
    farthest = float(cdist(supplies, other).max())
    if search.farthest_m < search.separation_m:
        least_m, most_m = search.separation_m, search.farthest_m
        return reason("wells-asked-apart", least_m=least_m, most_m=most_m)
    if farthest >= search.separation_m:
        return reason("no-way-for-header")
    return reason("wells-too-near", farthest_m=farthest, wanted_m=search.separation_m)
