"""Where the numbers of lots stand on the map of a county: in their lots, or beside them.

Lots come in pieces and are let go again: what is kept is the numbers that are drawn, of which there
are so many at most, and while all lots are no more than that the frames of those left out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray

LETTER_EM, THIN_EM, THIN_LETTERS = 0.66, 0.24, "-.,:;/|' "
"""Width of a letter by the height of the text, and how much less some are."""
HIGH_EM: Final = 1.2
"""Height of a line by that of the text."""
BESIDE_EM: Final = 0.3
"""How far off its lot a number beside it stands, by its height."""
MOST_NUMBERS: Final = 20_000
"""So many numbers are drawn at most: a page with more takes minutes to write and to open."""
MOST_ON_PAGE: Final = 200_000
"""Lots of a PDF at most: with more, readers of pages take long to show it, measured, and a lot is
hardly found even zoomed in."""
SIDES: Final = {"left": (1.0, 0.0), "right": (-1.0, 0.0), "center": (0.0, 1.0)}
"""Which end of a number beside its lot is at the lot, and the way from the lot to it."""

Floats = NDArray[np.float64]
Piece = tuple[NDArray[np.object_], dict[str, NDArray[Any]]]
Pieces = Callable[[], Iterable[Piece]]
"""All lots of a county, piece by piece, as often as they are asked for."""


@dataclass(frozen=True, slots=True)
class Number:
    """A lot's number on the map: its text, place, size [pt], direction [rad], and what is there.

    ``across``, ``up``: which part of the text is at the place.
    """

    text: str
    place: tuple[float, float]
    size_pt: float
    angle: float = 0.0
    across: str = "center"
    up: str = "center"


@dataclass(slots=True)
class _LeftOut:
    """Lots whose numbers have no room in them: names and bounds, while they are few."""

    count: int = 0
    names: list[NDArray[np.str_]] = field(default_factory=list)
    bounds: list[Floats] = field(default_factory=list)

    def add(self, names: NDArray[np.str_], bounds: Floats, most: int) -> None:
        """Count lots; more than may be drawn are no longer kept."""
        self.count += len(names)
        if self.count > most:
            self.names, self.bounds = [], []
        else:
            self.names.append(names)
            self.bounds.append(bounds)


def numbers_of(
    lots: Pieces,
    frame: tuple[float, float, float, float],
    unit: Floats,
    sizes_pt: tuple[float, ...],
) -> tuple[list[Number], int]:
    """Numbers of lots, each as large as it has room in its lot, or beside it; how many have none.

    None lies over a line or another number.

    Parameters
    ----------
    lots
        Outlines and the column ``lot``, in the units of the map.
    frame
        West, south, east and north of what is drawn.
    unit
        A point in the units of the map, across and up.
    sizes_pt
        Heights of a number, of which it has the greatest that it has room for.
    """
    drawn, left_out = list[Number](), _LeftOut()
    for outlines, columns in lots():
        told = columns["lot"].astype(str)
        named = np.flatnonzero((told != "") & ~shapely.is_missing(outlines))
        shapes, names = outlines[named], told[named]
        spots, angle, size = _rooms(shapes, names, sizes_pt, unit)
        chosen = np.flatnonzero(size > 0)[: MOST_NUMBERS - len(drawn)]
        drawn += [
            Number(str(names[k]), (spots[k, 0], spots[k, 1]), size[k], angle[k])
            for k in chosen.tolist()
        ]
        rest = np.setdiff1d(np.arange(len(names)), chosen)
        left_out.add(names[rest], shapely.bounds(shapes[rest]), MOST_NUMBERS - len(drawn))
    if not 0 < left_out.count <= MOST_NUMBERS - len(drawn):
        return drawn, left_out.count
    beside = list(_beside(lots, left_out, frame, unit, sizes_pt[-2:]))
    return drawn + beside, left_out.count - len(beside)


def _wide_em(names: NDArray[np.str_]) -> Floats:
    """Width of each name by the height of its letters."""
    thin = sum(np.char.count(names, each) for each in THIN_LETTERS)
    wide: Floats = LETTER_EM * np.char.str_len(names) - thin * THIN_EM
    return wide


def _rooms(
    shapes: NDArray[np.object_], names: NDArray[np.str_], sizes_pt: tuple[float, ...], unit: Floats
) -> tuple[Floats, Floats, Floats]:
    """Where the name of each lot has room: its middle, direction on the paper [rad], size [pt].

    The size is 0 where none has room.
    """
    wide = _wide_em(names)
    spots = np.zeros((len(shapes), 2))
    angle, size = np.zeros(len(shapes)), np.zeros(len(shapes))
    bounds = shapely.bounds(shapes)
    longest = np.hypot(*((bounds[:, 2:] - bounds[:, :2]) / unit).T)
    able = np.flatnonzero(longest >= wide * min(sizes_pt))
    # one without width has no frame to write in
    able = able[shapely.get_type_id(shapely.oriented_envelope(shapes[able])) == 3]
    lots = shapes[able]
    spots[able] = shapely.get_coordinates(shapely.point_on_surface(lots))
    turned = _along(lots, unit)
    corners = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) / 2
    for each in sizes_pt:
        for way in (np.zeros(len(lots)), turned):
            x, y = corners[:, 0] * wide[able, None] * each, corners[:, 1] * HIGH_EM * each
            cosine, sine = np.cos(way)[:, None], np.sin(way)[:, None]
            box = np.stack([x * cosine - y * sine, x * sine + y * cosine], axis=2) * unit
            boxes = shapely.polygons(spots[able, None] + box)
            fits = (size[able] == 0) & shapely.covers(lots, boxes)
            angle[able[fits]], size[able[fits]] = way[fits], each
    return spots, angle, size


def _along(lots: NDArray[np.object_], unit: Floats) -> Floats:
    """Direction of the longest side of the frame of each lot, on the paper."""
    frames = shapely.get_coordinates(shapely.oriented_envelope(lots)).reshape(-1, 5, 2) / unit
    sides = np.diff(frames[:, :3], axis=1)
    longest = np.hypot(*sides.transpose(2, 0, 1)).argmax(axis=1)
    along = sides[np.arange(len(sides)), longest]
    # read from below or from the right, as dimensions are: ISO 129-1, from memory
    turned: Floats = (np.arctan2(along[:, 1], along[:, 0]) + np.pi / 3) % np.pi - np.pi / 3
    return turned


def _beside(
    lots: Pieces, left_out: _LeftOut, frame: tuple[float, float, float, float], unit: Floats,
    sizes_pt: tuple[float, ...],
) -> Iterator[Number]:  # fmt: skip
    """Numbers beside their lots, where no lot and no other number is."""
    names, bounds = np.concatenate(left_out.names), np.concatenate(left_out.bounds)
    tried = [(size, side) for size in sizes_pt for side in SIDES]
    rooms = [_room_beside(names, bounds, unit, size, side) for size, side in tried]
    clear = [BESIDE_EM * 0.9 * size * float(unit.min()) for size, _ in tried]
    met = _on_lots(lots, rooms, clear)
    west, south, east, north = frame
    taken, kept = np.zeros(len(names), dtype=bool), np.zeros(0, dtype=object)
    for (size, side), room, gap, over in zip(tried, rooms, clear, met, strict=True):
        within = (room[:, :2] > (west, south)).all(axis=1) & (room[:, 2:] < (east, north)).all(
            axis=1
        )
        free = np.flatnonzero(within & ~taken & ~over)
        around = shapely.box(*(room[free] + np.array([-gap, -gap, gap, gap])).T)
        near = np.unique(shapely.STRtree(kept).query(around, predicate="intersects")[0])
        free = np.delete(free, near)
        boxes = np.asarray(shapely.box(*room[free].T))
        stays = _clear_of_others(boxes)
        free, kept = free[stays], np.append(kept, boxes[stays])
        taken[free] = True
        for k in free.tolist():
            place = _at_side(bounds[k], side) + BESIDE_EM * size * unit * SIDES[side]
            up = "bottom" if side == "center" else "center"
            yield Number(str(names[k]), (place[0], place[1]), size, across=side, up=up)


def _at_side(bounds: Floats, side: str) -> Floats:
    """Where on the bounds of lots a number beside them is tied to."""
    west, south, east, north = bounds.T
    x = {"left": east, "right": west, "center": (west + east) / 2}[side]
    return np.stack([x, north if side == "center" else (south + north) / 2], axis=-1)


def _room_beside(
    names: NDArray[np.str_], bounds: Floats, unit: Floats, size_pt: float, side: str
) -> Floats:
    """West, south, east and north of the room that each number beside its lot takes."""
    away = np.array(SIDES[side])
    wide, high = LETTER_EM * np.char.str_len(names) * size_pt * unit[0], HIGH_EM * size_pt * unit[1]
    place = _at_side(bounds, side) + BESIDE_EM * size_pt * unit * away
    middle = place + away / 2 * np.stack([wide, np.full(len(wide), high)], axis=1)
    half = np.stack([wide, np.full(len(wide), high)], axis=1) / 2
    return np.concatenate([middle - half, middle + half], axis=1)


def _on_lots(lots: Pieces, rooms: list[Floats], clear: list[float]) -> list[NDArray[np.bool_]]:
    """Which rooms, widened by what is kept clear, meet a lot."""
    met = [np.zeros(len(room), dtype=bool) for room in rooms]
    for shapes, _ in lots():
        west, south, east, north = shapely.total_bounds(shapes)
        tree = shapely.STRtree(shapes)
        for room, gap, over in zip(rooms, clear, met, strict=True):
            wider = room + np.array([-gap, -gap, gap, gap])
            here = (wider[:, :2] <= (east, north)).all(axis=1) & ~over
            here &= (wider[:, 2:] >= (west, south)).all(axis=1)
            near = np.flatnonzero(here)
            hit = tree.query(shapely.box(*wider[near].T), predicate="intersects")[0]
            over[near[np.unique(hit)]] = True
    return met


def _clear_of_others(boxes: NDArray[np.object_]) -> NDArray[np.bool_]:
    """Which boxes may stay, so that none meets another: of two that do the first."""
    clear = np.ones(len(boxes), dtype=bool)
    pairs = shapely.STRtree(boxes).query(boxes, predicate="intersects").T
    for one, other in sorted(pairs[pairs[:, 0] < pairs[:, 1]].tolist()):
        if clear[one]:
            clear[other] = False
    return clear
