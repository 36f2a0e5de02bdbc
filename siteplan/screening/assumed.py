"""What is taken for granted on lots of which no file tells: a house, a well, a septic field.

Every assumption is named in the row of its lot. The places are invented: nobody says that they are
likely, only that a lot with a house, a well and a field so placed is screened as one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.screening.asked import Asked
from siteplan.screening.chunk import Chunk
from siteplan.screening.scan import Floats, Integers, Shapes, directions
from siteplan.screening.terms import ALL_ROUND

FRONT_M: Final = 5.0
"""What an assumed house keeps from the property line; common practice, no source [m]."""
EDGE_M: Final = 3.0
"""What an assumed well or field keeps from the property line; common practice, no source [m]."""
YARD_M: Final = 5.0
"""What an assumed well or field keeps from the house; common practice, no source [m]."""
AWAY_M: Final = (14.0, 20.0, 27.0, 35.0)
"""How far from the middle of the house a well or a field is tried [m]."""
TURNS: Final = 8
"""Directions in which it is tried."""
WELL, FIELD = "potable well", "drainfield"


@dataclass(frozen=True, slots=True)
class Known:
    """What files tell of: kinds that have a layer."""

    kinds: tuple[str, ...] = ()

    @property
    def water(self) -> bool:
        """Whether wells, or the main, are told of."""
        return bool({WELL, "water line"} & set(self.kinds))

    @property
    def sewage(self) -> bool:
        """Whether septic fields or tanks, or the sewer, are told of."""
        return bool({FIELD, "septic tank", "sewer line"} & set(self.kinds))


def with_granted(chunk: Chunk, asked: Asked, known: Known) -> tuple[Chunk, list[list[str]]]:
    """The lots with what is assumed on them, and what that is, in words for each."""
    told: list[list[str]] = [[] for _ in range(len(chunk))]
    houses = chunk.house_shapes()
    added: list[tuple[Integers, Shapes, str]] = []
    if "house" in asked.granted:
        lots = np.flatnonzero(chunk.houses < 0)
        shapes = _houses(chunk.outlines[lots], asked.house_m)
        lots, shapes = _said(told, lots, shapes, "house")
        houses[lots] = shapes
        added.append((lots, shapes, ALL_ROUND))
    yard = _Yard(chunk.outlines, houses)
    fields = np.full(len(chunk), None, dtype=object)
    if "septic" in asked.granted and not known.sewage:
        lots, shapes = _said(told, np.arange(len(chunk)), yard.field(asked.field_m), "septic field")
        fields[lots] = shapes
        added.append((lots, shapes, FIELD))
    if "well" in asked.granted and not known.water:
        lots, shapes = _said(told, np.arange(len(chunk)), yard.well(fields), "well")
        added.append((lots, shapes, WELL))
    return _joined(chunk, added), told


def _said(
    told: list[list[str]], lots: Integers, shapes: Shapes, name: str
) -> tuple[Integers, Shapes]:
    """Those that found a place, and a word in the row of each lot."""
    there = ~shapely.is_missing(shapes)
    for lot, found in zip(lots.tolist(), there.tolist(), strict=True):
        told[lot].append(name if found else f"no room for a {name}")
    return lots[there], shapes[there]


def _houses(outlines: Shapes, size: tuple[float, float]) -> Shapes:
    """A house in the middle of the buildable part of each lot, along its longest side."""
    inner = shapely.buffer(outlines, -FRONT_M, quad_segs=4)
    parts, lot = shapely.get_parts(inner, return_index=True)
    order = np.lexsort((-shapely.area(parts), lot))
    first = order[np.flatnonzero(np.diff(lot[order], prepend=-1))]
    middles = np.full(len(outlines), shapely.Point(), dtype=object)
    middle = shapely.centroid(parts[first])
    off = ~shapely.covers(parts[first], middle)
    middle[off] = shapely.point_on_surface(parts[first][off])
    middles[lot[first]] = middle
    houses = _boxes(_xy(middles), directions(outlines, 2)[:, 0], size)
    houses[~shapely.covers(outlines, houses)] = None
    return houses


def _boxes(middles: Floats, angle: Floats, size: tuple[float, float]) -> Shapes:
    """Rectangles around places, turned."""
    corners = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) / 2 * np.array(size)
    ahead = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    left = np.stack([-ahead[:, 1], ahead[:, 0]], axis=1)
    rings = (
        middles[:, None]
        + corners[None, :, :1] * ahead[:, None]
        + corners[None, :, 1:] * left[:, None]
    )
    boxes = np.full(len(middles), None, dtype=object)
    sound = np.isfinite(middles).all(axis=1)
    boxes[sound] = shapely.polygons(rings[sound])
    return boxes


def _xy(points: Shapes) -> Floats:
    """Places of points; no number where there is none."""
    places = np.full((len(points), 2), np.nan)
    there = ~(shapely.is_missing(points) | shapely.is_empty(points))
    places[there] = shapely.get_coordinates(points[there])
    return places


class _Yard:
    """Ground around each house on which something may be assumed.

    Parameters
    ----------
    outlines, houses
        The lots, and the house of each; None: none.
    """

    def __init__(self, outlines: Shapes, houses: Shapes) -> None:
        self._outlines, self._houses = outlines, houses
        self._lines = shapely.get_exterior_ring(outlines)
        self._angle = directions(outlines, 2)[:, 0]
        middles = _xy(shapely.centroid(houses))
        turns = np.pi / 2 + np.arange(TURNS) * 2 * np.pi / TURNS
        to = self._angle[:, None] + np.tile(turns, len(AWAY_M))
        away = np.repeat(AWAY_M, TURNS)[:, None]
        self._spots = middles[:, None] + away * np.stack([np.cos(to), np.sin(to)], axis=2)

    def field(self, size: tuple[float, float]) -> Shapes:
        """A septic field at the first place near each house that has room for it."""
        found = np.full(len(self._outlines), None, dtype=object)
        for number in range(self._spots.shape[1]):
            open_ = np.flatnonzero(shapely.is_missing(found))
            shapes = _boxes(self._spots[open_, number], self._angle[open_], size)
            fits = self._free(open_, shapes)
            found[open_[fits]] = shapes[fits]
        return found

    def well(self, fields: Shapes) -> Shapes:
        """A well at the place near each house that is farthest from the septic field."""
        found = np.full(len(self._outlines), None, dtype=object)
        middles = np.nan_to_num(_xy(shapely.centroid(fields)))
        away = np.hypot(*np.moveaxis(self._spots - middles[:, None], 2, 0))
        known = ~shapely.is_missing(fields)
        order = np.argsort(np.where(known[:, None], -away, 0.0), axis=1, kind="stable")
        for number in range(self._spots.shape[1]):
            open_ = np.flatnonzero(shapely.is_missing(found))
            places = self._spots[open_, order[open_, number]]
            spots = np.full(len(open_), None, dtype=object)
            sound = np.isfinite(places).all(axis=1)
            spots[sound] = shapely.points(places[sound])
            fits = self._free(open_, spots)
            fits &= ~(shapely.distance(spots, fields[open_]) < EDGE_M)
            found[open_[fits]] = spots[fits]
        return found

    def _free(self, lots: Integers, shapes: Shapes) -> NDArray[np.bool_]:
        """Whether shapes lie within their lots, off the line and off the house."""
        free = np.asarray(shapely.distance(self._lines[lots], shapes) >= EDGE_M)
        near = np.flatnonzero(free)
        free[near] = ~(shapely.distance(self._houses[lots[near]], shapes[near]) < YARD_M)
        near = np.flatnonzero(free)
        free[near] = shapely.covers(self._outlines[lots[near]], shapes[near])
        return free


def _joined(chunk: Chunk, added: list[tuple[Integers, Shapes, str]]) -> Chunk:
    """The lots with more things on them; a house that was added is the lot's own."""
    owner = np.concatenate([chunk.owner, *(lots for lots, _, _ in added)])
    things = np.concatenate([chunk.things, *(shapes for _, shapes, _ in added)])
    kinds = np.concatenate([
        chunk.kinds, *(np.full(len(lots), kind) for lots, _, kind in added)
    ])  # fmt: skip
    order = np.argsort(owner, kind="stable")
    back = np.empty(len(order), dtype=np.int64)
    back[order] = np.arange(len(order))
    houses = chunk.houses.copy()
    houses[houses >= 0] = back[houses[houses >= 0]]
    start = len(chunk.owner)
    for lots, _, kind in added:
        if kind == ALL_ROUND:
            houses[lots] = back[start : start + len(lots)]
        start += len(lots)
    return Chunk(chunk.outlines, things[order], owner[order], kinds[order], houses)
