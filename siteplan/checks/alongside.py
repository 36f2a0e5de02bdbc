"""How near a header runs beside a line that it may cross, measured again on the finished pipe."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import shapely
from shapely import Point
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.distance import Gap, gap
from siteplan.geometry.offset import grow
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.model import Layout
from siteplan.rule_books.model import Rule
from siteplan.rules.measuring import measured_shape
from siteplan.rules.ruleset import RuleSet
from siteplan.site.model import Feature

XY = tuple[float, float]
AT_END_M: Final = 0.05
"""So near pipe crosses a line that ends beside it: it has a width, and the line goes on [m];
judgement, no source."""


def beside(
    pipe: BaseGeometry, spots: Sequence[XY], feature: Feature, rule: Rule, rules: RuleSet
) -> Gap | None:
    """Least distance of pipe from a line, but for where it crosses it or leaves it [m].

    None where all of the pipe lies so near a crossing or one of its ends.

    Parameters
    ----------
    pipe
        Centre lines.
    spots
        Places where the pipe begins or joins something.
    feature, rule
        The line, and the rule that keeps the pipe off as it runs beside it.
    rules
        How it is measured.
    """
    keep, leaving = rules.measuring.beside(rule, feature), rules.measuring.leaving(rule, feature)
    near = [Point(spot) for spot in spots if feature.shape.distance(Point(spot)) < keep]
    windows = [grow(spot, leaving) for spot in (*near, *_crossings(pipe, feature.shape))]
    rest = pipe.difference(shapely.union_all(windows)) if windows else pipe
    if rest.is_empty:
        return None
    reach = rules.measuring.extra(rule, "header", 0.0)
    return gap(rest, measured_shape(feature, rule), reach=reach)


def _crossings(pipe: BaseGeometry, line: BaseGeometry) -> Iterator[Point]:
    """Where pipe goes from one side of a line to the other; not where it lies on it."""
    for part in shapely.get_parts(shapely.intersection(pipe, line)):
        if part.geom_type == "Point":
            yield part
    # a line that ends at a wall goes on behind it
    for end in shapely.get_parts(line.boundary):
        if end.geom_type == "Point" and 0.0 < pipe.distance(end) <= AT_END_M:
            yield end


def joints(layout: Layout, pipe: BaseGeometry) -> tuple[XY, ...]:
    """Places where pipe of a header begins or joins an element, of those that it touches."""
    places = [end for element in layout.elements for end in element.ends]
    if layout.header is not None:
        places.append((layout.header.entry.point.x, layout.header.entry.point.y))
    return tuple(place for place in places if pipe.distance(Point(place)) <= TOLERANCE)
