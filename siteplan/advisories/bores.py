"""What is good to know about a field of upright bores: its limit, its spacing, bores to spare."""

from __future__ import annotations

import math
from collections.abc import Iterator

from siteplan.findings.model import Finding, reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.counting import elements_needed
from siteplan.layout.elements import Bore
from siteplan.layout.model import Layout
from siteplan.site.loop_options import staked
from siteplan.site.model import Site

MOST_BORES = "most-bores"
"""Code of the note on how many bores no arrangement exceeds."""
NOTED_M = 0.1
"""By how much wider a spacing must be to be worth a note [m]."""
AMPLE = 2.0
"""Of a lot that holds so many times what is required nobody asks for the limit."""


def bore_remarks(site: Site, layout: Layout, required_m: float) -> Iterator[Finding]:
    """Notes on a field of upright bores; nothing for any other layout."""
    if layout.loop.kind != Bore.kind:
        return
    if layout.leans:
        return
    if not layout.by_hand:
        yield from _limit(site, layout, required_m)
    yield from _wider(site, layout)
    yield from _unstaked(site, layout)
    yield from _to_spare(site, layout, required_m)


def _limit(site: Site, layout: Layout, required_m: float) -> Iterator[Finding]:
    options, most = site.exchanger.vertical, layout.most
    if not most or (layout.capacity_m >= AMPLE * required_m and not layout.obstacle):
        return
    held = round(layout.capacity_m / options.depth_most_m)
    bound = reason("than-loose-bound", most=most) if most > held else None
    spacing_m = staked(site.exchanger).vertical.spacing_m
    values = {"held": held, "spacing_m": spacing_m, "bound": bound}
    yield Finding(MOST_BORES, subject=layout.system, values=values)


def _wider(site: Site, layout: Layout) -> Iterator[Finding]:
    options = site.exchanger.vertical
    staked_m = staked(site.exchanger).vertical.spacing_m
    if not options.as_typed and layout.spacing_m > staked_m + NOTED_M:
        yield Finding(
            "wider-spacing",
            subject=layout.system,
            measured_m=layout.spacing_m,
            required_m=options.spacing_m,
        )


def _unstaked(site: Site, layout: Layout) -> Iterator[Finding]:
    """Bores that stand as somebody typed them, and leave nothing for how they are staked."""
    options, allowance_m = site.exchanger.vertical, site.exchanger.allowance_m
    # nearer than asked for they are an error already
    kept = layout.spacing_m >= options.spacing_m - TOLERANCE
    if options.as_typed and kept and is_tight(site, layout):
        yield Finding(
            "grid-without-allowance",
            subject=layout.system,
            measured_m=layout.spacing_m,
            required_m=options.spacing_m,
            values={"allowance_m": allowance_m},
        )


def is_tight(site: Site, layout: Layout) -> bool:
    """Whether bores stand nearer to each other than with the staking allowance on top."""
    wanted_m = staked(site.exchanger).vertical.spacing_m
    upright = layout.loop.kind == Bore.kind and not layout.leans
    return upright and layout.spacing_m < wanted_m - TOLERANCE


def _to_spare(site: Site, layout: Layout, required_m: float) -> Iterator[Finding]:
    """Where more bores are asked for than the length needs at the least depth."""
    options, bores = site.exchanger.vertical, len(layout.elements)
    if options.stated is None or bores == 0:
        return
    if required_m / bores >= options.depth_least_m - TOLERANCE:
        return
    enough = elements_needed(required_m, options.depth_most_m)
    if enough < bores:
        share = math.ceil(required_m / bores / TOLERANCE) * TOLERANCE
        yield Finding(
            "bores-to-spare",
            subject=layout.system,
            measured_m=share,
            required_m=options.depth_least_m,
            values={"bores": bores, "enough": enough},
        )
