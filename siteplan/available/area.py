"""Where the parts of an exchanger may lie: the parcel less named keep-outs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.lines.sweep import joined_polygons
from siteplan.geometry.memory import Memory
from siteplan.geometry.offset import grow
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.rule_books.model import Part, Rule
from siteplan.rules.measuring import Measuring, along_whole_bore, measured_shape
from siteplan.rules.ruleset import RuleSet
from siteplan.rules.yards import REAR_YARD, ground_before, rear_line
from siteplan.site.model import Entry, Feature, Site
from siteplan.vocabulary.kinds import kinds

PARCEL = "parcel"
"""Feature id that stands for the property line."""

WALL_GAP_M = 1.0
"""How far the header stays from walls except where it enters, common practice [m]."""
THIN_M = 0.5
"""What the header keeps from a stream or a tank drawn without width, common practice [m]."""
ENTRY_REACH_M = 2.0
"""Around an entry the header may come up to the wall [m]."""


@dataclass(frozen=True, slots=True)
class KeepOut:
    """The ground that one rule takes around one feature.

    Parameters
    ----------
    rule
        The rule that takes it.
    feature
        Id of the feature, or ``"parcel"`` for the property line.
    shape
        The feature widened by the rule's distance, outside the true arc.
    """

    rule: Rule
    feature: str
    shape: BaseGeometry


@dataclass(frozen=True, slots=True)
class AvailableArea:
    """Where one part may lie, and what took the rest.

    Parameters
    ----------
    part
        Part of the exchanger.
    shape
        Where its centre, or centre line, may lie.
    keep_outs
        What the rules take off the parcel for any point of the part, of a sloped trench for its
        strip, by rule and feature.
    """

    part: Part
    shape: BaseGeometry
    keep_outs: tuple[KeepOut, ...]


def available_area(
    site: Site,
    rules: RuleSet,
    part: Part,
    *,
    reach_m: float = 0.0,
    memory: Memory | None = None,
) -> AvailableArea:
    """Parcel less the keep-outs of one part.

    Parameters
    ----------
    site, rules
        The lot and what holds on it.
    part
        Part of the exchanger.
    reach_m
        How far the part reaches around its centre or centre line [m]; the keep-outs are
        widened by it for ``shape``, so that the rule's distance is kept from its edge.
    memory
        Keep-outs worked out already: another part or another rule set has many of the same.
    """
    memory = Memory() if memory is None else memory
    limits = tuple(_limits(site, rules, part, reach_m, memory))
    # of a sloped trench the strip keeps the distance: the limit is where its edge may lie
    upright = replace(rules.measuring, strip_m=0.0)
    named = tuple(_keep_outs(limits, upright, part, 0.0, memory))
    # worked out once where both are the same, as for most parts they are
    more_m = site.exchanger.allowance_m
    same = reach_m == more_m == 0 and (part != "trench" or rules.measuring.strip_m == 0)
    widened = (
        named
        if same
        else tuple(_keep_outs(limits, rules.measuring, part, reach_m, memory, more_m=more_m))
    )
    taken = shapely.union_all([keep_out.shape for keep_out in widened])
    return AvailableArea(part, joined_polygons(site.parcel.difference(taken)), named)


def area_below(
    site: Site, rules: RuleSet, *, reach_m: float, memory: Memory | None = None
) -> BaseGeometry:
    """Where an inclined bore may pass, seen from above: within the parcel, off wells.

    Parameters
    ----------
    site, rules
        The lot and what holds on it.
    reach_m
        Radius of the bore [m].
    memory
        Keep-outs worked out already.
    """
    memory = Memory() if memory is None else memory
    pad = site.exchanger.vertical.pad
    line = pad.line_m if pad is not None else 0.0
    more_m = site.exchanger.allowance_m
    taken = [memory.of(grow, site.parcel.boundary, line + reach_m + more_m)]
    for feature in (None, *site.features):
        for rule in rules.holding("bore", feature):
            if along_whole_bore(rule, feature):
                shape = site.parcel.boundary if feature is None else measured_shape(feature, rule)
                reach = reach_m + rules.measuring.extra(rule, "bore", reach_m) + more_m
                taken.append(memory.of(grow, shape, rule.distance_m + reach))
    return joined_polygons(site.parcel.difference(shapely.union_all(taken)))


def header_area(
    site: Site,
    rules: RuleSet,
    *,
    through: tuple[Feature, ...] = (),
    memory: Memory | None = None,
) -> BaseGeometry:
    """Where the header may run: also up to the wall at each entry.

    Parameters
    ----------
    site, rules
        The lot and what holds on it.
    through
        Features it enters though nothing may cross them: the pond that holds the coils. What a rule
        keeps from them it keeps.
    memory
        Keep-outs worked out already.
    """
    memory = Memory() if memory is None else memory
    exempt = {feature.id for feature in through}
    kept = [
        keep_out.shape
        for keep_out in _keep_outs(
            _limits(site, rules, "header", 0.0, memory),
            rules.measuring,
            "header",
            0.0,
            memory,
            more_m=site.exchanger.allowance_m,
        )
    ]
    solid = [
        memory.of(grow, feature.shape, _solid_m(feature))
        for feature in site.features
        if kinds()[feature.kind].crossing == "never" and feature.id not in exempt
    ]
    walls = [feature.shape for feature in site.of_kind("building")]
    # a trench along a wall loosens what its footing stands on: the header comes near only at a
    # door
    gaps = shapely.union_all([memory.of(grow, wall, WALL_GAP_M) for wall in walls])
    doors = shapely.union_all(
        [memory.of(grow, entry.point, ENTRY_REACH_M) for entry in wall_entries(site)]
    )
    blocked = shapely.union_all([*kept, *solid])
    open_ground = site.parcel.difference(shapely.union_all([blocked, gaps]))
    # the doorway opens the gap at the wall, never what a rule or a solid thing keeps
    approach = doors.intersection(site.parcel).difference(blocked)
    return joined_polygons(shapely.union_all([open_ground, approach]))


def wall_entries(site: Site) -> tuple[Entry, ...]:
    """Entries where the pipes go through the wall: those inside a building are moved to it."""
    return tuple(_at_wall(entry, site.of_kind("building")) for entry in site.entries)


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a part may not lie at one point.

    Parameters
    ----------
    feature
        Id of the feature it is too near, ``"parcel"`` for the property line.
    distance_m
        Distance from the point to it [m].
    rule
        The rule that asks for more; None where none does: the point is not on the parcel, or the
        header never crosses the feature.
    asked_m
        What is kept from a feature that no rule speaks of [m].
    """

    feature: str
    distance_m: float
    rule: Rule | None
    asked_m: float = 0.0


def why_not(site: Site, rules: RuleSet, part: Part, x: float, y: float) -> tuple[Reason, ...]:
    """Every reason why a part may not have its edge at a point; empty where it may.

    Parameters
    ----------
    site, rules
        The lot and what holds on it.
    part
        Part of the exchanger.
    x, y
        Local easting and northing [m].
    """
    point = shapely.Point(x, y)
    if not site.parcel.covers(point):
        return (Reason(PARCEL, float(site.parcel.distance(point)), None),)
    reasons = []
    for feature in (None, *site.features):
        # each rule by its own measure: who learns of one only meets the next after it
        for rule in rules.keeping_off(part, feature):
            shape = site.parcel.boundary if feature is None else measured_shape(feature, rule)
            distance = float(shape.distance(point))
            asked = rule.distance_m + rules.measuring.extra(rule, part, 0.0)
            if rule.unless_outside and feature is not None:
                ground = _in_ground(site, feature, rule)
                if ground is not None and not ground.intersects(point):
                    continue
            inside = distance == 0 and shape.area > 0 and shape.contains(point)
            if distance < asked - TOLERANCE or inside:
                name = PARCEL if feature is None else feature.id
                reasons.append(Reason(name, distance, rule))
    yard, line = rules.rear_yard(part), rear_line(site)
    if yard is not None and line is not None and line.behind(x, y) < -TOLERANCE:
        reasons.append(Reason(REAR_YARD, -line.behind(x, y), yard))
    if part == "header":
        reasons += _solid_for_header(site, point, {reason.feature for reason in reasons})
    return tuple(reasons)


def _solid_m(feature: Feature) -> float:
    """How far beyond its drawn shape what is never crossed reaches for the header [m]."""
    return 0.0 if feature.shape.area > 0 else max(THIN_M, feature.width_m / 2)


def _solid_for_header(site: Site, point: shapely.Point, named: set[str]) -> Iterator[Reason]:
    """What the header never crosses, and the walls that it keeps off, at one point."""
    doors = [entry.point for entry in wall_entries(site)]
    at_door = any(point.distance(door) <= ENTRY_REACH_M for door in doors)
    for feature in site.features:
        if feature.id in named or kinds()[feature.kind].crossing != "never":
            continue
        wall = feature.kind == "building" and not at_door
        asked = WALL_GAP_M if wall else _solid_m(feature)
        distance = float(feature.shape.distance(point))
        if distance < asked - TOLERANCE or feature.shape.contains(point):
            yield Reason(feature.id, distance, None, asked)


def _at_wall(entry: Entry, buildings: tuple[Feature, ...]) -> Entry:
    for building in buildings:
        wall = building.shape.boundary
        if building.shape.contains(entry.point) and wall.distance(entry.point) > 0:
            return Entry(entry.id, wall.interpolate(wall.project(entry.point)), entry.label)
    return entry


@dataclass(frozen=True, slots=True)
class _Limit:
    """A thing and the rule that keeps a part farthest from it, with the shape measured to.

    ``within``: the parcel where the thing is its line, the ground outside of which it ends.
    """

    thing: str
    rule: Rule
    shape: BaseGeometry
    within: BaseGeometry | None = None


def _limits(
    site: Site, rules: RuleSet, part: Part, reach_m: float, memory: Memory
) -> Iterator[_Limit]:
    # rules widen the same drawn shape, each by its own measure: what they take lies one within
    # the other, and the widest is all of it
    line_rule = rules.deciding(part, None, reach_m)
    if line_rule is not None:
        yield _Limit(PARCEL, line_rule, site.parcel.boundary, site.parcel)
    for feature in site.features:
        rule = rules.deciding(part, feature, reach_m)
        if rule is not None:
            yield _Limit(feature.id, rule, memory.of(measured_shape, feature, rule))
        for either in rules.keeping_off(part, feature):
            if either.unless_outside:
                ground = _in_ground(site, feature, either)
                shape = memory.of(measured_shape, feature, either)
                yield _Limit(feature.id, either, shape, ground)
    yield from _before_the_rear(site, rules, part)


def _before_the_rear(site: Site, rules: RuleSet, part: Part) -> Iterator[_Limit]:
    """Ground before the rear of the house, where a rule leaves the rear yard alone."""
    rule, line = rules.rear_yard(part), rear_line(site)
    if rule is not None and line is not None:
        yield _Limit(PARCEL, rule, ground_before(site.parcel, line))


def _in_ground(site: Site, feature: Feature, rule: Rule) -> BaseGeometry | None:
    """The easement, or other ground, that a thing lies in and outside of which a rule ends."""
    shapes = [each.shape for each in site.of_kind(rule.unless_outside)]
    ground = shapely.union_all([each for each in shapes if each.intersects(feature.shape)])
    whole = ground.area > 0 and ground.buffer(TOLERANCE).covers(feature.shape)
    return ground if whole else None


def _keep_outs(
    limits: Iterable[_Limit],
    measuring: Measuring,
    part: Part,
    reach_m: float,
    memory: Memory,
    *,
    more_m: float = 0.0,
) -> Iterator[KeepOut]:
    """Ground that each limit takes; ``more_m``: kept on top of its distance [m]."""
    for limit in limits:
        reach = reach_m + measuring.extra(limit.rule, part, reach_m) + more_m
        shape = memory.of(grow, limit.shape, limit.rule.distance_m + reach)
        if limit.within is not None:
            wide = reach if limit.rule.unless_outside else 0.0
            shape = shape.intersection(memory.of(grow, limit.within, wide))
        yield KeepOut(limit.rule, limit.thing, shape)
