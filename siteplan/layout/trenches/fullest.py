"""The fullest field of trenches in a region: rings along its edge, rows, and what fits between.

A region gets either rows in one direction or trenches along its edge, whichever leads to more
with the ground that they leave over filled in the same manner.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import shapely
from shapely import LineString, MultiLineString, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.errors import GeometryError
from siteplan.geometry.lines.bends import (
    BendRule,
    across,
    around,
    cut_to,
    is_closed,
    kept_apart,
    lawful_pieces,
)
from siteplan.geometry.lines.coarsening import coarsened
from siteplan.geometry.lines.cuts import zones_of
from siteplan.geometry.lines.directions import QUICK, Search, ranked_rows
from siteplan.geometry.lines.rings import contours, outline
from siteplan.geometry.lines.rows import RowRule, row_pieces
from siteplan.geometry.lines.sweep import polygonal, polygons_of, rings_of
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.preferences.table import count_of, figure_of
from siteplan.units.lengths import FOOT

LEAST_BEND_M: Final = 1.2
"""Least radius of a bend: a 1 1/4 in pipe (OD 42.2 mm) takes 25 diameters, 1.05 m, and the
excavator a little more; common practice, no source [m]."""
LEAST_RING_M: Final = 20 * FOOT
"""Least width of a trench that closes on itself, side to side, at its narrowest: a tighter one
leaves the excavator no ground to stand on inside it; common practice, no source [m]."""
DEVIATION_M: Final = figure_of("layout.trenches.fullest.deviation_m")
SMALL: Final = figure_of("layout.trenches.fullest.small")
FREE: Final = figure_of("layout.trenches.fullest.free")
BEGUN: Final = count_of("layout.trenches.fullest.begun")
LEAST_LENGTH: Final = figure_of("layout.trenches.fullest.least_length")

Lines = list[LineString]


@dataclass(frozen=True, slots=True)
class FieldRule:
    """What trenches of a field must keep: rows, and lines with bends."""

    rows: RowRule
    bends: BendRule

    @property
    def spacing_m(self) -> float:
        """Least distance from centre line to centre line [m]."""
        return self.rows.spacing_m

    @property
    def shortest_m(self) -> float:
        """Least length of a line that fills up ground left over [m]."""
        return max(self.rows.shortest_m, LEAST_LENGTH * self.spacing_m)


def field_rule(rows: RowRule, bend: float | None = None) -> FieldRule:
    """Rule for fields; its bends are as tight as spacing and pipe allow, or as is said [m].

    Raises
    ------
    GeometryError
        The bend is tighter than half the spacing, or no number.

    Examples
    --------
    >>> field_rule(RowRule(3.0, 15.0)).bends.radius_m, field_rule(RowRule(1.5, 9.0)).bends.radius_m
    (1.5, 1.2)
    """
    half = rows.spacing_m / 2
    if bend is None:
        bend = max(half, LEAST_BEND_M)
    if not (math.isfinite(bend) and bend >= half - TOLERANCE):
        raise GeometryError(
            f"trenches: the radius of a bend is {bend!r} m; "
            f"give half the spacing, {half:.3g} m, or more."
        )
    return FieldRule(rows, BendRule(rows.spacing_m, bend))


def total_length(lines: Sequence[LineString]) -> float:
    """Total length of lines [m]."""
    return float(sum(line.length for line in lines))


def best_of(choices: Sequence[Lines]) -> Lines:
    """The longest of several choices, the first of equals; empty where there are none."""
    return max(choices, key=lambda lines: round(total_length(lines), 6), default=[])


def fullest(region: BaseGeometry, rule: FieldRule, *, cuts: int = 0) -> Lines:
    """Lines that fill a region, part by part, the largest part first.

    Small parts are cut in so many ways too, each of which gives two zones to begin with.
    """
    return _filled_up([], region, rule, cuts=cuts)


def with_rest(region: BaseGeometry, lines: Lines, rule: FieldRule) -> Lines:
    """Lines, and what fits on the ground of a region that they leave over."""
    if not lines:
        return []
    taken = around(MultiLineString(lines), rule.spacing_m)
    # ground left over has an arc at every end of a line: without fewer corners the next search
    # would drown in them
    left_over = polygonal(shapely.difference(region, taken))
    return _filled_up(lines, coarsened(left_over, DEVIATION_M), rule)


def rows_in(region: BaseGeometry, rule: RowRule, search: Search = QUICK) -> Lines:
    """Straight rows of one direction in a region; empty where none fit."""
    west, south, east, north = region.bounds
    # most scraps are smaller than the shortest line: told from their box before anything is
    # searched
    if math.hypot(east - west, north - south) < rule.shortest_m:
        return []
    rings = rings_of(region)
    best = ranked_rows(rings, rule, search)[0]
    return [LineString(piece) for piece in row_pieces(rings, rule, best)] if best.heights else []


def _filled_up(lines: Lines, region: BaseGeometry, rule: FieldRule, *, cuts: int = 0) -> Lines:
    """Lines, and the fullest fields of all parts of a region, each clear of the others."""
    lines = list(lines)
    # the largest part first: near its edge it takes the room, and the small ones give way
    for part in sorted(polygons_of(region), key=lambda polygon: -round(polygon.area, 6)):
        near = [line for line in lines if line.distance(part) < rule.spacing_m - TOLERANCE / 10]
        free: BaseGeometry = part
        if near:
            free = part.difference(around(MultiLineString(near), rule.spacing_m))
        for piece in polygons_of(polygonal(free)):
            lines += _zoned(piece, rule, cuts) if cuts else _field(piece, rule)
    return lines


def _zoned(part: Polygon, rule: FieldRule, cuts: int) -> Lines:
    """The fullest field found in one connected region, as a whole or begun in a zone."""
    whole = _field(part, rule)
    if part.area > SMALL * rule.spacing_m**2:
        return whole
    zones = zones_of(part, least_m=rule.spacing_m, most=cuts)
    begun = [rows_in(zone, rule.rows) for zone in zones]
    begun += [fullest(zone, rule) for zone in zones]
    # completing a beginning is the dear part: only those that promise most are completed
    begun.sort(key=lambda lines: -round(_promise(part, lines, rule), 6))
    # the whole is always among them, so that cutting into zones never gives less
    return best_of([whole, *(with_rest(part, lines, rule) for lines in begun[:BEGUN])])


def _promise(part: Polygon, lines: Lines, rule: FieldRule) -> float:
    """Length of lines, and of about what the ground they leave over may hold [m]."""
    if not lines:
        return 0.0
    taken = MultiLineString(lines).buffer(rule.spacing_m)
    return total_length(lines) + float(part.difference(taken).area) / rule.spacing_m


def _field(part: Polygon, rule: FieldRule) -> Lines:
    """The fullest field found in one connected region."""
    if not _may_hold(part, rule):
        return []
    choices = [rows_in(part, rule.rows)]
    # an edge followed all round fills a round or ragged region, rows fill a straight one: try
    # both, and fill what each leaves over in the same manner
    choices += [_along(curves, rule) for curves in _courses(part, rule)]
    return best_of([with_rest(part, lines, rule) for lines in choices])


def _may_hold(part: Polygon, rule: FieldRule) -> bool:
    """Whether the ground within half a spacing of a region is enough for one line."""
    half = rule.spacing_m / 2
    ground = part.area + half * part.length + math.pi * half**2
    return bool(ground >= rule.spacing_m * rule.shortest_m)


def _courses(part: Polygon, rule: FieldRule) -> list[list[LineString]]:
    """Sets of curves along the edge of a region, each set worth a try."""
    rounded = contours(part, rule.bends.radius_m)
    # in a large region the other courses differ by little, and each is a search of all that is
    # left over
    if part.area > FREE * rule.spacing_m**2:
        return [rounded]
    # the sharp outline as well: rounding takes off the corners, where a small region has its
    # length
    courses = [rounded, outline(part)]
    if len(rounded) > 1:
        # without the rings round holes, which may leave less than rows between them do
        courses.append(rounded[:1])
    return [curves for curves in courses if curves]


def _is_wide(curve: LineString) -> bool:
    """Whether a curve is no ring, or one wide enough for an excavator to go round."""
    return not is_closed(curve) or across(curve) >= LEAST_RING_M - TOLERANCE


def _along(curves: Sequence[LineString], rule: FieldRule) -> Lines:
    """Trenches along curves: where these bend little enough, apart, and of a length allowed."""
    least = max(rule.shortest_m, TOLERANCE)
    spacing = rule.spacing_m
    pieces = [
        piece
        for curve in curves
        if curve.length >= least
        for piece in lawful_pieces(curve, rule.bends, shortest_m=least)
        if piece.length >= least and _is_wide(piece)
    ]
    return [
        short
        for piece in kept_apart(pieces, spacing, shortest_m=least)
        # cut to length only after all keep apart: a cut leaves a gap, which another line must not
        # have needed
        for short in cut_to(piece, spacing, shortest_m=least, longest_m=rule.rows.longest_m)
    ]
