"""Whether what is said of a pond's depth can be true: contours, soundings, its lowest level."""

from __future__ import annotations

from itertools import combinations
from typing import Final

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.tolerance import TOLERANCE
from siteplan.limits import MOST_CONTOURS, MOST_CORNERS
from siteplan.reading import Table
from siteplan.site.model import Feature
from siteplan.site.pond_survey import SHORE_M, DepthContour, Sounding
from siteplan.units.lengths import FOOT, format_length

BESIDE_M: Final = 0.1
"""What a contour may lie beyond a shallower one, as drawn lines wander; common practice, no source
[m]."""
WRONG_M: Final = 1 * FOOT
"""What a sounding may be shallower than the contour around it; common practice, no source [m]."""


def judge_depths(feature: Feature, table: Table) -> None:
    """Note depths of a pond that cannot be true."""
    count = len(feature.contours)
    if count > MOST_CONTOURS:
        what = f"has {count:,} depth contours; {MOST_CONTOURS} are read."
        table.fault("", what, "Leave out those in between.")
        return
    corners = max((shapely.get_num_coordinates(each.shape) for each in feature.contours), default=0)
    if corners > MOST_CORNERS + 1:
        what = f"has a depth contour of {corners:,} corners; {MOST_CORNERS:,} are planned with."
        table.fault("", what, "Draw it with fewer.")
        return
    for contour in feature.contours:
        if not feature.shape.buffer(SHORE_M).covers(contour.shape):
            table.fault("", "has a depth contour outside its shore.", "Correct one of them.")
    for outer, inner in combinations(feature.contours, 2):
        if outer.depth_m < inner.depth_m:
            _judge_pair(outer, inner, table)
    _judge_depth(feature, table)
    _judge_soundings(feature, table)
    _judge_shore_entries(feature, table)
    _judge_lowest(feature, table)


def _judge_pair(shallow: DepthContour, deep: DepthContour, table: Table) -> None:
    """Note two contours of which the deeper is not within the shallower, or apart from it."""
    depths = [format_length(each.depth_m, table.unit) for each in (shallow, deep)]
    if deep.shape.contains(shallow.shape):
        table.fault(
            "",
            f"has a depth contour of {depths[0]} inside one of {depths[1]}.",
            "Inside a contour the water is at least so deep: swap the depths, or draw "
            "the deep water as a ring around the shoal.",
        )
        return
    if not deep.shape.overlaps(shallow.shape):
        return
    beyond = deep.shape.difference(shallow.shape.buffer(BESIDE_M))
    if not beyond.is_empty:
        crossing = deep.shape.boundary.intersection(shallow.shape.boundary)
        place = _place(crossing if not crossing.is_empty else beyond, table)
        table.fault(
            "",
            f"has depth contours of {depths[0]} and {depths[1]} that cross at {place}.",
            "The deeper one lies within the shallower: correct one of them.",
        )


def _judge_depth(feature: Feature, table: Table) -> None:
    """Note a depth of the pond that is less than what was measured in it."""
    measured = [(contour.depth_m, "a depth contour") for contour in feature.contours]
    measured += [(each.depth_m, f"sounding {each.id!r}") for each in feature.survey.soundings]
    deepest_m, what = max(measured, default=(0.0, ""), key=lambda pair: pair[0])
    if feature.depth_m is not None and feature.depth_m < deepest_m - TOLERANCE:
        depth, deeper = (format_length(m, table.unit) for m in (feature.depth_m, deepest_m))
        table.fault(
            "depth",
            f"of {depth} is less than {what} of {deeper} in it.",
            "Correct one of them; beside contours or soundings depth may be left out.",
        )


def _judge_soundings(feature: Feature, table: Table) -> None:
    """Note soundings on land, two depths at one place, and such as a contour contradicts."""
    seen: dict[tuple[float, float], Sounding] = {}
    for sounding in feature.survey.soundings:
        spot = f"sounding {sounding.id!r} at {_place(sounding.at, table)}"
        away = float(feature.shape.distance(sounding.at))
        if away > 0:
            far = format_length(away, table.unit, 1, rounding="up")
            table.fault("", f"has {spot} on land, {far} from its shore.", "Correct one of them.")
        before = seen.setdefault((sounding.at.x, sounding.at.y), sounding)
        if before.depth_m != sounding.depth_m:
            table.fault("", f"has {spot} where {before.id!r} is.", "Keep the one that is right.")
        _judge_against_contours(sounding, spot, feature, table)


def _judge_against_contours(sounding: Sounding, spot: str, feature: Feature, table: Table) -> None:
    around = [
        contour.depth_m
        for contour in feature.contours
        if contour.shape.contains(sounding.at)
        and contour.shape.boundary.distance(sounding.at) > SHORE_M
    ]
    deepest = max(around, default=0.0)
    if sounding.depth_m < deepest - WRONG_M:
        depth, known = (format_length(each, table.unit) for each in (sounding.depth_m, deepest))
        table.fault(
            "",
            f"has {spot}, {depth} deep, inside a depth contour of {known}.",
            f"There it is {known} or deeper: correct one of them.",
        )


def _judge_shore_entries(feature: Feature, table: Table) -> None:
    """Note shore entries off the shore, and a second one."""
    entries, shore = feature.survey.shore_entries, feature.shape.boundary
    for entry in entries:
        away = float(shore.distance(entry.at))
        if away > SHORE_M:
            far = format_length(away, table.unit, 1, rounding="up")
            place = _place(entry.at, table)
            table.fault(
                "",
                f"has its shore entry at {place}, {far} from its shore.",
                "Put it on the outline of the pond, where header and electric line come in.",
            )
    if len(entries) > 1:
        names = " and ".join(repr(entry.id) for entry in entries)
        table.fault("", f"has the shore entries {names}.", "Keep the one that is built.")


def _judge_lowest(feature: Feature, table: Table) -> None:
    """Note a pond that is dry at its lowest level."""
    known = [
        *([feature.depth_m] if feature.depth_m is not None else []),
        *(contour.depth_m for contour in feature.contours),
        *(sounding.depth_m for sounding in feature.survey.soundings),
    ]
    drawdown = feature.survey.drawdown_m
    if known and drawdown >= max(known):
        deepest = format_length(max(known), table.unit)
        table.fault(
            "drawdown",
            f"is {format_length(drawdown, table.unit)}: the pond is dry then.",
            f"Give less than its greatest depth, {deepest}.",
        )


def _place(shape: BaseGeometry, table: Table) -> str:
    """Coordinates of the first point of a shape, in the units of the file."""
    x, y = shapely.get_coordinates(shape)[0] / table.unit.metres
    return f"({x:.1f}, {y:.1f}) {table.unit}"
