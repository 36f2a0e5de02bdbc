"""What an owner has to know of the loop: what lies where, what is in it, what not to do over it."""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType
from typing import Final

from siteplan.findings.model import Reason, reason
from siteplan.hydraulics.fluids import antifreeze_of, antifreeze_share, freezing_point
from siteplan.layout.elements import Bore, Coil, Trench, Well
from siteplan.layout.model import Layout
from siteplan.layout.outfall import Outfall
from siteplan.quantities.take_off import fluid_volume
from siteplan.site.model import Site
from siteplan.units.lengths import FOOT

KEPT_CLEAR_M: Final = 5 * FOOT
"""Around the loop nobody digs before he has asked; common practice, no source [m]."""
TREES_M: Final = 10 * FOOT
"""From a tree to the loop, as the rule book of common practice has it [m]."""
WARNED: Final = MappingProxyType({
    "methanol": "owner-poison", "ethylene glycol": "owner-toxic", "ethanol": "owner-burns",
})  # fmt: skip
"""What the owner is told of an antifreeze: it is poisonous, it burns, or both."""


def what_lies_there(layout: Layout) -> Iterator[Reason]:
    """Elements with their depth, and the way of the pipe to the building."""
    bores, trenches, coils = layout.of(Bore), layout.of(Trench), layout.of(Coil)
    wells = [well for well in layout.of(Well) if not well.existing]
    if bores:
        depths = [bore.depth_m for bore in bores]
        more = reason("owner-up-to", depth_m=max(depths))
        yield reason(
            "owner-bores",
            number=len(bores),
            diameter_m=bores[0].diameter_m,
            least_m=min(depths),
            most=more if max(depths) - min(depths) > 0.05 else None,
        )
    if trenches:
        yield reason(
            "owner-trenches",
            number=len(trenches),
            depth_m=min(trench.depth_m for trench in trenches),
            length_m=layout.length_m,
        )
    if coils:
        depth = min(coil.water_depth_m for coil in coils)
        codes = {"flat mat": "owner-mats", "plate frame": "owner-frames"}
        code = codes.get(coils[0].body, "owner-coils")
        yield reason(code, number=len(coils), depth_m=depth)
    if wells:
        code = "owner-well-outfall" if layout.of(Outfall) else "owner-wells"
        yield reason(code, number=len(wells), depth_m=wells[0].depth_m)
    if layout.header is not None and layout.piping is not None:
        entry = layout.header.entry
        depth = layout.piping.depth_m
        yield reason("owner-header", depth_m=depth, entry=entry.called)


def what_is_in_it(site: Site, layout: Layout) -> Iterator[Reason]:
    """Fluid with its strength, volume, pressure and flow."""
    fluid, piping = site.exchanger.piping.fluid, layout.piping
    if layout.loop.flow:
        yield reason("owner-groundwater")
        return
    if fluid is not None and fluid.mixture:
        freezes = freezing_point(fluid.mixture)
        yield reason("owner-fluid", mixture=fluid.mixture, freezes_c=freezes)
    volume = fluid_volume(layout)
    if volume is None:
        yield reason("owner-volume-unknown")
    else:
        yield reason("owner-volume", volume_m3=volume)
    stated = "fill_pressure" in site.specification.stated
    assumed = None if stated else reason("owner-pressure-assumed")
    yield reason("owner-pressure", pressure_pa=site.specification.fill_pa, assumed=assumed)
    if piping is not None and piping.hydraulics is not None:
        yield reason("owner-flow", flow_m3s=piping.hydraulics.flow_m3s)


def what_to_leave(site: Site, layout: Layout) -> Iterator[Reason]:
    """What not to dig, build or plant over it, and what not to do with its fluid."""
    yield reason("owner-no-digging", reach_m=KEPT_CLEAR_M)
    yield reason("owner-no-building")
    if layout.of(Coil):
        yield reason("owner-pond", thing=layout.loop.short)
    yield reason("owner-trees", reach_m=TREES_M)
    if layout.loop.flow:
        code = "owner-well-kept" if layout.of(Outfall) else "owner-wells-kept"
        yield reason(code, reach_m=TREES_M)
        return
    fluid = site.exchanger.piping.fluid
    mixed = fluid is not None and bool(fluid.mixture) and antifreeze_share(fluid.mixture) > 0
    kind = antifreeze_of(fluid.mixture) if fluid is not None and mixed else ""
    if kind in WARNED:
        yield reason(WARNED[kind], antifreeze=kind)
    else:
        yield reason("owner-closed")
