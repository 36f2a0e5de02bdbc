"""The second opinion: findings on a finished layout, from raw geometry only.

Nothing here knows how the layout was found. What an engine promises is measured again:
separations, spacing, containment, depths, the header's way, the length.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from shapely.geometry.base import BaseGeometry

from siteplan.checks.access import access_findings
from siteplan.checks.crossovers import crossover_findings
from siteplan.checks.groups import group_findings
from siteplan.checks.header_in_trench import header_in_trench_findings
from siteplan.checks.model import Separation
from siteplan.checks.out_of_reach import gap_told, out_of_reach
from siteplan.checks.outfall import outfall_findings
from siteplan.checks.pit import pit_findings
from siteplan.checks.pond_depth import gauge_of, water_around
from siteplan.checks.separations import PARCEL, bodies
from siteplan.checks.shore_entry import shore_entry_findings
from siteplan.checks.spacing import spacing_findings
from siteplan.findings.called import as_laid
from siteplan.findings.model import Finding, Reason, reason
from siteplan.geometry.memory import Memory
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Bore, Coil, Element, Trench
from siteplan.layout.model import Layout
from siteplan.rule_books.model import Says
from siteplan.site.model import Site
from siteplan.vocabulary.kinds import kinds
from siteplan.vocabulary.pond_bodies import pond_body

LENGTH = "length"
"""Code of the finding that less than the length required is provided."""
BROKEN: Final[dict[Says, str]] = {
    "at most": "too-far", "no deeper than": "too-deep", "rear yard only": "not-in-rear-yard",
}  # fmt: skip
"""Codes of the findings that a rule is broken which is about no least distance."""
NO_HEADER = "no-header"
"""Code of the finding that nothing joins the elements to an entry."""


def check_layout(
    site: Site,
    layout: Layout,
    separations: Sequence[Separation],
    required_m: float,
    taken: BaseGeometry | None = None,
    memory: Memory | None = None,
) -> tuple[Finding, ...]:
    """Everything that is wrong with a layout.

    Parameters
    ----------
    site
        The lot, as read.
    layout
        What was laid out.
    separations
        Distances measured on it, see `siteplan.checks.separations`.
    required_m
        Exchanger length required [m].
    taken
        Ground that no machine drives over, of things that are not among the features of the site.
    memory
        Holds what is known of ponds and layouts that were looked at before.
    """
    memory = Memory() if memory is None else memory
    found = (
        *_separation_findings(separations),
        *_containment(site, layout, memory),
        *spacing_findings(site, layout),
        *_sizes(site, layout),
        *_water(site, layout, memory),
        *_header(site, layout),
        *shore_entry_findings(site, layout),
        *outfall_findings(site, layout),
        *memory.of(of_layout_alone, layout),
        *crossover_findings(site, layout),
        *pit_findings(site, layout),
        *group_findings(site, layout),
        *access_findings(site, layout, taken),
        *_length(layout, required_m),
    )
    return as_laid(found, layout.loop)


def of_layout_alone(layout: Layout) -> tuple[Finding, ...]:
    """What is wrong with a layout wherever it lies."""
    return tuple(header_in_trench_findings(layout))


def _separation_findings(rows: Sequence[Separation]) -> Iterator[Finding]:
    for row in rows:
        if row.rule.parts and not row.meets:  # wishes without parts have checks of their own
            rule = row.rule
            code = BROKEN.get(rule.says, "separation")
            yield Finding(
                "runs-alongside" if rule.alongside else code,
                subject=row.element,
                measured_m=row.provided_m,
                required_m=rule.distance_m,
                rule=f"{rule.book}/{rule.id}",
                values={
                    "part": row.part,
                    "feature": row.feature,
                    "lies": lies_told(row),
                    "kind": rule.subject,
                    "says": rule.says,
                    "printed": rule.printed,
                    "source": rule.source,
                    "lacking_m": abs(rule.distance_m - row.provided_m),
                },
            )


def lies_told(row: Separation) -> Reason:
    """Where something lies from what it is kept off: so far from it, on it, or off the lot."""
    away_m = row.provided_m
    if away_m >= -TOLERANCE:
        return reason("lies-away", away_m=away_m, feature=row.feature)
    if row.feature == PARCEL:
        return reason("lies-beyond-line", by_m=-away_m)
    return reason("lies-on", feature=row.feature)


def _containment(site: Site, layout: Layout, memory: Memory) -> Iterator[Finding]:
    for body in memory.of(bodies, layout):
        outside = body.course.difference(site.parcel)
        beyond = (
            _farthest(outside, site.parcel)
            if (not outside.is_empty)
            else body.reach_m - float(body.course.distance(site.parcel.boundary))
        )
        if not body.existing and beyond > TOLERANCE:
            yield Finding(
                "outside-parcel",
                subject=body.id,
                measured_m=beyond,
                required_m=0.0,
                rule="property line",
                values={"part": body.part},
            )


def _farthest(shape: BaseGeometry, other: BaseGeometry) -> float:
    """How far the farthest corner of a shape is from another shape [m]."""
    corners = shapely.points(shapely.get_coordinates(shape))
    return float(shapely.distance(corners, other).max())


def _sizes(site: Site, layout: Layout) -> Iterator[Finding]:
    names = [element.id for element in layout.elements]
    for name in sorted({name for name in names if names.count(name) > 1}):
        yield Finding("id", subject=name)
    for element in layout.elements:
        size = _size(site, element)
        if size is None or size.least_m - TOLERANCE <= size.value_m <= size.most_m + TOLERANCE:
            continue
        limit = size.least_m if size.value_m < size.least_m else size.most_m
        yield Finding(
            size.code,
            subject=element.id,
            measured_m=size.value_m,
            required_m=limit,
            rule=size.code.replace("-", " "),
        )


@dataclass(frozen=True, slots=True)
class _Size:
    """A size of an element, its limits [m], and the code of the finding that it breaks them."""

    code: str
    value_m: float
    least_m: float
    most_m: float


def _size(site: Site, element: Element) -> _Size | None:
    """Size that the site file limits; None where it limits none."""
    if isinstance(element, Bore):
        options = site.exchanger.vertical
        return _Size("bore-depth", element.depth_m, options.depth_least_m, options.depth_most_m)
    if isinstance(element, Trench):
        trench = site.exchanger.horizontal
        longest = trench.longest_m or float("inf")
        return _Size("trench-length", element.length_m, trench.shortest_m, longest)
    return None


def _water(site: Site, layout: Layout, memory: Memory) -> Iterator[Finding]:
    """Coils: in their pond, off the shore, under enough water."""
    used = {coil.pond for coil in layout.of(Coil)}
    ponds = [pond for pond in site.of_kind("pond") if pond.id in used]
    gauges = {pond.id: memory.of(gauge_of, pond) for pond in ponds}
    wanted = site.exchanger.pond
    for coil in layout.of(Coil):
        gauge, called = gauges.get(coil.pond), {"thing": pond_body(coil.body).short}
        found = memory.of(water_around, coil, gauge) if gauge is not None else None
        if found is None:
            yield Finding("coil-not-in-pond", subject=coil.id, values=called)
            continue
        shore, depth = found
        for code, measured, least in (
            ("shore", shore, wanted.shore_m),
            ("water-depth", max(depth - wanted.height_m, 0.0), wanted.water_depth_m),
        ):
            if measured < least - TOLERANCE:
                yield Finding(
                    code,
                    subject=coil.id,
                    measured_m=measured,
                    required_m=least,
                    rule=code.replace("-", " "),
                    values=called,
                )


def _header(site: Site, layout: Layout) -> Iterator[Finding]:
    if not layout.elements:
        return
    if layout.header is None:
        why = out_of_reach(site, layout)
        yield Finding(NO_HEADER, values={"why": why} if why else {})
        return
    runs = shapely.MultiLineString(list(layout.header.runs))
    for element in layout.elements:
        if element.existing:
            continue  # it may have its own pipe to the building
        if runs.distance(element.axis) > TOLERANCE:
            gap = gap_told(site, layout, element)
            yield Finding("header-gap", element.id, values={"why": gap} if gap else {})
    if runs.distance(layout.header.entry.point) > TOLERANCE:
        yield Finding("header-gap-entry", subject="header")
    if len(_connected(layout)) > 1:
        yield Finding("header-in-pieces", subject="header")
    yield from _forbidden_crossings(site, layout, runs)


def _connected(layout: Layout) -> list[set[int]]:
    """Groups of header runs that touch one another."""
    runs = np.array(layout.header.runs if layout.header is not None else (), dtype=object)
    pairs = shapely.STRtree(runs).query(runs, predicate="dwithin", distance=TOLERANCE)
    ends = tuple(pairs.astype(np.int32))
    touching = coo_array((np.ones(pairs.shape[1]), ends), shape=(len(runs), len(runs)))
    groups: dict[int, set[int]] = {}
    for number, group in enumerate(connected_components(touching, directed=False)[1].tolist()):
        groups.setdefault(group, set()).add(number)
    return list(groups.values())


def _forbidden_crossings(
    site: Site, layout: Layout, runs: shapely.MultiLineString
) -> Iterator[Finding]:
    own = {name for element in layout.elements for name in (element.water, element.existing)}
    for feature in site.features:
        never = kinds()[feature.kind].crossing == "never"
        if not never or feature.id in own:
            continue
        ground = feature.ground
        inside = float(runs.intersection(ground.buffer(-TOLERANCE)).length)
        if ground.area == 0:
            inside = float(runs.crosses(feature.shape)) * TOLERANCE * 2
        if inside > TOLERANCE:
            yield Finding(
                "crossing-forbidden",
                subject="header",
                measured_m=inside,
                required_m=0.0,
                rule=f"never across a {feature.kind}",
                values={"feature": feature.id, "kind": feature.kind},
            )


def _length(layout: Layout, required_m: float) -> Iterator[Finding]:
    provided = sum(element.length_m for element in layout.elements)
    if provided < required_m - TOLERANCE:
        yield Finding(
            LENGTH,
            measured_m=provided,
            required_m=required_m,
            rule="length required",
            values={"short_m": required_m - provided},
        )
