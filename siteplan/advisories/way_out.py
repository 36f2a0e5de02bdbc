"""Where somebody who works in a trench must find a way out of it near."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from siteplan.findings.model import Finding, Reason, reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Trench
from siteplan.layout.header.section import header_depth
from siteplan.layout.model import Layout
from siteplan.site.model import Site
from siteplan.units.lengths import FOOT

WAY_OUT: Final = "way-out"
"""Code of the note that a way out is to be near; the sheet prints it."""
SOURCE: Final = "29 CFR 1926.651(c)(2)"
FROM_M: Final = 4 * FOOT
"""Depth from which a trench needs a way out, 29 CFR 1926.651(c)(2) [m]."""
TRAVEL_M: Final = 25 * FOOT
"""Most lateral travel to it, 29 CFR 1926.651(c)(2) [m]."""


def way_out_remarks(site: Site, layout: Layout) -> Iterator[Finding]:
    """Note where a loop trench or the header trench is 4 ft deep or deeper."""
    deep = tuple(_deep(site, layout))
    if deep:
        yield Finding(
            WAY_OUT,
            measured_m=max(depth for _, depth in deep),
            required_m=TRAVEL_M,
            rule=SOURCE,
            values={"trenches": tuple(trench for trench, _ in deep)},
        )


def _deep(site: Site, layout: Layout) -> Iterator[tuple[Reason, float]]:
    """Each kind of trench that is so deep, and its depth [m]."""
    loops = max((trench.depth_m for trench in layout.of(Trench)), default=0.0)
    if loops >= FROM_M - TOLERANCE:
        yield reason("loop-trench-so-deep", depth_m=loops), loops
    header = header_depth(layout.piping, site.exchanger.piping.header)
    if layout.header is not None and layout.header.runs and header >= FROM_M - TOLERANCE:
        yield reason("header-trench-so-deep", depth_m=header), header
