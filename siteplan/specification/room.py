"""The room that spoil, cuttings and mud take, from the quantities of a layout."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from siteplan.earthwork.excavation import (
    REPOSE,
    SPOIL_SETBACK_M,
    SWELL,
    heap_width,
    working_width,
)
from siteplan.findings.model import Reason, reason
from siteplan.layout.elements import Bore, Trench, Well
from siteplan.layout.model import Layout
from siteplan.quantities.take_off import take_off
from siteplan.site.model import Site

MUD_TIMES: Final = 3.0
"""Room for mud over the volume of the deepest bore; common practice, no source [-]."""
PIT_DEPTH_M: Final = 1.0
"""How deep a pit or tank for mud is taken to be; common practice, no source [m]."""


def room_for_earth(site: Site, layout: Layout) -> Iterator[Reason]:
    """What is dug and drilled, and the room that it takes."""
    bank = sum(item.amount for item in take_off(site, layout) if item.ware == "soil")
    if layout.of(Trench):
        yield _beside_trenches(site, bank)
    elif bank:
        yield reason(
            "seq-spoil-header",
            bank_m3=bank,
            loose_m3=bank * SWELL,
            swell=SWELL,
            setback_m=SPOIL_SETBACK_M,
        )
    drilled = [e for e in layout.new if isinstance(e, (Bore, Well)) and e.depth_m]
    if drilled:
        yield _beside_rig([math.pi * e.diameter_m**2 / 4 * e.depth_m for e in drilled])


def _beside_trenches(site: Site, bank_m3: float) -> Reason:
    options = site.exchanger.horizontal
    near = options.spacing_m < working_width(options)
    return reason(
        "seq-spoil",
        bank_m3=bank_m3,
        loose_m3=bank_m3 * SWELL,
        swell=SWELL,
        heap_m=heap_width(options),
        setback_m=SPOIL_SETBACK_M,
        near=reason("seq-spoil-near") if near else None,
    )


def _beside_rig(volumes_m3: list[float]) -> Reason:
    loose, pit = sum(volumes_m3) * SWELL, MUD_TIMES * max(volumes_m3)
    return reason(
        "seq-cuttings",
        loose_m3=loose,
        each_m3=max(volumes_m3) * SWELL,
        pit_m3=pit,
        area_m2=heap_area(loose) + pit / PIT_DEPTH_M,
    )


def heap_area(volume_m3: float) -> float:
    """Ground that one heap takes, a cone at the slope at which it rests [m2].

    Examples
    --------
    A cone of 1.5 to 1 with a radius of 3 m is 2 m high: 6 pi m3 on 9 pi m2.

    >>> round(heap_area(6 * math.pi) / math.pi, 6)
    9.0
    """
    radius = math.cbrt(3 * REPOSE * volume_m3 / math.pi)
    return math.pi * radius**2
