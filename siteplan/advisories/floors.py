"""Floors of common practice: header cover, wells apart; deep trenches.

A floor that is not kept is an error, unless the site file says who answers for it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from siteplan.earthwork.excavation import PROTECTED_FROM_M, needs_protection
from siteplan.findings.model import Finding, reason
from siteplan.geometry.distance import gap
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Trench, Well
from siteplan.layout.header.section import highest_pipe
from siteplan.layout.model import Layout
from siteplan.site.model import Site
from siteplan.units.lengths import FOOT

LEAST_HEADER_M: Final = 2 * FOOT
"""Least cover over the pipes of a header where frost is not known; common practice, no source
[m]."""
LEAST_APART_M: Final = 50 * FOOT
"""Least distance between a supply and a return well; common practice, no source [m]."""
DEEP_M: Final = 8 * FOOT
"""A trench so deep is a warning and no longer a note; common practice, no source [m]."""
RULE: Final = "common practice, no source"
AGREED: Final = (
    "water-shallow-agreed", "pond-small-agreed", "pond-half-acre-agreed", "header-shallow-agreed",
    "wells-near-agreed", "discharge-permitted",
)  # fmt: skip
"""Codes of the notes on who answers for a floor that is not kept."""


def floor_remarks(site: Site, layout: Layout) -> Iterator[Finding]:
    """Errors of floors that are not kept, notes on who answers for them, and deep trenches."""
    yield from _header(site, layout)
    yield from _wells(site, layout)
    yield from _protection(site, layout)


def _floor(name: str, measured: float, least: float, by: str, subject: str = "") -> Finding | None:
    """Finding about one floor; None where it is kept."""
    if measured >= least - TOLERANCE:
        return None
    error, agreed, briefly = FLOORS[name]
    values = {"by": by} if by else {"briefly": reason(briefly)}
    return Finding(agreed if by else error, subject, measured, least, RULE, values=values)


FLOORS: Final = {
    "header": ("header-too-shallow", "header-shallow-agreed", "header-too-shallow-briefly"),
    "wells": ("wells-too-close", "wells-near-agreed", "wells-too-close-briefly"),
}
"""Codes of error and note of each floor that is a length, and of the error in few words."""


def _header(site: Site, layout: Layout) -> Iterator[Finding]:
    """Cover of the header where no frost depth says what it must be."""
    if site.exchanger.ground_year.frost_m is not None or layout.header is None:
        return
    options, piping = site.exchanger.piping.header, layout.piping
    cover = options.depth_m - (highest_pipe(piping) if piping is not None else 0.0)
    found = _floor("header", cover, LEAST_HEADER_M, options.shallow_by, "header")
    yield from filter(None, [found])


def _wells(site: Site, layout: Layout) -> Iterator[Finding]:
    wells = {well.role: well for well in layout.of(Well)}
    if len(wells) < 2:
        return
    apart = gap(wells["supply"].footprint, wells["return"].footprint).distance
    by = site.exchanger.open.near_by
    found = _floor("wells", apart, LEAST_APART_M, by, wells["return"].id)
    yield from filter(None, [found])


def _protection(site: Site, layout: Layout) -> Iterator[Finding]:
    """That trenches so deep need a protective system."""
    options = site.exchanger.horizontal
    if not layout.of(Trench) or not needs_protection(options):
        return
    code = "trench-deep" if options.depth_m >= DEEP_M - TOLERANCE else "trench-protected"
    yield Finding(
        code,
        measured_m=options.depth_m,
        required_m=PROTECTED_FROM_M,
        rule="29 CFR 1926.652(a)(1)",
        values={"by": options.protection},
    )
