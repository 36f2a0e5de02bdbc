"""Whether an outfall ends at the pond or stream that is stated for it, and not in it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from siteplan.findings.model import Finding
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.model import Layout
from siteplan.layout.outfall import Outfall
from siteplan.site.model import Site

AT_BANK_M: Final = 1.0
"""From the outline to an outfall at the bank; common practice, no source [m]."""

HALF_WIDE_M: Final = 0.5
"""Water to either side of a stream drawn as a line; common practice, no source [m]."""


def outfall_findings(site: Site, layout: Layout) -> Iterator[Finding]:
    """Outfalls far from their water, in it, or at another."""
    for outfall in layout.of(Outfall):
        water = next((one for one in site.features if one.id == outfall.into), None)
        if water is None or outfall.into != site.exchanger.open.outfall:
            yield Finding("outfall-without-water", outfall.id)
            continue
        away = float(water.ground.distance(outfall.footprint))
        values = {"water": water.id}
        if water.ground.area == 0 and 0 < away < HALF_WIDE_M - TOLERANCE:
            yield Finding("outfall-in-line", outfall.id, away, HALF_WIDE_M, values=values)
        elif away == 0 or away > AT_BANK_M:
            yield Finding("outfall-off-bank", outfall.id, away, AT_BANK_M, values=values)
