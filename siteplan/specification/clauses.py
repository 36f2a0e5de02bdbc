"""Clauses of the specification: only what the loop type needs, each with who says so.

A value that the design has is the design's; what it has not is the site file's own words, or common
practice, or a standard that is named.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

from siteplan.advisories.bounds import USUAL_RATIO, Condition
from siteplan.earthwork.bedding import SAND_ABOVE_M, SAND_BELOW_M, TAPE_M
from siteplan.findings.model import Reason, reason
from siteplan.hydraulics.fluids import antifreeze_share, freezing_point
from siteplan.hydraulics.friction import purge_flow
from siteplan.hydraulics.pipes import pipes, pressure_class
from siteplan.layout.elements import Bore, Coil, Well
from siteplan.layout.model import Layout
from siteplan.layout.outfall import Outfall
from siteplan.quantities.shallow import shallow_header
from siteplan.site.model import Site
from siteplan.site.pond_bodies import PlateFrame
from siteplan.specification.protection import protection_clause
from siteplan.specification.testing import test_clause
from siteplan.units.lengths import INCH

SLEEVE_M: Final = 1 * INCH
"""Insulation of header pipe that lies shallow; common practice, no source [m]."""
WATER_KG_M3: Final = 1000.0
"""Density of water [kg/m3]."""


def specification(
    site: Site, layout: Layout, conditions: Sequence[Condition]
) -> tuple[Reason, ...]:
    """Clauses in the order of the work, empty where nothing goes in the ground.

    Parameters
    ----------
    conditions
        What the rule books of the site bind.
    """
    if not layout.elements:
        return ()
    if layout.loop.flow:
        made = (*_pipe(site, layout), _fusion(site, layout), *_wells(site, layout))
    else:
        made = (
            *_pipe(site, layout),
            _fusion(site, layout),
            *_bores(site, layout),
            *_ballast(site, layout),
            *_insulated(site, layout),
            *_fluid(site, layout),
        )
    return (
        *made,
        test_clause(site, layout, conditions),
        *_purge(site, layout),
        *_filling(site, layout),
        *protection_clause(site, layout),
        *_buried(site, layout),
        *_given_up(site, layout),
    )


def assumed(site: Site, key: str) -> Reason:
    """Whether a key of the specification is stated, or assumed."""
    return reason("spec-stated" if key in site.specification.stated else "spec-assumed")


def _by(site: Site, path: str) -> Reason:
    """Whether a key of the site file that books may bind is stated, or assumed."""
    return reason("spec-assumed" if path in site.exchanger.unsaid else "spec-stated")


def _own(words: str, about: Reason) -> Reason:
    """A clause in the words of the site file."""
    return reason("spec-own-words", words=words, about=about)


def _pipe(site: Site, layout: Layout) -> Iterator[Reason]:
    """Material, ratio and sizes of pipe; U-bends of another ratio are told apart."""
    piping = layout.piping
    if piping is None:
        return
    headers = tuple(size for size in pipes() if size in piping.lengths_m)
    laid = headers or (reason("spec-size-by-flow"),)
    sizes = reason("spec-header-pipe", headers=laid)
    if layout.circuits:
        circuits = tuple(dict.fromkeys(circuit.pipe for circuit in layout.circuits))
        sizes = reason("spec-circuit-pipe", sizes=circuits, headers=laid)
    energy, other = site.exchanger.energy, None
    if energy is not None and layout.of(Bore) and energy.loop.dimension_ratio != USUAL_RATIO:
        ratio, by = energy.loop.dimension_ratio, _by(site, "loop.dimension_ratio")
        other = reason("spec-u-bend-ratio", ratio=ratio, by=by)
    yield reason(
        "spec-pipe",
        ratio=USUAL_RATIO,
        class_pa=pressure_class(USUAL_RATIO),
        sizes=sizes,
        u_bends=other,
    )


def _fusion(site: Site, layout: Layout) -> Reason:
    if site.specification.fusion:
        return _own(site.specification.fusion, reason("spec-fusion"))
    fused = reason("spec-u-bends-fused") if layout.of(Bore) else None
    return reason("spec-joints", u_bends=fused)


def _bores(site: Site, layout: Layout) -> Iterator[Reason]:
    """Casing, grout and how it is placed."""
    if not layout.of(Bore):
        return
    energy, stated = site.exchanger.energy, site.specification.casing
    if stated:
        yield _own(stated, reason("spec-casing"))
    else:
        yield reason("spec-casing-usual", by=assumed(site, "casing"))
    conducts = by = None
    if energy is not None:
        conducts = reason("spec-grout-conducts", conductivity=energy.loop.grout)
        said = "spec-assumed" if "loop.grout" in site.exchanger.assumed else "spec-stated"
        by = reason("spec-grout-conducts-by", by=reason(said))
    yield reason(
        "spec-grout",
        grout=site.exchanger.piping.grout.material,
        conducts=conducts,
        grout_by=_by(site, "grout.material"),
        conductivity_by=by,
    )
    yield reason("spec-tremie")


def _ballast(site: Site, layout: Layout) -> Iterator[Reason]:
    """What holds a coil down that is full of air: the water that its pipe takes the place of."""
    coils, frame = layout.of(Coil), site.exchanger.pond.body
    if not coils or not layout.circuits:
        return
    outer_m = pipes()[layout.circuits[0].pipe].outer_m
    longest = max(coil.pipe_m for coil in coils)
    volume = math.pi * outer_m**2 / 4 * longest
    if isinstance(frame, PlateFrame):
        volume += frame.displaced_m3
        sizes = {"length_m": frame.plate_length_m, "height_m": frame.plate_height_m}
        yield reason("spec-plates", number=frame.plates, channel_m=frame.channel_m, **sizes)
    yield reason("spec-ballast", ballast_kg=volume * WATER_KG_M3, thing=layout.loop.short)


def _insulated(site: Site, layout: Layout) -> Iterator[Reason]:
    """Insulation of header pipe that ice or frost may reach."""
    shallow = shallow_header(site, layout)
    if shallow is not None:
        code = "spec-insulated" if shallow.wet else "spec-insulated-dry"
        yield reason(code, run_m=shallow.run_m, reach_m=shallow.reach_m, sleeve_m=SLEEVE_M)


def _fluid(site: Site, layout: Layout) -> Iterator[Reason]:
    fluid = site.exchanger.piping.fluid
    if fluid is None or not fluid.mixture:
        return
    flow = layout.piping.hydraulics if layout.piping is not None else None
    coldest = reason("spec-coldest", lowest_c=flow.lowest_c) if flow and flow.balances else None
    code = "spec-fluid" if antifreeze_share(fluid.mixture) > 0 else "spec-water"
    yield reason(
        code,
        mixture=fluid.mixture,
        freezes_c=freezing_point(fluid.mixture),
        coldest=coldest,
        by=_by(site, "fluid.mixture"),
    )


def _wells(site: Site, layout: Layout) -> Iterator[Reason]:
    """Wells that are to be drilled, their seal, and what runs through them."""
    new = [well for well in layout.of(Well) if not well.existing]
    for well in new[:1]:
        yield reason("spec-wells", diameter_m=well.diameter_m, depth_m=well.depth_m)
        yield reason("spec-annulus", by=assumed(site, "annulus"))
    outfalls = layout.of(Outfall)
    if outfalls:
        yield reason("spec-outfall-water", water=outfalls[0].into, by=assumed(site, "water"))
    else:
        yield reason("spec-well-water", by=assumed(site, "water"))


def _purge(site: Site, layout: Layout) -> Iterator[Reason]:
    """Flow that carries the air out: of all pipes where they are sized, else of each circuit."""
    if layout.loop.flow or not layout.circuits:
        return
    minutes = site.specification.purge_minutes
    by = reason("spec-purge-minutes") if "purge_minutes" in site.specification.stated else None
    flow = layout.piping.hydraulics if layout.piping is not None else None
    if flow is None:
        size = layout.circuits[0].pipe
        each = purge_flow(pipes()[size])
        yield reason(
            "spec-purge-each", flow_m3s=each, size=size, minutes=minutes, minutes_by=by
        )  # fmt: skip
        return
    divided = layout.piping is not None and bool(layout.piping.groups)
    groups = reason("spec-purge-groups") if divided else None
    yield reason(
        "spec-purge", flow_m3s=flow.purge_m3s, groups=groups, minutes=minutes, minutes_by=by
    )  # fmt: skip


def _filling(site: Site, layout: Layout) -> Iterator[Reason]:
    """Pressure of the closed loop."""
    if not layout.loop.flow:
        pressure = site.specification.fill_pa
        yield reason("spec-fill", pressure_pa=pressure, by=assumed(site, "fill_pressure"))


def _buried(site: Site, layout: Layout) -> Iterator[Reason]:
    """Tape, wire and backfill, where anything is dug."""
    if layout.header is None and not layout.loop.lines:
        return
    stated = site.specification
    if stated.tracer:
        yield _own(stated.tracer, reason("spec-tracer"))
    else:
        yield reason("spec-tape", tape_m=TAPE_M, by=assumed(site, "tracer"))
    if stated.backfill:
        yield _own(stated.backfill, reason("spec-backfill"))
    else:
        by = assumed(site, "backfill")
        yield reason("spec-filled", below_m=SAND_BELOW_M, above_m=SAND_ABOVE_M, by=by)


def _given_up(site: Site, layout: Layout) -> Iterator[Reason]:
    """How a bore or well that is given up is sealed."""
    if not layout.loop.drilled:
        return
    wells, stated = layout.loop.flow, site.specification.abandoned
    if stated:
        yield _own(stated, reason("spec-abandoned-well" if wells else "spec-abandoned"))
        return
    code = "spec-given-up-well" if wells else "spec-given-up-bore"
    yield reason(code, by=assumed(site, "abandoned"))
