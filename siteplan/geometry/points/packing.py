"""Points in an area, as many as it holds at a spacing or as far apart as they go."""

from __future__ import annotations

import math
from typing import Final, Literal, get_args

import numpy as np
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from shapely.geometry.base import BaseGeometry

from siteplan.errors import GeometryError
from siteplan.geometry.points.bound import packing_bound
from siteplan.geometry.points.free import improve
from siteplan.geometry.points.lattice import Pattern, best_pattern, edge_directions
from siteplan.geometry.points.scanline import Floats
from siteplan.geometry.points.spreading import spread_apart
from siteplan.preferences.table import count_of

Arrangement = Literal["free", "rows"]

COARSE_STEPS: Final = count_of("geometry.points.packing.coarse_steps")
FINE_STEPS: Final = count_of("geometry.points.packing.fine_steps")
FEW_DIRECTIONS: Final = count_of("geometry.points.packing.few_directions")
MOST_POINTS: Final = 200_000
"""More points than this are taken for a spacing in the wrong unit."""


def pack_points(
    area: BaseGeometry,
    spacing: float,
    *,
    arrangement: Arrangement = "free",
    count: int | None = None,
    effort: float = 1.0,
) -> Floats:
    """Points inside or on the edge of an area, pairwise at least a spacing apart, shape (n, 2) [m].

    Parameters
    ----------
    area
        Polygon or multipolygon in metres; may be empty. A point or a line counts as an area
        without width.
    spacing
        Least distance from point to point [m].
    arrangement
        ``"rows"``: straight rows, square or staggered, in the best direction found by a scan.
        ``"free"``: these rows, then a fixed number of hops of patches that hold a point too many
        until all find room; never fewer points than the rows, not proven the most possible.
        With ``count``: the same hops at a spacing a little too large, polished exactly.
    count
        Exactly so many points, as far apart as the arrangement holds them; None: as many points
        as possible.
    effort
        Scales the fixed budget of hops of ``"free"``; a larger one goes on where a smaller one
        stops, so that more effort never gives less.

    Raises
    ------
    GeometryError
        The area is not valid, a number makes no sense, or ``count`` points do not fit.

    Examples
    --------
    >>> from shapely import box
    >>> len(pack_points(box(0, 0, 4, 4), 1.0, arrangement="rows"))
    25
    """
    _check(spacing, arrangement, count=count, effort=effort)
    area = usable_area(area)
    # near the origin rounding is far below the tolerance; map coordinates run to millions of
    # metres
    centre = centre_of(area)
    local = shapely.transform(area, lambda xy: xy - centre)
    # before any search: a spacing in the wrong unit would fill memory, not give a wrong plan
    _check_size(local, spacing)
    if count is not None:
        if arrangement == "rows":
            return _spread(local, spacing, count=count) + centre
        return _spread_freely(local, spacing, count=count, effort=effort) + centre
    # rows come first also for "free", which only adds to what it is given: so never fewer than
    # rows
    points = _joined(pack_rows(local, spacing))
    if arrangement == "free" and local.area > 0:
        points = improve(local, spacing, points=points, effort=effort)
    return points + centre


def pack_rows(
    area: BaseGeometry, spacing: float, *, directions: Floats | None = None
) -> tuple[Pattern, ...]:
    """Best rows of each cluster of an area's parts, as :func:`pack_points` finds them.

    Coordinates are best small: see :func:`centre_of`. ``directions`` [rad] narrows the search.
    """
    return tuple(
        best_pattern(cluster, spacing, directions=directions) for cluster in clusters(area, spacing)
    )


def usable_area(area: BaseGeometry) -> BaseGeometry:
    """Area without a coordinate grid, or an error that says where it is broken.

    Raises
    ------
    GeometryError
        The area crosses itself or has coordinates that are not finite.
    """
    if area.is_empty:
        return shapely.Polygon()
    if not np.isfinite(shapely.get_coordinates(area)).all():
        raise GeometryError("area: a coordinate is not a finite number; give local metres.")
    # a coordinate grid would snap every later overlay, and swallow small offsets
    area = shapely.set_precision(shapely.force_2d(area), 0.0)
    if not area.is_valid:
        reason = shapely.is_valid_reason(area)
        area = shapely.make_valid(area)
        if area.area > 0:
            raise GeometryError(
                f"area: the outline is not valid ({reason}); draw each ring without crossings."
            )
    return area


def centre_of(area: BaseGeometry) -> Floats:
    """Centre of an area's bounding box [m]; the origin for an empty one."""
    if area.is_empty:
        return np.zeros(2)
    west, south, east, north = area.bounds
    return np.array([(west + east) / 2, (south + north) / 2])


def clusters(area: BaseGeometry, spacing: float) -> list[BaseGeometry]:
    """Parts of an area, those nearer to each other than the spacing kept together."""
    parts = shapely.get_parts(area)
    parts = parts[~shapely.is_empty(parts)]
    if parts.size == 0:
        return []
    # parts farther apart cannot disturb each other: each gets the direction that suits it best
    part, other = shapely.STRtree(parts).query(parts, predicate="dwithin", distance=spacing)
    graph = coo_array((np.ones(part.size, dtype=np.int8), (part, other)), (parts.size, parts.size))
    total, member = connected_components(graph, directed=False)
    return [shapely.GeometryCollection(list(parts[member == index])) for index in range(total)]


def _joined(patterns: tuple[Pattern, ...]) -> Floats:
    return np.vstack([np.zeros((0, 2)), *(pattern.points for pattern in patterns)])


def _spread(area: BaseGeometry, spacing: float, *, count: int) -> Floats:
    """Points of the rows of widest spacing that still hold ``count``, the first ``count``."""
    patterns = pack_rows(area, spacing)
    _check_count(len(_joined(patterns)), spacing, count=count)
    if count < 2:
        return shapely.get_coordinates(area.representative_point())[:count]
    return _joined(_widened(area, spacing, count=count, patterns=patterns))[:count]


def _spread_freely(area: BaseGeometry, spacing: float, *, count: int, effort: float) -> Floats:
    """Points as far apart as basin hopping brings them, from the widest rows of few directions."""
    patterns = pack_rows(area, spacing)
    points = _joined(patterns)
    # rows may hold too few where a free packing holds enough: refuse only after both have failed
    if len(points) < count and area.area > 0:
        points = improve(area, spacing, points=points, effort=effort)
    _check_count(len(points), spacing, count=count)
    if count < 2 or area.area == 0:
        return _spread(area, spacing, count=count)
    if len(_joined(patterns)) >= count:
        few = edge_directions(area)[:FEW_DIRECTIONS]
        # a beginning only: the last digits come from spreading
        patterns = _widened(
            area, spacing, count=count, patterns=patterns, steps=COARSE_STEPS, directions=few
        )
        points = _joined(patterns)
    return spread_apart(area, points[:count], effort=effort)


def _check_count(held: int, spacing: float, *, count: int) -> None:
    if held < count:
        raise GeometryError(
            f"area: {held} points fit at a spacing of {spacing} m, {count} are asked for; "
            "ask for fewer, or for a smaller spacing."
        )


def _widened(
    area: BaseGeometry,
    spacing: float,
    *,
    count: int,
    patterns: tuple[Pattern, ...],
    steps: int = COARSE_STEPS + FINE_STEPS,
    directions: Floats | None = None,
) -> tuple[Pattern, ...]:
    """Patterns of the widest spacing found at which ``count`` points are held."""
    # halving, though the number held does not fall evenly as the spacing grows: rows that miss at
    # one spacing may hold enough at a wider one, which is why the fine steps look beyond
    low, high = spacing, _widest(area, spacing, count=count)
    for step in range(steps):
        if step == COARSE_STEPS:
            # the coarse search may have missed a wider spacing: look as far again beyond it
            high = low + 2 * (high - low)
            # from here the spacing changes by hairs, so the best directions stay, and all of them
            # are dear
            directions = np.radians([pattern.direction_deg for pattern in patterns])
        middle = (low + high) / 2
        trial = pack_rows(area, middle, directions=directions)
        if len(_joined(trial)) >= count:
            low, patterns = middle, trial
        else:
            high = middle
    return patterns


def _widest(area: BaseGeometry, spacing: float, *, count: int) -> float:
    """Smallest doubling of a spacing at which ``count`` points are proven not to fit."""
    while packing_bound(area, spacing) >= count:
        spacing *= 2
    return spacing


def _check(spacing: float, arrangement: str, *, count: int | None, effort: float) -> None:
    if not (math.isfinite(spacing) and spacing > 0):
        raise GeometryError(
            f"spacing: {spacing} m is not a distance; give a number of metres above 0."
        )
    if not (math.isfinite(effort) and effort > 0):
        raise GeometryError(f"effort: {effort} is not a share of work; give a number above 0.")
    if arrangement not in get_args(Arrangement):
        raise GeometryError(f"arrangement: {arrangement!r} is not known; give 'free' or 'rows'.")
    if count is not None and count < 0:
        raise GeometryError(f"count: {count} points cannot be placed; give 0 or more.")


def _check_size(area: BaseGeometry, spacing: float) -> None:
    limit = packing_bound(area, spacing)
    if limit > MOST_POINTS:
        raise GeometryError(
            f"spacing: {spacing} m would give up to {limit:,} points, and at most {MOST_POINTS:,} "
            "are handled; check its unit."
        )
