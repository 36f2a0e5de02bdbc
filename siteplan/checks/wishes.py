"""Distances that the site file itself asks for: spacing, shore, water depth."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from siteplan.checks.model import Separation
from siteplan.checks.spacing import apart
from siteplan.geometry.distance import Gap, gap
from siteplan.layout.model import Bore, Coil, Element, Layout, Trench
from siteplan.rule_books.model import OWN_BOOK, Part, Rule
from siteplan.site.model import Site, System
from siteplan.units.lengths import format_length

WHOLE_TO_LINE = "property line, whole bore"
ANYWHERE_APART = "bore, anywhere"
APART_ON_AVERAGE = "bore, on average"
IN_SPACE = (WHOLE_TO_LINE, ANYWHERE_APART, APART_ON_AVERAGE)
"""Subjects of distances below ground, which no tape on the ground shows."""
NEAREST = 6
"""Neighbours of each element that are measured for the spacing."""


def wished(site: Site, layout: Layout) -> Iterator[Separation]:
    """Rows of the table for what the site file asks for, in the order of the elements."""
    leaning = [bore for bore in layout.elements if isinstance(bore, Bore)]
    if any(bore.tilt_deg for bore in leaning):
        yield from _leaning(site, leaning)
        return
    least, source = _spacing(site, layout.system)
    pair = _nearest_pair(layout.elements)
    if pair is not None:
        first, second, nearest = pair
        if isinstance(first, Coil):
            nearest = Gap(
                nearest.distance - first.reach_m - second.reach_m, nearest.start, nearest.end
            )
        yield _row(
            first.part, first.id, second.id, (_rule(site, first.kind, least, source), nearest)
        )
    yield from _shores(site, layout)


def _leaning(site: Site, bores: Sequence[Bore]) -> Iterator[Separation]:
    """Least and mean distance of the two inclined bores that have the least of it."""
    options = site.exchanger.vertical
    if options.pad is None:
        return
    line = site.parcel.boundary
    gaps = [(gap(bore.course, line, reach=bore.reach_m), bore) for bore in bores]
    nearest, bore = min(gaps, key=lambda pair: pair[0].distance)
    source = "[vertical.pad] line, along the whole bore"
    whole = _rule(site, WHOLE_TO_LINE, options.pad.line_m, source)
    yield _row(bore.part, bore.id, "parcel", (whole, nearest))
    pairs = list(combinations(bores, 2))
    if not pairs:
        return
    for which, subject, wanted_m, says in (
        (0, ANYWHERE_APART, options.pad.collar_spacing_m, "[vertical.pad] collar_spacing"),
        (1, APART_ON_AVERAGE, options.spacing_m, "[vertical] spacing, over the depth"),
    ):
        first, second = min(pairs, key=lambda pair: apart(*pair)[which])
        ends = ((first.x_m, first.y_m), (second.x_m, second.y_m))
        nearest = Gap(apart(first, second)[which], *ends)
        rule = _rule(site, subject, wanted_m, says)
        yield _row(first.part, first.id, second.id, (rule, nearest))


def _spacing(site: Site, system: System) -> tuple[float, str]:
    wanted, across = site.exchanger, f"{site.unit.center} to {site.unit.center}"
    return {
        "horizontal": (wanted.horizontal.spacing_m, f"[horizontal] spacing, {across}"),
        "vertical": (wanted.vertical.spacing_m, f"[vertical] spacing, {across}"),
        "pond": (wanted.pond.gap_m, "[pond] gap, edge to edge"),
        "open": (wanted.open.separation_m, f"[open] separation, {across}"),
    }[system]


def _nearest_pair(elements: Sequence[Element]) -> tuple[Element, Element, Gap] | None:
    """The two elements nearest to each other, and their distance."""
    if len(elements) < 2:
        return None
    if isinstance(elements[0], Trench):
        pairs = [(i, j) for j in range(len(elements)) for i in range(j)]
    else:
        places = np.array([(element.x_m, element.y_m) for element in elements])
        _, near = cKDTree(places).query(places, k=min(len(elements), NEAREST))
        pairs = sorted(
            {
                (min(i, j), max(i, j))
                for i, row in enumerate(np.atleast_2d(near))
                for j in row
                if i != j
            }
        )
    gaps = [(gap(_line(elements[i]), _line(elements[j])), i, j) for i, j in pairs]
    nearest, i, j = min(gaps, key=lambda pair: pair[0].distance)
    return elements[i], elements[j], nearest


def _line(element: Element) -> BaseGeometry:
    return element.line if isinstance(element, Trench) else element.footprint


def _shores(site: Site, layout: Layout) -> Iterator[Separation]:
    ponds = {pond.id: pond for pond in site.of_kind("pond")}
    rows = [
        (coil, gap(coil.footprint, ponds[coil.pond].shape.boundary, reach=coil.reach_m))
        for coil in layout.elements
        if isinstance(coil, Coil) and coil.pond in ponds
    ]
    if not rows:
        return
    coil, nearest = min(rows, key=lambda row: row[1].distance)
    rule = _rule(site, "shore", site.exchanger.pond.shore_m, "[pond] shore, from the coil's edge")
    yield _row("coil", coil.id, coil.pond, (rule, nearest))
    shallow = min((coil for coil, _ in rows), key=lambda coil: coil.water_depth_m)
    wanted = site.exchanger.pond.water_depth_m
    rule = _rule(site, "water depth", wanted, "[pond] water_depth, at the lowest level")
    place = (shallow.x_m, shallow.y_m)
    depth = Gap(shallow.water_depth_m, place, place)
    yield _row("coil", shallow.id, shallow.pond, (rule, depth))


def _rule(site: Site, subject: str, distance_m: float, source: str) -> Rule:
    return Rule(
        id=source.partition(",")[0],
        subject=subject,
        parts=(),
        distance_m=distance_m,
        printed=format_length(distance_m, site.unit),
        book=OWN_BOOK,
        source=source,
    )


def _row(part: Part, element: str, feature: str, measured: tuple[Rule, Gap]) -> Separation:
    rule, nearest = measured
    return Separation(part, element, feature, rule, nearest.distance, nearest.start, nearest.end)
