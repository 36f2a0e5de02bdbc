"""What a row of a parcel file may be screened as, and why a row may not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.limits import MOST_VERTICES
from siteplan.screening.chunk import Words
from siteplan.screening.scan import Integers, Shapes

SMALLEST_M2: Final = 20.0
"""A smaller outline is a slip of the map, no lot; common practice, no source [m2]."""
NARROWEST_M: Final = 1.0
"""A narrower outline is a sliver between lots; common practice, no source [m]."""
MENDED: Final = 0.99
"""Share of an outline that is left where it may be mended."""


@dataclass(frozen=True, slots=True)
class Cleaned:
    """Rows judged before they are screened.

    Parameters
    ----------
    outlines
        One polygon a row, with its holes; None where the row cannot be screened.
    why_not
        Why a row cannot be screened; empty where it can.
    mended
        What was mended, in words; empty: nothing.
    units
        How many rows have this outline; 0: another row stands for this one.
    """

    outlines: Shapes
    why_not: Words
    mended: Words
    units: Integers


def cleaned(shapes: Shapes) -> Cleaned:
    """Rows as one polygon each, in metres; what is wrong or mended is said."""
    count = len(shapes)
    outlines, why = shapes.copy(), np.full(count, "", dtype="<U120")
    mended = np.full(count, "", dtype="<U120")
    empty = shapely.is_missing(shapes) | shapely.is_empty(shapes)
    refuse(outlines, why, empty, "has no outline")
    flat = ~empty & (shapely.get_dimensions(shapes) < 2)
    refuse(outlines, why, flat, "is a point or a line, no area")
    refuse(outlines, why, not_finite(outlines), "has a corner that is no place")
    corners = shapely.get_num_coordinates(outlines)
    refuse(
        outlines, why, corners > MOST_VERTICES,
        f"has more than {MOST_VERTICES:,} corners: leave out some",
    )  # fmt: skip
    _mend(outlines, why, mended)
    _largest_part(outlines, mended)
    area, length = shapely.area(outlines), shapely.length(outlines)
    with np.errstate(invalid="ignore", divide="ignore"):
        sliver = (area < SMALLEST_M2) | (2 * area / length < NARROWEST_M)
    refuse(outlines, why, sliver & (why == ""), "is a sliver, no lot")
    return Cleaned(outlines, why, mended, _units(outlines))


def refuse(outlines: Shapes, why: Words, which: NDArray[np.bool_], reason: str) -> None:
    """Leave out some of the rows that are not left out yet, with the reason."""
    which = which & (why == "")
    why[which] = reason
    outlines[which] = None


def areas_of(shapes: Shapes) -> Shapes:
    """What of each shape is an area, as it is drawn; None where nothing is or a corner is no place.

    Examples
    --------
    >>> mixed = shapely.GeometryCollection([shapely.Point(0, 0), shapely.box(0, 0, 2, 1)])
    >>> areas_of(np.array([mixed, shapely.Point(0, 0)], dtype=object)).tolist()
    [<MULTIPOLYGON (((2 0, 2 1, 0 1, 0 0, 2 0)))>, None]
    """
    found = np.full(len(shapes), None, dtype=object)
    sound = ~(shapely.is_missing(shapes) | shapely.is_empty(shapes) | not_finite(shapes))
    kind = shapely.get_type_id(shapes)
    plain = sound & np.isin(kind, (3, 6))
    found[plain] = shapes[plain]
    for number in np.flatnonzero(sound & (kind == 7)).tolist():
        parts = shapely.get_parts(shapely.get_parts(shapes[number]))
        areas = parts[shapely.get_type_id(parts) == 3]
        if len(areas):
            found[number] = shapely.multipolygons(areas)
    return found


def not_finite(outlines: Shapes) -> NDArray[np.bool_]:
    """Which outlines have a corner that is no place."""
    points, owner = shapely.get_coordinates(outlines, return_index=True)
    bad = np.zeros(len(outlines), dtype=bool)
    bad[owner[~np.isfinite(points).all(axis=1)]] = True
    return bad


def _mend(outlines: Shapes, why: Words, mended: Words) -> None:
    """Outlines that cross or touch themselves made whole where that changes next to nothing."""
    broken = np.flatnonzero(~shapely.is_missing(outlines) & ~shapely.is_valid(outlines))
    for number in broken.tolist():
        whole = shapely.make_valid(outlines[number])
        parts = [each for each in shapely.get_parts(whole) if each.geom_type == "Polygon"]
        largest = max(parts, key=shapely.area, default=None)
        hull = shapely.area(shapely.convex_hull(outlines[number]))
        total = sum(shapely.area(part) for part in parts)
        if largest is None or largest.area < MENDED * total or largest.area < 0.05 * hull:
            why[number], outlines[number] = "has an outline that crosses itself", None
        else:
            outlines[number] = largest
            mended[number] = "the outline crossed itself: mended"


def _largest_part(outlines: Shapes, mended: Words) -> None:
    several = np.flatnonzero(shapely.get_type_id(outlines) > 3)
    for number in several.tolist():
        parts = [
            each for each in shapely.get_parts(outlines[number]) if each.geom_type == "Polygon"
        ]
        outlines[number] = max(parts, key=shapely.area, default=None)
        if len(parts) > 1:
            mended[number] = f"the largest of {len(parts)} parts"


def _units(outlines: Shapes) -> Integers:
    """How many rows have each outline; 0 for all but the first of them."""
    units = np.ones(len(outlines), dtype=np.int64)
    there = np.flatnonzero(~shapely.is_missing(outlines))
    keys = shapely.to_wkb(shapely.normalize(outlines[there]))
    first: dict[bytes, int] = {}
    for number, key in zip(there.tolist(), keys.tolist(), strict=True):
        one = first.setdefault(key, number)
        if one != number:
            units[one] += 1
            units[number] = 0
    return units
