"""Fixed points on the lot from which stakes are taped, and what a tape meets on its way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon, get_parts
from shapely.geometry.base import BaseGeometry

from siteplan.layout.elements import Element
from siteplan.sheet.content.sides import sides_of
from siteplan.sheet.kept import kept
from siteplan.sheet.model import XY
from siteplan.site.model import Site
from siteplan.units.lengths import FOOT
from siteplan.vocabulary.kinds import kinds

TAPE_M: Final = 150 * FOOT
"""Length that is still taped well (common practice, no source) [m]."""
_READ_ALONE: Final = "ABCDFGJKMQUVXYZ"
LETTERS: Final = (*_READ_ALONE, *(2 * letter for letter in _READ_ALONE))
"""Names of tie points, one after the other. I and O are read as figures; N, S, E and W as sides and
coordinates, L and R as offsets, H and T as points of the header and trenches, P as corners of the
property."""
FLATTEST_DEG: Final = 30.0
"""Two taped arcs cross under no flatter an angle than this, nor its supplement; common practice,
no source [deg]."""
BUILDING_CORNER: Final = "building corner"
PROPERTY_CORNER: Final = "property corner"
PEG: Final = "peg"
END: Final = " end"
"""Behind the id of a trench or base line, in the name of its far stake."""
NO_PEGS: Final = ("septic tank", "drainfield", "reserve area")
"""Kinds of feature into which no peg is driven, if there is another place as good."""
SKIN_M: Final = 0.05
"""How deep a tape held along a wall, a property line or a shore may seem to lie in it, by
rounding [m]."""

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class TiePoint:
    """A corner that stands on the ground, under a letter of its own."""

    name: str
    at: XY
    what: str


@dataclass(frozen=True, slots=True)
class Corner:
    """A corner of a building or of the parcel that may be a tie point."""

    at: XY
    what: str
    is_building: bool


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """What a tape lies over.

    Parameters
    ----------
    lot
        Ground that it must not leave.
    walls
        Buildings, which it cannot pass.
    water
        Open water, over which it is held badly.
    fields
        Septic tanks, drainfields and their reserve, into which no peg is driven.
    """

    lot: BaseGeometry
    walls: BaseGeometry
    water: BaseGeometry
    fields: BaseGeometry

    def clear(self, starts: Array, ends: Array) -> Flags:
        """Whether straight ways keep to the lot and pass all buildings, as their shape has it."""
        lines = _lines(starts, ends)
        flags: Flags = shapely.covers(self.lot, lines) & ~shapely.intersects(self.walls, lines)
        return flags

    def unfit(self, places: Array, reach_m: float) -> Flags:
        """Whether places lie so near to the edge of the lot or a drainfield, or beyond it."""
        spots = shapely.points(places)
        near = shapely.dwithin(spots, self.lot.boundary, reach_m + SKIN_M)
        near |= shapely.dwithin(spots, self.fields, reach_m)
        flags: Flags = np.asarray(near | ~shapely.covers(self.lot, spots))
        return flags

    def wet(self, starts: Array, ends: Array) -> Flags:
        """Whether straight ways lead over water."""
        flags: Flags = np.asarray(shapely.intersects(self.water, _lines(starts, ends)))
        return flags


def _lines(starts: Array, ends: Array) -> npt.NDArray[np.object_]:
    ways = np.stack(np.broadcast_arrays(starts, ends), axis=-2)
    return np.asarray(shapely.linestrings(ways))


@kept
def ground_of(site: Site) -> Ground:
    """What tapes lie over on a site."""
    walls = _union(site, "building").buffer(-SKIN_M)
    wet = [name for name, kind in kinds().items() if kind.group == "water"]
    # a stake on the shore is taped over land
    water = shapely.union_all([_union(site, name) for name in wet]).buffer(-SKIN_M)
    lot = site.parcel.buffer(SKIN_M)
    fields = shapely.union_all([_union(site, kind) for kind in NO_PEGS])
    for shape in (lot, walls, water):
        shapely.prepare(shape)
    return Ground(lot, walls, water, fields)


def _union(site: Site, kind: str) -> BaseGeometry:
    shapes = [feature.shape for feature in site.of_kind(kind)]
    # a brook drawn as a line is stepped over
    return shapely.union_all([shape for shape in shapes if shapely.get_dimensions(shape) == 2])


def tie_corners(site: Site) -> tuple[Corner, ...]:
    """Every corner that may be a tie point: of buildings on the lot, and of the lot itself."""
    return (*_building_corners(site), *_property_corners(site))


@kept
def _building_corners(site: Site) -> tuple[Corner, ...]:
    shapes = [part for building in site.of_kind("building") for part in get_parts(building.shape)]
    corners = [
        side.start for shape in shapes if isinstance(shape, Polygon) for side in sides_of(shape)
    ]
    if not corners:
        return ()
    # nobody tapes from a neighbour's wall
    own = shapely.covers(ground_of(site).lot, shapely.points(corners))
    return tuple(
        Corner(at, BUILDING_CORNER, True) for at, on in zip(corners, own, strict=True) if on
    )


@kept
def _property_corners(site: Site) -> tuple[Corner, ...]:
    return tuple(Corner(side.start, PROPERTY_CORNER, False) for side in sides_of(site.parcel))


def stake_names(element: Element) -> tuple[str, ...]:
    """Names of the points of an element that are staked."""
    return (element.id, f"{element.id}{END}")[: len(element.ends)]


def tie_targets(element: Element) -> tuple[XY, ...]:
    """Points of an element that are staked: its centre, or both ends of a trench."""
    return element.ends
