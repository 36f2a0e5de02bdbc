"""What is to be said where an open loop gives its water to a pond or stream."""

from __future__ import annotations

from collections.abc import Iterator

from siteplan.available.prepared import PreparedLot
from siteplan.demand.calculated_water import LEAVES_C
from siteplan.demand.wells import WellStudy
from siteplan.findings.model import Finding, Value, reason


def outfall_remarks(lot: PreparedLot, study: WellStudy) -> Iterator[Finding]:
    """The permit, unless somebody names it; what the outfall does; water too cold to return."""
    by, water = lot.site.exchanger.open.discharge_by, study.outfall
    if by:
        yield Finding("discharge-permitted", water, values={"by": by})
    elif not _spoken_of(lot):
        yield Finding("discharge-permit", water)
    elif _spoken_of(lot, allowed=True):
        # what a book allows with a permit is not yet permitted here
        yield Finding("discharge-allowed", water)
    yield Finding("outfall-built", water)
    seasons = study.seasons
    if seasons.drop_k:
        yield Finding("outfall-water", water, values={"drop_k": seasons.drop_k})
    leaving = study.coldest_leaving_c
    if leaving is not None and leaving < LEAVES_C:
        briefly = reason("outfall-freezes-briefly")
        values: dict[str, Value] = {"leaving_c": leaving, "limit_c": LEAVES_C, "briefly": briefly}
        yield Finding("outfall-freezes", water, values=values)


def _spoken_of(lot: PreparedLot, *, allowed: bool | None = None) -> bool:
    """Whether a book says that water may be returned to the surface, or that it must not."""
    bounds = [bound for book in lot.rules.books for bound in book.bounds]
    said = {bound.allowed for bound in bounds if bound.of == "surface return"}
    return bool(said) if allowed is None else said == {allowed}
