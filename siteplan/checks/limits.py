"""Depths, the rear yard and distances between parts, measured on the finished layout.

Each is a row of the table of separations; the sizes that were asked for are not looked at.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import Final

import numpy as np
import shapely
from scipy.spatial import cKDTree

from siteplan.checks.model import Separation
from siteplan.checks.spacing import apart
from siteplan.geometry.distance import Gap, gap
from siteplan.layout.elements import Bore, Element, Well
from siteplan.layout.model import Layout
from siteplan.rule_books.model import Rule
from siteplan.rules.limits import limit_by
from siteplan.rules.ruleset import RuleSet
from siteplan.rules.yards import REAR_YARD, rear_line
from siteplan.site.model import Feature, Site

DEPTH = "depth"
"""What a limit of depth is called in place of a thing."""
MANY: Final = 50
"""Of so many parts not every pair is measured."""
NEARLY_M: Final = 1e-3
"""Pairs that are as near as this to the nearest are measured exactly [m]."""


def limit_rows(site: Site, layout: Layout, rules: RuleSet) -> Iterator[Separation]:
    """Rows for what books say of depth, of the rear yard and of parts of one kind."""
    rows = (
        *_depths(site, layout, rules), *_yard(site, layout, rules), *_each_other(layout, rules),
    )  # fmt: skip
    worst: dict[tuple[str, Rule], Separation] = {}
    for row in rows:
        key = (row.part, row.rule)
        if key not in worst or row.spare_m < worst[key].spare_m:
            worst[key] = row
    yield from worst.values()


def _depths(site: Site, layout: Layout, rules: RuleSet) -> Iterator[Separation]:
    for element in layout.elements:
        if element.existing:
            continue
        for feature in (None, *site.features):
            for rule in rules.depth_limits(element.part, feature):
                limit = limit_by(rule, feature)
                if limit is None or not _holds_here(rule, element, feature):
                    continue
                # the row says how deep it goes beyond what the rule is counted from
                from_m = limit - rule.distance_m
                place = (element.x_m, element.y_m)
                name = DEPTH if feature is None else feature.id
                depth = _deepest(element) - from_m
                yield Separation(element.part, element.id, name, rule, depth, place, place)


def _deepest(element: Element) -> float:
    """Depth of the lower end of an element [m]."""
    return element.depth_m * math.cos(math.radians(element.tilt_deg))


def _holds_here(rule: Rule, element: Element, feature: Feature | None) -> bool:
    if feature is None or rule.within is None:
        return True
    return rule.within.holds(float(element.course.distance(feature.shape)))


def _yard(site: Site, layout: Layout, rules: RuleSet) -> Iterator[Separation]:
    line = rear_line(site)
    for element in layout.elements if line is not None else ():
        rule = rules.rear_yard(element.part)
        if rule is None or line is None or element.existing:
            continue
        places = [(float(x), float(y)) for x, y in shapely.get_coordinates(element.course)]
        place = min(places, key=lambda xy: line.behind(*xy))
        behind = line.behind(*place) - element.reach_m
        yield Separation(element.part, element.id, REAR_YARD, rule, behind, place, place)


def _each_other(layout: Layout, rules: RuleSet) -> Iterator[Separation]:
    back = {well.role: well for well in layout.of(Well)}
    least = rules.nearest_return()
    if least is not None and len(back) > 1:
        # from casing to casing
        reach = back["return"].reach_m + back["supply"].reach_m
        between = gap(back["return"].axis, back["supply"].axis, reach=reach)
        yield _pair(back["return"], back["supply"], least, between)
    for part in dict.fromkeys(element.part for element in layout.elements):
        rule = rules.apart(part)
        if rule is not None:
            alike = [element for element in layout.elements if element.part == part]
            for first, other in _near_pairs(alike):
                yield _pair(first, other, rule, _between(first, other))


def _near_pairs(alike: Sequence[Element]) -> Iterator[tuple[Element, Element]]:
    """Pairs of which one is the nearest: of a field of upright bores not all millions."""
    if len(alike) < MANY or any(element.course.geom_type != "Point" for element in alike):
        yield from combinations(alike, 2)
        return
    places = np.array([(element.x_m, element.y_m) for element in alike])
    tree = cKDTree(places)
    nearest = float(np.asarray(tree.query(places, k=2)[0])[:, 1].min())
    for first, other in sorted(tree.query_pairs(nearest + NEARLY_M)):
        yield alike[first], alike[other]


def _between(first: Element, other: Element) -> Gap:
    """Distance of two parts centre to centre, of inclined bores where they are nearest."""
    ends = ((first.x_m, first.y_m), (other.x_m, other.y_m))
    if isinstance(first, Bore) and isinstance(other, Bore):
        return Gap(apart(first, other)[0], *ends)
    return gap(first.axis, other.axis)


def _pair(first: Element, other: Element, rule: Rule, between: Gap) -> Separation:
    return Separation(
        first.part, first.id, other.id, rule, between.distance, between.start, between.end
    )
