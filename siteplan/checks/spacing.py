"""Distances between the elements of a layout, measured again."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations
from typing import Final

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely import LineString

from siteplan.findings.model import Finding
from siteplan.geometry.inclined import downward, least_gap, mean_gap
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Bore, Element, Trench
from siteplan.layout.model import Layout
from siteplan.site.loop_options import apart_of
from siteplan.site.model import Site
from siteplan.vocabulary.loop_types import made_of

PLACES: Final = 20
"""Places on a trench with bends that are looked at for every spacing."""
DRAWN_M: Final = 0.02
"""What chords in place of a bend may bring two places nearer to one another [m]."""


def spacing_findings(site: Site, layout: Layout) -> Iterator[Finding]:
    """Least distance between elements: centres of bores and wells, edges of coils, centre lines."""
    wanted = site.exchanger
    if layout.leans:
        yield from _inclined(layout.of(Bore), site)
    for kind in dict.fromkeys(element.kind for element in layout.elements):
        loop = made_of(kind)
        alike = [element for element in layout.elements if element.kind == kind]
        if not loop.lines and not layout.leans:
            least_m = apart_of(wanted, loop.name)
            yield from _too_near(alike, least_m, edges=loop.edge_to_edge)
    yield from _trench_spacing(site, layout)


def _inclined(bores: Sequence[Bore], site: Site) -> Iterator[Finding]:
    """Inclined bores: nowhere nearer than their collars may be, and apart on average."""
    options = site.exchanger.vertical
    collars_m = options.pad.collar_spacing_m if options.pad is not None else options.spacing_m
    for first, second in combinations(bores, 2):
        least, mean = apart(first, second)
        if least < collars_m - TOLERANCE:
            yield _too_close(first.id, second.id, (least, collars_m))
        if mean < options.spacing_m - TOLERANCE:
            finding = _too_close(first.id, second.id, (mean, options.spacing_m))
            yield replace(finding, code="spacing-on-average")


def apart(first: Bore, second: Bore) -> tuple[float, float]:
    """Least distance between two bores anywhere along them, and their mean distance [m].

    The mean is taken at equal drilled depth, over the depth of the shorter one.
    """
    between = np.array([second.x_m - first.x_m, second.y_m - first.y_m, 0.0])
    direction = downward(first.tilt_deg, first.azimuth_deg)
    other = downward(second.tilt_deg, second.azimuth_deg)
    shorter, longer = sorted((first.depth_m, second.depth_m))
    return (
        float(least_gap(between, direction, other, longer)),
        float(mean_gap(between, other - direction, shorter)),
    )


def _too_near(elements: Sequence[Element], least_m: float, *, edges: bool) -> Iterator[Finding]:
    if len(elements) < 2:
        return
    places = np.array([(element.x_m, element.y_m) for element in elements])
    reach_m = [element.reach_m if edges else 0.0 for element in elements]
    pairs = cKDTree(places).query_pairs(least_m + 2 * max(reach_m) - TOLERANCE)
    for first, second in sorted(pairs):
        distance = float(np.hypot(*(places[first] - places[second])))
        distance -= reach_m[first] + reach_m[second]
        if distance < least_m - TOLERANCE:
            yield _too_close(elements[first].id, elements[second].id, (distance, least_m))


def _trench_spacing(site: Site, layout: Layout) -> Iterator[Finding]:
    trenches = layout.of(Trench)
    least = site.exchanger.horizontal.spacing_m
    for first, second in combinations(trenches, 2):
        distance = float(first.line.distance(second.line))
        if distance < least - TOLERANCE:
            yield _too_close(first.id, second.id, (distance, least))
    yield from _bends(trenches, least)


def _bends(trenches: Sequence[Trench], least_m: float) -> Iterator[Finding]:
    """Trenches with bends: none comes back nearer to itself than a bend of half the spacing."""
    for trench in trenches:
        if len(trench.line.coords) < 3:
            continue
        excess, distance = _room_within(trench.line, least_m)
        if excess < -DRAWN_M:
            yield Finding(
                "bends-too-sharply",
                subject=trench.id,
                measured_m=distance,
                required_m=least_m,
                rule="spacing",
            )


def _room_within(line: LineString, least_m: float) -> tuple[float, float]:
    """Least excess of a distance between two places on a line over what is asked, and it [m].

    Two places with a way ``w`` between them are to be as far apart as on a half circle whose
    diameter is the spacing, ``s sin(w / s)``, and the spacing from its end on. What a distance
    falls short of that is measured at places a twentieth of the spacing apart.
    """
    count = max(2, math.ceil(line.length * PLACES / least_m) + 1)
    ways = np.linspace(0.0, line.length, count)
    spots = shapely.get_coordinates(shapely.line_interpolate_point(line, ways))
    worst = (math.inf, math.inf)
    for step in range(1, count):
        apart = np.hypot(*(spots[step:] - spots[:-step]).T)
        way = float(ways[step])
        if line.is_ring:
            way = min(way, line.length - way)
        asked = least_m * math.sin(way / least_m) if way < math.pi / 2 * least_m else least_m
        nearest = float(apart.min())
        worst = min(worst, (nearest - asked, nearest))
    return worst


def _too_close(first: str, second: str, distances_m: tuple[float, float]) -> Finding:
    """Finding that two elements are nearer to each other than asked; measured, required [m]."""
    measured_m, required_m = distances_m
    return Finding("spacing", first, measured_m, required_m, "spacing", {"other": second})
