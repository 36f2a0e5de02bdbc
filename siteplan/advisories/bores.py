"""What is good to know about a field of upright bores: its limit, its spacing, bores to spare."""

from __future__ import annotations

import math
from collections.abc import Iterator

from siteplan.findings.model import Finding, reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.hydraulics.pipes import OCCASIONAL, pressure_class
from siteplan.layout.counting import elements_needed
from siteplan.layout.elements import Bore
from siteplan.layout.model import Layout
from siteplan.site.model import Site
from siteplan.units.pressures import PSI

MOST_BORES = "most-bores"
"""Code of the note on how many bores no arrangement exceeds."""
NOTED_M = 0.1
"""By how much wider a spacing must be to be worth a note [m]."""
WATER_PA_M = 9806.65
"""Pressure of a metre of water [Pa/m]."""
LOOP_PA = 40 * PSI
"""Pressure to which a loop is filled; common practice, no source [Pa]."""
AMPLE = 2.0
"""Of a lot that holds so many times what is required nobody asks for the limit."""


def bore_remarks(site: Site, layout: Layout, required_m: float) -> Iterator[Finding]:
    """Notes on a field of upright bores; nothing for any other layout."""
    if layout.loop.kind != Bore.kind:
        return
    yield from _pressure(site, layout)
    if layout.leans:
        return
    yield from _limit(site, layout, required_m)
    yield from _wider(site, layout)
    yield from _to_spare(site, layout, required_m)


def _pressure(site: Site, layout: Layout) -> Iterator[Finding]:
    """Where the fluid's own weight is more than the pipe bears by itself, before it is grouted."""
    energy, bores = site.exchanger.energy, layout.of(Bore)
    if energy is None or not bores:
        return
    deepest = max(bores, key=lambda bore: bore.depth_m)
    pressure = WATER_PA_M * deepest.toe[2] + LOOP_PA
    borne = pressure_class(energy.loop.dimension_ratio)
    if pressure <= borne:
        return
    yield Finding(
        "pipe-pressure" if pressure <= OCCASIONAL * borne else "pipe-pressure-too-high",
        subject=deepest.id,
        measured_m=deepest.toe[2],
        values={
            "pressure_psi": pressure / PSI,
            "pressure_kpa": pressure / 1000,
            "borne_psi": borne / PSI,
            "borne_kpa": borne / 1000,
            "ratio": energy.loop.dimension_ratio,
            "briefly": reason("pipe-pressure-briefly"),
        },
    )


def _limit(site: Site, layout: Layout, required_m: float) -> Iterator[Finding]:
    options, most = site.exchanger.vertical, layout.most
    if not most or (layout.capacity_m >= AMPLE * required_m and not layout.obstacle):
        return
    held = round(layout.capacity_m / options.depth_most_m)
    bound = reason("than-loose-bound", most=most) if most > held else None
    values = {"held": held, "spacing_m": options.spacing_m, "bound": bound}
    yield Finding(MOST_BORES, subject=layout.system, values=values)


def _wider(site: Site, layout: Layout) -> Iterator[Finding]:
    options = site.exchanger.vertical
    if options.grid is None and layout.spacing_m > options.spacing_m + NOTED_M:
        yield Finding(
            "wider-spacing",
            subject=layout.system,
            measured_m=layout.spacing_m,
            required_m=options.spacing_m,
        )


def _to_spare(site: Site, layout: Layout, required_m: float) -> Iterator[Finding]:
    """Where a count or grid asks for more bores than the length needs at the least depth."""
    options, bores = site.exchanger.vertical, len(layout.elements)
    asked = options.count is not None or options.grid is not None
    if not asked or bores == 0 or required_m / bores >= options.depth_least_m - TOLERANCE:
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
