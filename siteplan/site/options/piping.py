"""Circuits and header pipes of a site file; what it leaves open is in defaults.toml."""

from __future__ import annotations

from collections.abc import Callable
from typing import cast

from siteplan.hydraulics.pipes import circuit_sizes
from siteplan.reading import Table
from siteplan.site.energy import Fluid
from siteplan.site.piping import (
    HEADER_LAYOUTS,
    CircuitOptions,
    HeaderLayout,
    HeaderOptions,
    PipingOptions,
)
from siteplan.units.lengths import INCH

MILLIMETRE = 1e-3
PIPE_ROOM_M = 6 * INCH
"""From the bottom of a header trench to above one row of pipe up to 2-1/2 in, bedded on 3 in of
sand; common practice, no source [m]."""


def read_piping(root: Table, fluid: Fluid, default: Callable[[str], float]) -> PipingOptions:
    """Pipes of a site file's [circuits] and [header] tables.

    Parameters
    ----------
    root
        The whole site file.
    fluid
        What was read of [fluid].
    default
        Gives the length of a key of [header] left out [m].
    """
    circuits, header = root.table("circuits"), root.table("header")
    frost_m = root.table("ground").length("frost", 0.0)  # a header left out goes below that
    options = PipingOptions(_circuits(circuits), _header(header, default, frost_m), fluid)
    circuits.finish()
    header.finish()
    return options


def _circuits(table: Table) -> CircuitOptions:
    longest = table.length("longest", 0.0, least=MILLIMETRE)
    count = table.count("count", 0) or None
    if count is not None and table.has("bores"):
        table.fault("bores", "does not go with count", "Keep one of the two.")
    return CircuitOptions(
        pipe=table.choice("pipe", circuit_sizes(), ""),
        flow_m3s=table.flow("flow"),
        longest_m=longest or None,
        bores=table.count("bores", 1),
        count=count,
    )


def _header(table: Table, default: Callable[[str], float], frost_m: float) -> HeaderOptions:
    below_frost = frost_m + PIPE_ROOM_M if frost_m else 0.0
    return HeaderOptions(
        layout=cast("HeaderLayout | None", table.choice("layout", HEADER_LAYOUTS, "") or None),
        separation_m=table.length("separation", default("separation")),
        depth_m=table.length("depth", max(default("depth"), below_frost), least=MILLIMETRE),
    )
