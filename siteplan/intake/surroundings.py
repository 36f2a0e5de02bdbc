"""What lies on and around a picked lot, in local metres: outline, street side, buildings."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from typing import Any, Final

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from siteplan.intake.along import (
    Thing,
    building_layer,
    layer_called,
    layers_aside,
    things_along,
)
from siteplan.intake.pick import PickedLot
from siteplan.limits import MOST_FEATURES
from siteplan.site.adjoining import AdjoiningParcel, is_lot_itself
from siteplan.site.frame import LocalFrame, frame_around
from siteplan.site.readers.geodata import read_rows
from siteplan.site.readers.rows import Near
from siteplan.site.readers.vetted import on_earth, refused
from siteplan.vocabulary.kinds import plain_word

NEIGHBOURS_M: Final = 60.0
"""How far around the lot neighbours' lots and buildings are taken in; about 200 ft [m]."""
GAP_M: Final = 1.0
"""Lots nearer to one another than this adjoin: no street is so narrow [m]."""
OPEN_M: Final = 3.0
CORNER_DEG: Final = 45.0
"""A side that turns by more at one point is two sides; a street's curve turns by less at each."""
"""A shorter piece of the outline that no lot adjoins is a slip of the map, no street side [m]."""
MOST_ADJOINING: Final = 40
"""So many lots around the lot are taken in, the nearest; a plan shows no more of them legibly."""
ON_LOT: Final = 0.5
"""Share of a building that lies on the lot where it is the lot's own."""
NUMBER_COLUMNS: Final = (
    "apn", "parcel number", "parcel no", "parcel id", "parcelid", "parcel", "parid", "pin", "pid",
    "prop id", "map par id", "map lot", "maplot", "tax id", "account", "loc id", "lot number",
    "lot",
)  # fmt: skip
"""How counties call the column of a lot's number."""
TWICE_M: Final = 0.01
"""Corners nearer to one another are one [m]."""
SIDES: Final = ("east", "north", "west", "south")


@dataclass(frozen=True, slots=True)
class Building:
    """A building: its outline [m], what the file says of it, whether it stands on the lot."""

    shape: Polygon
    columns: Mapping[str, Any]
    own: bool


@dataclass(frozen=True, slots=True)
class Surroundings:
    """The lot and what was found around it, in local metres.

    Parameters
    ----------
    frame
        The local frame, and with it the coordinate system.
    parcel
        Outline of the lot, repaired in the open.
    holes
        Land of somebody else inside it.
    open_sides
        Pieces of the outline that no other lot adjoins, the longest first; empty where no
        neighbour is known.
    buildings
        The largest of the lot's own first, then by distance.
    beside
        Lots around this one, the nearest first.
    adjoining
        How many lots adjoin.
    buildings_from
        File and layer of the buildings; empty where none is known.
    things
        What else the county's file knows around the lot.
    repaired
        What was mended, in words.
    layers_aside
        Layers of the county's file of which nothing says what they are.
    """

    frame: LocalFrame
    parcel: Polygon
    holes: tuple[Polygon, ...]
    open_sides: tuple[LineString, ...]
    buildings: tuple[Building, ...]
    beside: tuple[AdjoiningParcel, ...]
    adjoining: int
    repaired: tuple[str, ...]
    buildings_from: str = ""
    things: tuple[Thing, ...] = ()
    layers_aside: tuple[str, ...] = ()

    @property
    def street_drawn(self) -> bool:
        """Whether the county's file has the street itself."""
        return any(thing.kind == "street" for thing in self.things)


def surroundings_of(
    lot: PickedLot, parcels: Path, buildings: Path | None, number: str | None = None
) -> Surroundings:
    """What lies on and around a lot.

    ``number``: column of the lots' numbers; None: one that is called so.

    Raises
    ------
    InputError
        The lot's outline crosses itself, or a file cannot be read.
    """
    with on_earth(parcels):
        frame = frame_around(lot.shape, lot.crs)
    outline = frame.localize(lot.shape)
    parcel, repaired = _mended(outline, lot, parcels)
    holes = tuple(Polygon(ring) for ring in getattr(outline, "interiors", ()))
    near = Near(lot.shape, lot.crs, NEIGHBOURS_M)
    around = _areas(frame, parcels, lot.layer, lot.crs, replace(near, cut=False))
    beside = _beside(around, parcel, number)
    adjoining = [each.shape for each in beside if each.shape.distance(parcel) <= GAP_M]
    source, its_layer = _building_source(parcels, buildings)
    found = _areas(frame, source, its_layer, lot.crs, near) if source is not None else []
    things = things_along(frame, parcels, lot)
    taken: set[str | None] = {lot.layer, *(thing.layer for thing in things)}
    taken |= {its_layer} if source == parcels else set()
    return Surroundings(
        frame,
        parcel,
        holes,
        _open_sides(parcel, adjoining),
        _sorted([_building(shape, columns, parcel) for shape, columns in found], parcel),
        beside,
        len(adjoining),
        repaired,
        "" if source is None else source.name + (f", layer {its_layer}" if its_layer else ""),
        things,
        layers_aside(parcels, taken),
    )


def _beside(
    around: Sequence[tuple[Polygon, Mapping[str, Any]]], parcel: Polygon, number: str | None
) -> tuple[AdjoiningParcel, ...]:
    """Lots around the lot with their numbers, the nearest first; owners' names stay in the file."""
    lots = [
        AdjoiningParcel(shape, lot_number(columns, number))
        for shape, columns in around
        if not is_lot_itself(shape, parcel)
    ]
    return tuple(sorted(lots, key=lambda each: round(each.shape.distance(parcel), 3)))


def lot_number(columns: Mapping[str, Any], named: str | None = None) -> str:
    """Number of a lot by what its file says: of the column named, else of one that is called so.

    Examples
    --------
    >>> lot_number({"OWNER": "A. Owner", "Parcel_ID": " 12-035 "})
    '12-035'
    >>> lot_number({"OWNER": "A. Owner"})
    ''
    """
    own = [key for key in columns if key == named]
    called = {plain_word(key): key for key in reversed(list(columns))}
    own += [called[word] for word in NUMBER_COLUMNS if word in called]
    return next((_text(columns[key]) for key in own if _text(columns[key])), "")


def _text(value: object) -> str:
    """What a column says; nothing where it is empty, a whole number without its decimals."""
    if isinstance(value, float):
        return f"{value:.0f}" if value.is_integer() else ""
    return " ".join(str(value).split()) if isinstance(value, str | int) else ""


def _building_source(parcels: Path, buildings: Path | None) -> tuple[Path | None, str | None]:
    """File and layer of the buildings: those named, else a layer of the county's file."""
    if buildings is not None:
        return buildings, building_layer(buildings)
    layer = layer_called(parcels, "building")
    return (parcels, layer) if layer else (None, None)


def _mended(shape: BaseGeometry, lot: PickedLot, path: Path) -> tuple[Polygon, tuple[str, ...]]:
    """Outline without corners drawn twice and without holes; one that crosses itself is refused."""
    assert isinstance(shape, Polygon)
    if not shape.is_valid:
        if lot.shape.is_valid:
            # right on the globe, yet not on a plane: feet or metres taken for degrees
            raise refused(
                path,
                f"has a lot that reaches too far over the earth to be drawn in {lot.crs}.",
                "Check its coordinate system: feet or metres may be taken for degrees.",
            )
        where = shapely.is_valid_reason(lot.shape)
        raise refused(path, f"has an outline that crosses itself: {where}.", "Mend it there.")
    repaired = list(lot.mended)
    ring = shapely.get_coordinates(shape.exterior)
    apart = np.hypot(*np.diff(ring, axis=0).T) > TWICE_M
    if not apart.all():
        repaired.append(f"{int((~apart).sum())} corner drawn twice was dropped")
        ring = np.vstack([ring[:-1][apart], ring[:-1][apart][:1]])
    if shape.interiors:
        repaired.append(
            f"{len(shape.interiors)} hole in the lot, land of somebody else, is drawn as ground to "
            "keep out of"
        )
    return Polygon(ring), tuple(repaired)


def _areas(
    frame: LocalFrame, path: Path, layer: str | None, crs: str, near: Near
) -> list[tuple[Polygon, Mapping[str, Any]]]:
    """Valid areas of a layer near the lot, in local metres."""
    rows = read_rows(path, layer=layer, crs=crs, near=near)
    system = rows.crs or crs
    once = {shape.wkb: (shape, columns)
            for shape, columns in zip(rows.shapes, rows.columns, strict=True)}  # fmt: skip
    if len(once) > MOST_FEATURES:
        what = f"has {len(once):,} shapes around the lot; {MOST_FEATURES:,} are read."
        raise refused(path, what, "Leave out what lies far from the lot.")
    found = []
    for shape, columns in once.values():
        local = frame.localize(shape, system)
        if isinstance(local, Polygon) and local.is_valid and local.area > 0:
            found.append((local, columns))
    return found


def _open_sides(parcel: Polygon, adjoining: Sequence[Polygon]) -> tuple[LineString, ...]:
    """Sides of the outline that no lot adjoins, the longest first; no two of them in one.

    A street may bend with a lot: around a corner lies a second street, or a neighbor whom the
    file does not know.
    """
    if not adjoining:
        return ()
    taken = shapely.union_all([shape.buffer(GAP_M) for shape in adjoining])
    left = shapely.line_merge(shapely.difference(parcel.exterior, taken))
    corners = shapely.MultiPoint(shapely.get_coordinates(parcel.exterior))
    pieces = [
        side
        for piece in shapely.get_parts(left)
        if piece.length >= OPEN_M
        for side in _sides_of(_to_corners(piece, corners))
        if side.length >= OPEN_M
    ]
    return tuple(sorted(pieces, key=lambda piece: -round(piece.length, 3)))


def _sides_of(piece: LineString) -> list[LineString]:
    """A piece of the outline, parted at its corners."""
    points = shapely.get_coordinates(piece)
    heading = np.degrees(np.arctan2(*np.diff(points, axis=0).T[::-1]))
    turn = np.abs((np.diff(heading) + 180.0) % 360.0 - 180.0)
    ends = [0, *(np.flatnonzero(turn > CORNER_DEG) + 1).tolist(), len(points) - 1]
    return [LineString(points[start : end + 1]) for start, end in pairwise(ends)]


def _to_corners(piece: LineString, corners: shapely.MultiPoint) -> LineString:
    """A piece of the outline, led on to corners that the gap beside the next lot took from it."""
    ends = []
    for end in (shapely.Point(piece.coords[0]), shapely.Point(piece.coords[-1])):
        _, corner = nearest_points(end, corners)
        ends.append([corner] if TWICE_M < end.distance(corner) <= 2 * GAP_M else [])
    return LineString([*ends[0], *map(shapely.Point, piece.coords), *ends[1]])


def _building(shape: Polygon, columns: Mapping[str, Any], parcel: Polygon) -> Building:
    on_lot = shapely.intersection(shape, parcel).area
    return Building(shape, columns, bool(on_lot >= ON_LOT * shape.area))


def _sorted(buildings: Sequence[Building], parcel: Polygon) -> tuple[Building, ...]:
    def rank(building: Building) -> tuple[float, float]:
        away = parcel.distance(building.shape)
        return (-building.shape.area, 0.0) if building.own else (math.inf, away)

    return tuple(sorted(buildings, key=rank))


def side_of(piece: LineString, parcel: Polygon) -> str:
    """Side of the lot that a piece of its outline is on.

    Examples
    --------
    >>> side_of(LineString([(0, 0), (60, 0)]), shapely.box(0, 0, 60, 80))
    'south'
    """
    middle, centre = piece.interpolate(0.5, normalized=True), parcel.centroid
    angle = math.atan2(middle.y - centre.y, middle.x - centre.x)
    return SIDES[round(angle / (math.pi / 2)) % 4]
