"""Crossovers of trenches, looked at again: where they begin and end, what they may not cross."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from shapely import Point

from siteplan.findings.model import Finding
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Trench
from siteplan.layout.model import Layout
from siteplan.layout.piping_model import Crossover
from siteplan.site.model import Site
from siteplan.vocabulary.kinds import kinds

TOUCH_M: Final = 0.02
"""How far a crossover may run in the dug ground of another trench, as corners are rounded [m]."""


def crossover_findings(site: Site, layout: Layout) -> Iterator[Finding]:
    """Loose ends of crossovers, another trench or crossover in the way, a forbidden crossing."""
    trenches = {trench.id: trench for trench in layout.of(Trench)}
    taken = [name for crossover in layout.crossovers for name in crossover.trenches]
    for crossover in layout.crossovers:
        ends = (crossover.line.coords[0], crossover.line.coords[-1])
        for name, end in zip(crossover.trenches, ends, strict=True):
            far = trenches[name].line.coords[-1] if name in trenches else None
            if far is None or Point(end).distance(Point(far)) > TOLERANCE:
                yield _fault(crossover, "crossover-gap", trench=name)
            if taken.count(name) > 1:
                yield _fault(crossover, "crossover-shares-pipe", trench=name)
        for name, trench in trenches.items():
            inside = float(crossover.line.intersection(trench.footprint).length)
            if name not in crossover.trenches and inside > TOUCH_M:
                yield _fault(crossover, "crossover-crosses-trench", trench=name)
        for other in layout.crossovers:
            if other.id != crossover.id and crossover.line.crosses(other.line):
                yield _fault(crossover, "crossover-crosses-crossover", other=other.id)
        yield from _forbidden(site, crossover)


def _forbidden(site: Site, crossover: Crossover) -> Iterator[Finding]:
    """Features that neither header nor crossover may cross."""
    for feature in site.features:
        if kinds()[feature.kind].crossing != "never":
            continue
        ground = feature.ground
        solid = ground.area > 0
        inside = crossover.line.intersection(ground).length > TOLERANCE
        if inside if solid else crossover.line.crosses(feature.shape):
            code = "crossover-crossing-forbidden"
            yield _fault(crossover, code, feature=feature.id, kind=feature.kind)


def _fault(crossover: Crossover, code: str, **values: str) -> Finding:
    return Finding(code, subject=crossover.id, values=values)
