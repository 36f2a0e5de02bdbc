"""Trench centre lines in an area: straight in one direction, or in whatever way holds the most."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, Literal, get_args

from shapely import LineString
from shapely.geometry.base import BaseGeometry

from siteplan.errors import GeometryError
from siteplan.geometry.lines.bends import without_hooks
from siteplan.geometry.lines.directions import THOROUGH, Search, ranked_rows
from siteplan.geometry.lines.rows import RowRule, Rows, row_pieces
from siteplan.geometry.lines.sweep import polygonal, rings_of
from siteplan.geometry.offset import widened_over
from siteplan.layout.trenches.fullest import (
    best_of,
    field_rule,
    fullest,
    total_length,
    with_rest,
)
from siteplan.preferences.table import count_of

__all__ = [
    "Shape",
    "best_lines",
    "fit_trenches",
    "lines_of",
    "straight_choices",
    "total_length",
    "trench_bound",
    "trench_rule",
]

Shape = Literal["straight", "best"]

FIRST_DIRECTIONS: Final = count_of("layout.trenches.fit.first_directions")
CUTS: Final = count_of("layout.trenches.fit.cuts")
MOST_ROWS: Final = 5000
"""More rows than this across an area are taken for a spacing in the wrong unit."""


def fit_trenches(
    area: BaseGeometry,
    spacing: float,
    *,
    shortest: float,
    longest: float | None = None,
    shape: Shape = "straight",
    bend: float | None = None,
) -> list[LineString]:
    """Trench centre lines inside an area, every two at least a spacing apart [m].

    Any two lines, also two pieces of one row or ring, keep the spacing along their whole length.
    A line with bends keeps it from itself too, and a ring may be closed: it then ends where it
    begins. A line longer than ``longest`` is cut into equal pieces.

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
        rows, whose gaps need not be equal. ``"best"``: rows in several directions, and trenches
        with bends, as rings along the edge of the ground; the longest of several ways to combine
        them, and never less than straight.
    bend
        Least radius of a bend [m], half the spacing or more; None: half the spacing, and no less
        than 1.2 m. Bends are drawn with straight pieces that depart from them by at most 1 cm, so
        that a corner of up to some 25 degrees is no bend.

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
    if shape == "straight":
        return lines_of(ground, rule, straight[0]) if straight else []
    return best_lines(ground, rule, straight, bend=bend)


def trench_bound(area: BaseGeometry, spacing: float) -> float:
    """Length that no trenches a spacing apart can exceed in an area, straight or with bends [m].

    The strips half a spacing to both sides of the lines do not overlap and lie in the area
    widened by half a spacing, so the total is at most the widened area over the spacing. A strip
    does not overlap itself where the line keeps the spacing from itself, and bends with a radius
    of half a spacing or more. The widening is outside the true one.

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
    return float(widened_over(ground, rule.spacing_m / 2).area) / rule.spacing_m


def straight_choices(
    ground: BaseGeometry, rule: RowRule, search: Search = THOROUGH
) -> tuple[Rows, ...]:
    """Straight rows in the best few directions, the longest first; empty where none fit."""
    rings = rings_of(ground)
    if not rings:
        return ()
    ranked = ranked_rows(rings, rule, search)[:FIRST_DIRECTIONS]
    return tuple(rows for rows in ranked if rows.heights)


def best_lines(
    ground: BaseGeometry, rule: RowRule, straight: Sequence[Rows], *, bend: float | None = None
) -> list[LineString]:
    """Lines of shape ``"best"``, given the choices of straight rows."""
    field = field_rule(rule, bend)
    # rows of one direction are a beginning too, so that the result is never less than straight
    # rows
    layouts = [with_rest(ground, lines_of(ground, rule, rows), field) for rows in straight]
    layouts.append(fullest(ground, field, cuts=CUTS))
    # at the very end: while lines are cut against each other, each needs all of its ends
    return [without_hooks(line) for line in best_of(layouts)]


def lines_of(ground: BaseGeometry, rule: RowRule, rows: Rows) -> list[LineString]:
    """Centre lines of the rows, row by row."""
    return [LineString(piece) for piece in row_pieces(rings_of(ground), rule, rows)]


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
