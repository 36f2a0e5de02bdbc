"""Circuits, header pipes and grout of a site file."""

from __future__ import annotations

from siteplan.site.energy import Fluid
from siteplan.site.options.energy import frost_of
from siteplan.site.options.read import Read
from siteplan.site.piping import (
    CircuitOptions,
    GroutOptions,
    HeaderOptions,
    HeatPump,
    PipingOptions,
)
from siteplan.units.lengths import INCH

PIPE_ROOM_M = 6 * INCH
"""From the bottom of a header trench to above one row of pipe up to 2-1/2 in, bedded on 3 in of
sand; common practice, no source [m]."""

DUG_BY = 10
"""Of the whole step of the unit: tenths of a foot, as the sheet prints a depth."""


def read_piping(root: Read, fluid: Fluid) -> PipingOptions:
    """Pipes and grout of a site file, with what was read of its [fluid] table."""
    header = _header(root["header"], frost_m=frost_of(root["ground"]))
    return PipingOptions(
        _circuits(root["circuits"]),
        header,
        fluid,
        _grout(root["grout"]),
        _heat_pump(root["heat_pump"]),
    )


def _circuits(given: Read) -> CircuitOptions:
    if given["count"] is not None and given.says("bores"):
        given.fault("bores", "does not go with count", "Keep one of the two.")
    return CircuitOptions(
        pipe=given["pipe"] or "",
        flow_m3s=given["flow"],
        longest_m=given["longest"],
        bores=given["bores"],
        count=given["count"],
        test_pa=given["test_pressure"],
    )


def _header(given: Read, *, frost_m: float | None) -> HeaderOptions:
    depth, below = given["depth"], 0.0
    if frost_m and not given.says("depth"):
        depth, below = max(depth, frost_m + PIPE_ROOM_M), frost_m
    return HeaderOptions(
        layout=given["layout"],
        separation_m=given["separation"],
        depth_m=depth,
        below_m=below,
        step_m=given.unit.step_m / DUG_BY,
        shallow_by=given.answered("shallow"),
        group=given["group"],
    )


def _grout(given: Read) -> GroutOptions:
    if given.says("sand") and given["yield"] is None:
        given.fault(
            "sand",
            "goes with each bag, and nothing says how many bags there are.",
            'Add yield = "20.4 gal", as the data sheet of the grout states it for that much sand.',
        )
    return GroutOptions(given["material"], given["extra"], given["yield"], given["sand"] or 0.0)


def _heat_pump(given: Read | None) -> HeatPump | None:
    if given is None or given["head"] is None:
        return None
    return HeatPump(given["head"], given["flow"])
