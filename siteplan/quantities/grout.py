"""Grout of the bores: the volume to be filled, and what is bought for it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from siteplan.hydraulics.pipes import pipes
from siteplan.layout.elements import Bore
from siteplan.layout.model import Layout
from siteplan.site.model import Site


@dataclass(frozen=True, slots=True)
class Grout:
    """Grout of all bores.

    Parameters
    ----------
    bores
        Their number.
    grouted_m
        What is filled of them, along the bore from its toe to the bottom of the header trench,
        all together [m].
    annulus_m3
        Volume of the bores less that of the pipes in them [m3].
    extra
        Share that is bought beyond it [-].
    yield_m3, sand_kg
        Mixed grout from one bag [m3], None where nobody has said; sand with each bag [kg].
    """

    bores: int
    grouted_m: float
    annulus_m3: float
    extra: float
    yield_m3: float | None
    sand_kg: float

    @property
    def volume_m3(self) -> float:
        """Mixed grout to be pumped, with what goes beyond the volume to be filled [m3]."""
        return self.annulus_m3 * (1 + self.extra)

    @property
    def bags(self) -> int | None:
        """Bags of the product, whole ones; None where nobody has said what one yields."""
        if self.yield_m3 is None:
            return None
        return math.ceil(self.volume_m3 / self.yield_m3 - 1e-9)

    @property
    def all_sand_kg(self) -> float:
        """Sand for all bags [kg]."""
        return self.sand_kg * (self.bags or 0)


def grout_of(site: Site, layout: Layout) -> Grout | None:
    """Grout of a layout of bores, None where there are none or their pipe is not known.

    An inclined bore passes the header trench slantwise, so that more of its length is not filled.
    """
    bores, header = layout.of(Bore), layout.piping
    if not bores or header is None or not layout.circuits:
        return None
    options = site.exchanger.piping.grout
    outer_m2 = math.pi * pipes()[layout.circuits[0].pipe].outer_m ** 2 / 4
    lengths, volume = 0.0, 0.0
    for bore in bores:
        slant_m = header.depth_m / math.cos(math.radians(bore.tilt_deg))
        length = max(0.0, bore.depth_m - slant_m)
        legs = bore.pipe_m / bore.depth_m
        lengths += length
        volume += length * (math.pi * bore.diameter_m**2 / 4 - legs * outer_m2)
    return Grout(
        bores=len(bores),
        grouted_m=lengths,
        annulus_m3=max(0.0, volume),
        extra=options.extra,
        yield_m3=options.yield_m3,
        sand_kg=options.sand_kg,
    )
