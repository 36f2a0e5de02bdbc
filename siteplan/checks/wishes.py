"""Distances that the site file itself asks for: spacing, shore, water depth."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np
from scipy.spatial import cKDTree

from siteplan.checks.model import Separation
from siteplan.checks.spacing import apart
from siteplan.geometry.distance import Gap, gap
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Bore, Coil, Element
from siteplan.layout.model import Layout
from siteplan.rule_books.model import OWN_BOOK, Part, Rule
from siteplan.rules.ruleset import RuleSet
from siteplan.site.loop_options import apart_of
from siteplan.site.model import Site
from siteplan.units.lengths import format_length

WHOLE_TO_LINE = "property line, whole bore"
ANYWHERE_APART = "bore, anywhere"
APART_ON_AVERAGE = "bore, on average"
IN_SPACE = (WHOLE_TO_LINE, ANYWHERE_APART, APART_ON_AVERAGE)
"""Subjects of distances below ground, which no tape on the ground shows."""
NEAREST = 6
"""Neighbours of each element that are measured for the spacing."""


def wished(site: Site, rules: RuleSet, layout: Layout) -> Iterator[Separation]:
    """Rows of the table for what the site file asks for, in the order of the elements."""
    if layout.leans:
        yield from _leaning(site, layout.of(Bore))
        return
    least = apart_of(site.exchanger, layout.system)
    asked = _asked(site, rules, layout, least)
    pair = _nearest_pair(layout) if asked else None
    if pair is not None:
        first, second, measured = pair
        if layout.loop.edge_to_edge:
            measured = Gap(
                measured.distance - first.reach_m - second.reach_m, measured.start, measured.end
            )
        yield _row(
            first.part, first.id, second.id, (_rule(site, first.kind, least, asked), measured)
        )
    yield from _shores(site, layout)


def _asked(site: Site, rules: RuleSet, layout: Layout, least_m: float) -> str:
    """Who asks for the spacing: the site file, or a rule that asks for more; empty: nobody."""
    raised = [
        rule.distance_m for part in layout.loop.parts if (rule := rules.apart(part)) is not None
    ]
    back = rules.nearest_return()
    if back is not None and "return well" in layout.loop.parts:
        raised.append(back.distance_m + site.exchanger.open.diameter_m)
    by_rule = any(abs(each - least_m) < TOLERANCE for each in raised)
    who = "that a rule asks" if by_rule else "asked for"
    return layout.loop.asked.format(who=who, center=site.unit.center)


def _leaning(site: Site, bores: Sequence[Bore]) -> Iterator[Separation]:
    """Least and mean distance of the two inclined bores that have the least of it."""
    options = site.exchanger.vertical
    if options.pad is None:
        return
    line = site.parcel.boundary
    gaps = [(gap(bore.course, line, reach=bore.reach_m), bore) for bore in bores]
    least, bore = min(gaps, key=lambda pair: pair[0].distance)
    asked = "distance asked for, along the whole bore"
    whole = _rule(site, WHOLE_TO_LINE, options.pad.line_m, asked)
    yield _row(bore.part, bore.id, "parcel", (whole, least))
    pairs = list(combinations(bores, 2))
    if not pairs:
        return
    for which, subject, wanted_m, asked in (
        (0, ANYWHERE_APART, options.pad.collar_spacing_m, "collar spacing asked for"),
        (1, APART_ON_AVERAGE, options.spacing_m, "spacing asked for, over the depth"),
    ):
        first, second = min(pairs, key=lambda pair: apart(*pair)[which])
        ends = ((first.x_m, first.y_m), (second.x_m, second.y_m))
        between = Gap(apart(first, second)[which], *ends)
        rule = _rule(site, subject, wanted_m, asked)
        yield _row(first.part, first.id, second.id, (rule, between))


def _nearest_pair(layout: Layout) -> tuple[Element, Element, Gap] | None:
    """The two elements nearest to each other, and their distance."""
    elements = layout.elements
    if len(elements) < 2:
        return None
    if layout.loop.lines:
        pairs = [(i, j) for j in range(len(elements)) for i in range(j)]
    else:
        places = np.array([(element.x_m, element.y_m) for element in elements])
        # the nearest pair is among near neighbours: all pairs of hundreds of bores would be slow
        _, near = cKDTree(places).query(places, k=min(len(elements), NEAREST))
        pairs = sorted(
            {
                (min(i, j), max(i, j))
                for i, row in enumerate(np.atleast_2d(near))
                for j in row
                if i != j
            }
        )
    gaps = [(gap(elements[i].axis, elements[j].axis), i, j) for i, j in pairs]
    # in even rows all are as near but for rounding: the first pair, in a drawing read back too
    least_m = min(between.distance for between, _, _ in gaps) + TOLERANCE
    nearest, i, j = next(pair for pair in gaps if pair[0].distance <= least_m)
    return elements[i], elements[j], nearest


def _shores(site: Site, layout: Layout) -> Iterator[Separation]:
    ponds = {pond.id: pond for pond in site.of_kind("pond")}
    rows = [
        (coil, gap(coil.footprint, ponds[coil.pond].shape.boundary, reach=coil.reach_m))
        for coil in layout.of(Coil)
        if coil.pond in ponds
    ]
    if not rows:
        return
    coil, to_shore = min(rows, key=lambda row: row[1].distance)
    round_one = "coil's edge" if coil.body == Coil.kind else f"circle around the {coil.body}"
    asked = f"distance asked for, from the {round_one}"
    rule = _rule(site, "shore", site.exchanger.pond.shore_m, asked)
    yield _row("coil", coil.id, coil.pond, (rule, to_shore))
    shallow = min((coil for coil, _ in rows), key=lambda coil: coil.water_depth_m)
    wanted = site.exchanger.pond.water_depth_m
    rule = _rule(site, "water depth", wanted, "depth asked for, at the lowest level")
    place = (shallow.x_m, shallow.y_m)
    depth = Gap(shallow.water_depth_m, place, place)
    yield _row("coil", shallow.id, shallow.pond, (rule, depth))


def _rule(site: Site, subject: str, distance_m: float, asked: str) -> Rule:
    return Rule(
        id=asked.partition(",")[0],
        subject=subject,
        parts=(),
        distance_m=distance_m,
        printed=format_length(distance_m, site.unit),
        book=OWN_BOOK,
        source=asked,
    )


def _row(part: Part, element: str, feature: str, measured: tuple[Rule, Gap]) -> Separation:
    rule, shortest = measured
    return Separation(part, element, feature, rule, shortest.distance, shortest.start, shortest.end)
