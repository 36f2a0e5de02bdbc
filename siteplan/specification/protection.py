"""How the deepest trench is kept from caving in: 29 CFR 1926.652, as the design has it."""

from __future__ import annotations

from collections.abc import Iterator

from siteplan.earthwork.excavation import (
    PROTECTED_FROM_M,
    SLOPES,
    needs_protection,
    too_narrow_to_enter,
)
from siteplan.findings.model import Reason, reason
from siteplan.layout.elements import Trench
from siteplan.layout.model import Layout
from siteplan.site.model import Site


def protection_clause(site: Site, layout: Layout) -> Iterator[Reason]:
    """What protects who works in the trenches of a layout; nothing where none is dug."""
    header = layout.piping.depth_m if layout.piping is not None else 0.0
    trenches = site.exchanger.horizontal if layout.of(Trench) else None
    deepest = max(header, trenches.depth_m if trenches is not None else 0.0)
    if not deepest:
        return
    if deepest < PROTECTED_FROM_M - 1e-9:
        limit = PROTECTED_FROM_M
        yield reason("spec-protection-shallow", depth_m=deepest, limit_m=limit)
        return
    yield reason("spec-protection", depth_m=deepest, how=_how(site, layout))


def _how(site: Site, layout: Layout) -> Reason:
    """What is done: as the trenches of the loop are dug, or shielded for a header alone."""
    options = site.exchanger.horizontal
    if not layout.of(Trench) or options.depth_m < PROTECTED_FROM_M - 1e-9:
        return reason("spec-shielded")
    if not needs_protection(options):
        return reason("spec-rock")
    if options.protection == "slope" and options.soil is not None:
        return reason("spec-sloped", slope=SLOPES[options.soil], soil=options.soil)
    return reason("spec-narrow" if too_narrow_to_enter(options) else "spec-shielded")
