"""What is to be said where an open loop gives its water to a pond or stream."""

from __future__ import annotations

from collections.abc import Iterator

from siteplan.available.prepared import PreparedLot
from siteplan.demand.calculated_water import LEAVES_C
from siteplan.demand.wells import WellStudy
from siteplan.findings.model import Finding, Value, reason


def outfall_remarks(lot: PreparedLot, study: WellStudy) -> Iterator[Finding]:
    """The permit, where no book speaks of it; what the outfall does; water too cold to return."""
    by, water = lot.site.exchanger.open.discharge_by, study.outfall
    spoken = any(bound.of == "surface return" for book in lot.rules.books for bound in book.bounds)
    if by:
        yield Finding("discharge-permitted", water, values={"by": by})
    elif not spoken:
        yield Finding("discharge-permit", water)
    yield Finding("outfall-built", water)
    seasons = study.seasons
    if seasons.drop_k:
        yield Finding("outfall-water", water, values={"drop_k": seasons.drop_k})
    leaving = study.coldest_leaving_c
    if leaving is not None and leaving < LEAVES_C:
        briefly = reason("outfall-freezes-briefly")
        values: dict[str, Value] = {"leaving_c": leaving, "limit_c": LEAVES_C, "briefly": briefly}
        yield Finding("outfall-freezes", water, values=values)
