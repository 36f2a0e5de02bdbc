"""Every distance between the exchanger and the lot, measured on the finished layout."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.checks.alongside import beside, joints
from siteplan.checks.limits import limit_rows
from siteplan.checks.model import Separation
from siteplan.checks.opened import opened_ground
from siteplan.checks.wishes import wished
from siteplan.geometry.distance import gap
from siteplan.geometry.memory import Memory
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Element, Well
from siteplan.layout.model import Layout
from siteplan.layout.pit import PIT
from siteplan.rule_books.model import Part, Rule
from siteplan.rules.measuring import along_whole_bore, measured_shape
from siteplan.rules.ruleset import RuleSet
from siteplan.site.model import Feature, Site

PARCEL = "parcel"
HEADER = "header"

Thing = tuple[str, Feature | None, BaseGeometry]
"""Id, feature (None for the parcel) and shape of something that a distance is kept from."""


@dataclass(frozen=True, slots=True)
class Body:
    """Something a rule may bind: an element, or the header.

    Parameters
    ----------
    id
        Element id, or ``"header"``.
    part
        Which rules bind it.
    footprint
        Its drawn ground; of an inclined bore what lies near the surface.
    course
        The same down to its lower end, seen from above.
    reach_m
        How far it reaches beyond [m].
    existing
        Id of the feature it is itself, an existing well; else empty.
    """

    id: str
    part: Part
    footprint: BaseGeometry
    course: BaseGeometry
    reach_m: float
    existing: str = ""


def bodies(layout: Layout) -> tuple[Body, ...]:
    """Everything of a layout that rules may bind."""
    built = [_body(element) for element in layout.elements]
    if layout.header is not None and layout.header.runs:
        runs = shapely.MultiLineString(list(layout.header.runs))
        built.append(Body(HEADER, "header", runs, runs, 0.0))
        if layout.header.pit is not None:
            outline = layout.header.pit.outline
            built.append(Body(PIT, "header", outline, outline, 0.0))
    built += [
        Body(crossover.id, "header", crossover.line, crossover.line, 0.0)
        for crossover in layout.crossovers
    ]
    return tuple(built)


def _body(element: Element) -> Body:
    footprint = opened_ground(element)
    return Body(
        id=element.id,
        part=element.part,
        footprint=footprint,
        course=element.course if element.tilt_deg > 0 else footprint,
        reach_m=element.reach_m,
        existing=element.existing,
    )


def separations(
    site: Site, layout: Layout, rules: RuleSet, memory: Memory | None = None
) -> tuple[Separation, ...]:
    """Least distance for each part, kind of thing and rule: one row of the table each.

    The rows that the site file itself asks for, such as the spacing, come last. Where several
    elements and features come under one rule, the row holds the pair with the
    least to spare. An existing well is not measured against itself, and stays where it is.
    ``memory`` holds what is measured, and the shapes that rules measure to.
    """
    rows: dict[tuple[Part, Rule], Separation] = {}
    for row in _measured(site, layout, rules, Memory() if memory is None else memory):
        # one row a rule: hundreds of bores by dozens of features would bury the pair that matters
        key = (row.part, row.rule)
        if key not in rows or row.provided_m < rows[key].provided_m:
            rows[key] = row
    of_books = (*_return_to_supply(layout, rules), *limit_rows(site, layout, rules))
    return (*rows.values(), *of_books, *wished(site, rules, layout))


def _return_to_supply(layout: Layout, rules: RuleSet) -> Iterator[Separation]:
    """How far the return well stands from the supply well, where a rule limits that."""
    rule = rules.farthest_return()
    wells = {well.role: well for well in layout.of(Well)}
    if rule is None or len(wells) < 2:
        return
    back, supply = wells["return"], wells["supply"]
    nearest = gap(back.footprint, supply.footprint)
    yield Separation(
        "return well", back.id, supply.id, rule, nearest.distance, nearest.start, nearest.end
    )


def _measured(site: Site, layout: Layout, rules: RuleSet, memory: Memory) -> Iterator[Separation]:
    things: list[Thing] = [
        (PARCEL, None, site.parcel.boundary),
        *((feature.id, feature, feature.shape) for feature in site.features),
    ]
    own = {element.existing for element in layout.elements}
    for body in memory.of(bodies, layout):
        if body.existing:
            continue
        for name, feature, shape in things:
            if body.part == "header" and name in own:
                continue  # it has to reach the well that it serves
            parcel = site.parcel if feature is None else None
            holding = rules.holding(body.part, feature)
            rows = [
                _row(body, (name, feature, shape), rule, rules, memory, parcel)
                for rule in holding
                if not rule.alongside and not _is_outside(body, feature, rule, site)
            ]
            if feature is not None and body.part == "header":
                rows += _alongside(body, feature, layout, rules)
            if rows:
                worst = min(rows, key=lambda row: row.spare_m)
                others = tuple(rule for rule in holding if rule is not worst.rule)
                yield replace(worst, others=others)


def _is_outside(body: Body, feature: Feature | None, rule: Rule, site: Site) -> bool:
    """Whether a body lies outside the ground that the thing lies in and the rule is about."""
    if not rule.unless_outside or feature is None:
        return False
    around = [each.shape for each in site.of_kind(rule.unless_outside)]
    around = [shape for shape in around if shape.area > 0 and shape.intersects(feature.shape)]
    # a thing that leaves its easement is kept off all around
    if not around or not shapely.union_all(around).buffer(TOLERANCE).covers(feature.shape):
        return False
    return min(shape.distance(body.course) for shape in around) - body.reach_m >= -TOLERANCE


def _alongside(
    body: Body, feature: Feature, layout: Layout, rules: RuleSet
) -> Iterator[Separation]:
    """Distance of a header from a line beside which it runs, by each rule about that."""
    holding = rules.alongside(feature)
    spots = joints(layout, body.footprint) if holding else ()
    for rule in holding:
        nearest = beside(body.footprint, spots, feature, rule, rules)
        if nearest is not None:
            yield Separation(
                part="header",
                element=body.id,
                feature=feature.id,
                rule=rule,
                provided_m=nearest.distance,
                element_point=nearest.start,
                feature_point=nearest.end,
            )


def _row(
    body: Body,
    thing: Thing,
    rule: Rule,
    rules: RuleSet,
    memory: Memory,
    outside: BaseGeometry | None = None,
) -> Separation:
    """Distance between a body and a thing as one rule measures it.

    ``outside`` is the parcel where the thing is its line: a body beyond it is at a negative
    distance.
    """
    name, feature, shape = thing
    reach = body.reach_m + rules.measuring.extra(rule, body.part, body.reach_m)
    target = shape if feature is None else memory.of(measured_shape, feature, rule)
    ground = body.course if along_whole_bore(rule, feature) else body.footprint
    nearest = gap(ground, target, reach=reach)
    if outside is not None and not outside.intersects(ground):
        # beyond the property line: the farther, the worse
        nearest = replace(nearest, distance=-float(outside.distance(ground)) - reach)
    return Separation(
        part=body.part,
        element=body.id,
        feature=name,
        rule=rule,
        provided_m=nearest.distance,
        element_point=nearest.start,
        feature_point=nearest.end,
        strip_m=rules.measuring.strip_if(rule) if body.part == "trench" else 0.0,
    )
