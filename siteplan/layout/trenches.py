"""Trench centre lines in an area: straight in one direction, or in whatever way holds the most."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, Literal, get_args

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.errors import GeometryError
from siteplan.geometry.cuts import zones_of
from siteplan.geometry.directions import QUICK, THOROUGH, Search, ranked_rows
from siteplan.geometry.offset import grow
from siteplan.geometry.rows import RowRule, Rows, row_pieces
from siteplan.geometry.sweep import polygonal, polygons_of, rings_of

Shape = Literal["straight", "best"]

FIRST_DIRECTIONS: Final = 4
"""How many directions are tried as the first one before the ground left over is filled."""
END_SIDES: Final = 16
"""Sides of the polygon whose halves stand for the round ends of the ground a line takes."""
CUTS: Final = 6
"""How many straight cuts are tried, each of which gives two zones."""
MOST_ROWS: Final = 5000
"""More rows than this across an area are taken for a spacing in the wrong unit."""


def fit_trenches(
    area: BaseGeometry,
    spacing: float,
    *,
    shortest: float,
    longest: float | None = None,
    shape: Shape = "straight",
) -> list[LineString]:
    """Trench centre lines inside an area, every two at least a spacing apart [m].

    Any two lines, also two pieces of one row, keep the spacing along their whole length. A row
    longer than ``longest`` is cut into equal pieces.

    Parameters
    ----------
    area
        Polygon or multipolygon in metres; may be empty.
    spacing
        Least distance from centre line to centre line [m].
    shortest
        Least length of a line [m].
    longest
        Greatest length of a line [m]; None: no limit.
    shape
        ``"straight"``: one direction, the greatest total length over direction and place of the
        rows, whose gaps need not be equal. ``"best"``: straight lines in several directions,
        the best of a direction of its own for each connected part, of rows in one direction on
        the whole ground, and of rows in one direction on one side of a cut along a side of the
        area; in each case the ground they leave over is filled in other directions.

    Raises
    ------
    GeometryError
        The area is not valid, or a length makes no sense.

    Examples
    --------
    >>> from shapely import box
    >>> lines = fit_trenches(box(0, 0, 30, 10), 3.0, shortest=5.0)
    >>> [round(line.length, 1) for line in lines]
    [30.0, 30.0, 30.0, 30.0]
    """
    rule = trench_rule(area, spacing, shortest=shortest, longest=longest)
    if shape not in get_args(Shape):
        raise GeometryError(
            f"trenches: shape is {shape!r}; give one of {', '.join(get_args(Shape))}."
        )
    ground = polygonal(area)
    straight = straight_choices(ground, rule)
    if not straight:
        return []
    if shape == "straight":
        return lines_of(ground, rule, straight[0])
    return best_lines(ground, rule, straight)


def trench_bound(area: BaseGeometry, spacing: float) -> float:
    """Length that no straight trenches a spacing apart can exceed in an area [m].

    The strips half a spacing to both sides of the lines do not overlap and lie in the area
    widened by half a spacing, so the total is at most the widened area over the spacing. It holds
    for bends of a radius of half a spacing or more too. The widening is outside the true one.

    Raises
    ------
    GeometryError
        The area is not valid, or the spacing makes no sense.

    Examples
    --------
    >>> from shapely import box  # 30 x 10 m: (300 + 80 x 1.5 + pi 1.5²) / 3 = 142.36 m
    >>> round(trench_bound(box(0, 0, 30, 10), 3.0), 1)
    142.4
    """
    rule = trench_rule(area, spacing, shortest=0.0, longest=None)
    ground = polygonal(area)
    if ground.is_empty:
        return 0.0
    return float(grow(ground, rule.spacing_m / 2).area) / rule.spacing_m


def straight_choices(ground: BaseGeometry, rule: RowRule) -> list[Rows]:
    """Straight rows in the best few directions, the longest first; empty where none fit."""
    rings = rings_of(ground)
    if not rings:
        return []
    return [rows for rows in ranked_rows(rings, rule)[:FIRST_DIRECTIONS] if rows.heights]


def best_lines(ground: BaseGeometry, rule: RowRule, straight: Sequence[Rows]) -> list[LineString]:
    """Lines of shape ``"best"``, given the choices of straight rows."""
    layouts = [_filled(ground, rule, lines_of(ground, rule, rows)) for rows in straight]
    layouts.append(_by_parts(ground, rule))
    zones = zones_of(ground, least_m=rule.spacing_m, most=CUTS)
    layouts += [_filled(ground, rule, _best_of(zone, rule)) for zone in zones]
    return max(layouts, key=lambda lines: round(total_length(lines), 6))


def lines_of(ground: BaseGeometry, rule: RowRule, rows: Rows) -> list[LineString]:
    """Centre lines of the rows, row by row."""
    return [LineString(piece) for piece in row_pieces(rings_of(ground), rule, rows)]


def total_length(lines: Sequence[LineString]) -> float:
    """Total length of lines [m]."""
    return float(sum(line.length for line in lines))


def trench_rule(
    area: BaseGeometry, spacing: float, *, shortest: float, longest: float | None
) -> RowRule:
    """Validated spacing and lengths."""
    if not area.is_valid:
        raise GeometryError(
            "trenches: the area is not a valid shape; mend its crossing or doubled edges."
        )
    if not (math.isfinite(spacing) and spacing > 0):
        raise GeometryError(
            f"trenches: spacing is {spacing!r} m; give a positive distance between trenches."
        )
    if not (math.isfinite(shortest) and shortest >= 0):
        raise GeometryError(f"trenches: shortest is {shortest!r} m; give a length of zero or more.")
    if longest is not None and not (longest > 0 and longest >= shortest):
        raise GeometryError(
            f"trenches: longest is {longest!r} m, shortest {shortest!r} m; "
            "give a positive longest length that is not below the shortest."
        )
    west, south, east, north = (0.0, 0.0, 0.0, 0.0) if area.is_empty else area.bounds
    if math.hypot(east - west, north - south) > MOST_ROWS * spacing:
        raise GeometryError(
            f"trenches: spacing is {spacing!r} m in an area {east - west:.0f} m by "
            f"{north - south:.0f} m; give both in metres."
        )
    return RowRule(spacing, shortest, math.inf if longest is None else longest)


def _filled(ground: BaseGeometry, rule: RowRule, lines: list[LineString]) -> list[LineString]:
    """Lines, and further ones in other directions on the ground that they leave over."""
    lines = list(lines)
    known: dict[bytes, list[LineString]] = {}
    left_over: BaseGeometry = ground
    added = lines
    while True:
        left_over = _left_over(left_over, rule, added)
        parts = {part.wkb: part for part in polygons_of(left_over)}
        known = {
            key: known[key] if key in known else _best_of(part, rule) for key, part in parts.items()
        }
        added = max(known.values(), key=total_length, default=[])
        if not added:
            return lines
        lines += added


def _left_over(ground: BaseGeometry, rule: RowRule, lines: Sequence[LineString]) -> BaseGeometry:
    """Ground at least a spacing away from all lines."""
    taken = shapely.union_all([_strip(line, rule.spacing_m) for line in lines])
    return polygonal(ground.difference(taken))


def _strip(line: LineString, reach_m: float) -> Polygon:
    """Ground nearer to a straight line than a distance, with round ends cut by few tangents.

    Few corners here keep the ground left over simple; the sides are exact, the ends outside.
    """
    start, end = np.array(line.coords[0]), np.array(line.coords[-1])
    heading = math.atan2(*(end - start)[::-1])
    half = math.pi / END_SIDES
    angles = heading - math.pi / 2 + half * (1 + 2 * np.arange(END_SIDES // 2))
    cap = np.stack([np.cos(angles), np.sin(angles)], axis=1) * (reach_m / math.cos(half))
    return Polygon([*(end + cap), *(start - cap)])


def _best_of(part: BaseGeometry, rule: RowRule, search: Search = QUICK) -> list[LineString]:
    west, south, east, north = part.bounds
    if math.hypot(east - west, north - south) < rule.shortest_m:
        return []
    best = ranked_rows(rings_of(part), rule, search)[0]
    return lines_of(part, rule, best) if best.heights else []


def _by_parts(ground: BaseGeometry, rule: RowRule) -> list[LineString]:
    """Lines of each connected part in its own best direction, the largest part first."""
    lines: list[LineString] = []
    parts = sorted(polygons_of(ground), key=lambda part: -round(part.area, 6))
    for part in parts:
        near = [line for line in lines if line.distance(part) < rule.spacing_m]
        for piece in polygons_of(_left_over(part, rule, near)):
            lines += _filled(piece, rule, _best_of(piece, rule, THOROUGH))
    return lines
