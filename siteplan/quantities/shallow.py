"""Header pipe that lies where ice or frost may reach it, and is insulated there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.header.section import highest_pipe, piece_lines
from siteplan.layout.model import Layout
from siteplan.ponds.bottom import bottom_of
from siteplan.site.model import Site
from siteplan.units.lengths import FOOT

ICE_M: Final = 2 * FOOT
"""Thickness of ice where neither the year of the water nor the frost depth says it; common
practice, no source [m]."""


@dataclass(frozen=True, slots=True)
class ShallowHeader:
    """Header pipe to be insulated.

    Parameters
    ----------
    pipes_m
        Length of pipe by its size [m].
    run_m
        Length of header in which it lies [m].
    reach_m
        How deep ice or frost is reckoned to reach [m].
    assumed
        Whether nothing of the site says so.
    wet
        Whether any of it lies in water.
    """

    pipes_m: dict[str, float]
    run_m: float
    reach_m: float
    assumed: bool
    wet: bool = True


def shallow_header(site: Site, layout: Layout) -> ShallowHeader | None:
    """Header pipe under less water than ice may take, or above frost; None where there is none."""
    piping, header = layout.piping, layout.header
    if piping is None or header is None:
        return None
    reach, assumed = _reach(site)
    shallow, water = _shallow_water(site, reach)
    frost = site.exchanger.ground_year.frost_m
    in_frost = frost is not None and piping.depth_m - highest_pipe(piping) < frost - TOLERANCE
    pipes_m: dict[str, float] = {}
    run_m = 0.0
    for piece, line in zip(piping.pieces, piece_lines(piping.pieces, header), strict=True):
        length = float(line.intersection(shallow).length)
        if in_frost:
            length += float(line.difference(water).length)
        run_m += length
        for pipe in piece.pipes:
            pipes_m[pipe.size] = pipes_m.get(pipe.size, 0.0) + length
    if run_m <= TOLERANCE:
        return None
    wet = shapely.union_all(header.runs).intersects(shallow)
    if frost is not None and not wet:
        # no pipe lies where ice may reach it
        return ShallowHeader(pipes_m, run_m, frost, assumed=False, wet=False)
    return ShallowHeader(pipes_m, run_m, reach, assumed)


def _reach(site: Site) -> tuple[float, bool]:
    """How deep ice reaches, and whether that is assumed."""
    year, frost = site.exchanger.pond.year, site.exchanger.ground_year.frost_m
    if year is not None:
        return max(year.ice_m), False
    return (ICE_M, True) if frost is None else (frost, False)


def _shallow_water(site: Site, reach_m: float) -> tuple[BaseGeometry, BaseGeometry]:
    """Water of known depth that is no deeper than that at the lowest level, and all water."""
    ponds = [(pond.shape, bottom_of(pond)) for pond in site.of_kind("pond")]
    shallow = [
        shape.difference(bottom.at_least(reach_m)) for shape, bottom in ponds if bottom is not None
    ]
    return shapely.union_all(shallow), shapely.union_all([shape for shape, _ in ponds])
