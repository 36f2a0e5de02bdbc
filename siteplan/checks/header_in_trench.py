"""Whether the header is dug where a loop trench lies: it may cross one squarely, no more."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import shapely
from shapely import MultiLineString, Point

from siteplan.findings.model import Finding
from siteplan.layout.elements import Trench
from siteplan.layout.model import Layout
from siteplan.units.lengths import FOOT

IN_TRENCH: Final = "header-in-trench"
"""Code of the finding that the header is dug in a trench."""
PIT_M: Final = 3 * FOOT
"""Round a joined end header and trench are one pit [m]; common practice, no source."""
SQUARE_DEG: Final = 60.0
"""A crossing is nearer to square than this [deg]; common practice, no source."""
ROUNDING_M: Final = 0.02
"""How far rounded corners may lead into dug ground [m]."""


def header_in_trench_findings(layout: Layout) -> Iterator[Finding]:
    """Trenches in whose ground the header runs, but for the pits at their ends and crossings."""
    if layout.header is None:
        return
    runs = shapely.line_merge(MultiLineString(list(layout.header.runs)))
    for trench in layout.of(Trench):
        # both are dug: the middle of the header keeps half a width from the trench's side
        dug = trench.footprint.buffer(trench.width_m / 2 - ROUNDING_M, join_style="mitre")
        pits = [
            Point(end).buffer(PIT_M + ROUNDING_M)
            for end in (trench.line.coords[0], trench.line.coords[-1])
            if runs.distance(Point(end)) <= ROUNDING_M
        ]
        inside = runs.intersection(dug).difference(shapely.union_all(pits))
        across = 2 * trench.width_m / math.sin(math.radians(SQUARE_DEG))
        lengths = shapely.length(shapely.get_parts(shapely.line_merge(inside)))
        longest = float(lengths.max(initial=0.0))
        if longest > across:
            yield Finding(IN_TRENCH, subject=trench.id, measured_m=longest)
