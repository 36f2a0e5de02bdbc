"""What rules leave of the sizes that a site file asks for: depths, spacing, the wells' distance.

Limits that hold near a thing are taken to hold wherever the lot comes so near: what is chosen
keeps them on all of it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from siteplan.rule_books.model import Part, Rule
from siteplan.rule_books.when import Range
from siteplan.rules.ruleset import RuleSet
from siteplan.site.model import Feature, HorizontalOptions, Site
from siteplan.vocabulary.loop_types import loop_type


@dataclass(frozen=True, slots=True)
class DepthLimit:
    """How deep a part may go here [m], and the rule that says so."""

    depth_m: float
    rule: Rule


def limit_by(rule: Rule, feature: Feature | None) -> float | None:
    """How deep a rule lets a part go beside a thing; None where the thing does not say [m]."""
    if rule.measure != "below casing":
        return rule.distance_m
    casing = None if feature is None else feature.casing_m
    return None if casing is None else casing + rule.distance_m


def deepest(site: Site, rules: RuleSet, part: Part) -> DepthLimit | None:
    """The least of the limits that hold somewhere on the lot; None where none does."""
    limits = []
    for feature in (None, *site.features):
        for rule in rules.depth_limits(part, feature):
            limit = limit_by(rule, feature)
            if limit is not None and (feature is None or _near(site, rule, feature)):
                limits.append(DepthLimit(limit, rule))
    return min(limits, key=lambda limit: limit.depth_m, default=None)


def _near(site: Site, rule: Rule, feature: Feature) -> bool:
    """Whether some of the lot lies within the ring around a thing where a rule holds."""
    if rule.within is None:
        return True
    nearest = float(site.parcel.distance(feature.shape))
    farthest = float(site.parcel.hausdorff_distance(feature.shape))
    return rule.within.meets(Range(nearest, max(nearest, farthest)))


def too_deep(site: Site, rules: RuleSet, system: str) -> DepthLimit | None:
    """Limit that no depth asked for keeps; None where one does."""
    for part in loop_type(system).parts:
        limit, asked = deepest(site, rules, part), rules.plant.depth_of(part)
        if limit is not None and asked is not None and asked.low > limit.depth_m:
            return limit
    return None


def within_limits(site: Site, rules: RuleSet) -> Site:
    """The site, with sizes that keep what its rules say of depth and of distance between parts.

    What cannot keep them stays as it is: the loop type is then refused, or the check says it.
    """
    wanted = site.exchanger
    vertical, horizontal, wells = wanted.vertical, wanted.horizontal, wanted.open
    limit = deepest(site, rules, "bore")
    if limit is not None and vertical.depth_least_m <= limit.depth_m < vertical.depth_most_m:
        vertical = replace(vertical, depth_most_m=limit.depth_m)
    grid = vertical.grid
    if not vertical.placed:  # places that somebody typed are judged as they are
        bores = _at_least(rules.apart("bore"), vertical.spacing_m)
        most, pad = vertical.spacing_most_m, vertical.pad
        vertical = replace(
            vertical,
            spacing_m=bores,
            spacing_most_m=None if most is None else max(most, bores),
            grid=grid
            and replace(
                grid,
                spacing_m=max(grid.spacing_m, bores),
                row_spacing_m=max(grid.row_spacing_m, bores),
            ),
            pad=pad
            and replace(pad, collar_spacing_m=_at_least(rules.apart("bore"), pad.collar_spacing_m)),
        )
    if not horizontal.placed:
        horizontal = _apart(horizontal, rules.apart("trench"))
    gap = wells.separation_m
    least = rules.nearest_return()
    if (
        least is not None and not wells.placed
    ):  # measured from edge to edge, the option from centre to centre
        gap = max(gap, least.distance_m + wells.diameter_m)
    exchanger = replace(
        wanted, vertical=vertical, horizontal=horizontal, open=replace(wells, separation_m=gap)
    )
    return site if exchanger == wanted else replace(site, exchanger=exchanger)


def _apart(options: HorizontalOptions, rule: Rule | None) -> HorizontalOptions:
    """Trenches, each kind of them as far apart as a rule asks."""
    choices = (_apart(each, rule) for each in options.choices)
    spacing_m = _at_least(rule, options.spacing_m)
    return replace(options, spacing_m=spacing_m, choices=tuple(choices))


def _at_least(rule: Rule | None, spacing_m: float) -> float:
    return spacing_m if rule is None else max(spacing_m, rule.distance_m)
