"""The parcel among the rows of a county's file: by a column, by a point, or as the only one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.errors import InputError
from siteplan.site.frame import WGS84, frame_around, is_geographic, known_crs
from siteplan.site.likely_systems import likely_systems
from siteplan.site.options.choices import PARCEL
from siteplan.site.readers.geodata import layers_of, read_rows
from siteplan.site.readers.mend import TOUCHES, parts_of, place_of
from siteplan.site.readers.raw import plain_kind
from siteplan.site.readers.rows import LayerInfo, Near, Rows
from siteplan.site.readers.vetted import SUFFIXES, on_earth, refused
from siteplan.units.lengths import ACRE

ALIKE: Final = 0.99
"""Share of each other that two outlines of one lot cover."""
TOLD: Final = 5
"""So many columns or lots are told where one must be named."""


@dataclass(frozen=True, slots=True)
class LotAsked:
    """Which lot of a file is meant.

    Parameters
    ----------
    path
        The file.
    layer
        Its layer; None: the one it has.
    where
        ``COLUMN = value``; None: not by a column.
    at
        Longitude and latitude, or easting and northing of the file; None: not by a point.
    crs
        Coordinate system where the file does not say.
    unit
        What a drawing is drawn in, where it does not say.
    """

    path: Path
    layer: str | None = None
    where: str | None = None
    at: tuple[float, float] | None = None
    crs: str | None = None
    unit: str | None = None


@dataclass(frozen=True, slots=True)
class PickedLot:
    """A parcel as the file has it.

    Parameters
    ----------
    shape
        Its outline in the coordinates of the file, not repaired.
    columns
        What the file says of it.
    crs
        Coordinate system.
    layer
        The layer that it is from.
    alike
        How many rows have this outline: a condominium has one for each of its units.
    mended
        What was mended of it in reading, in words.
    """

    shape: BaseGeometry
    columns: Mapping[str, Any]
    crs: str
    layer: str
    alike: int = 1
    mended: tuple[str, ...] = ()


def pick_lot(asked: LotAsked) -> PickedLot:
    """The one parcel that is meant.

    Raises
    ------
    InputError
        The file cannot be read, does not say its coordinate system, or more than one of its lots
        could be meant, or none.
    """
    path = asked.path
    if path.suffix.lower() not in SUFFIXES:
        raise refused(path, "is of no kind that is read.", f"Known: {', '.join(SUFFIXES)}, .dxf.")
    if asked.crs and not known_crs(asked.crs):
        raise refused(path, f"cannot be in {asked.crs!r}: no such system.", "Say --crs EPSG:26986.")
    info = _layer(asked)
    crs = info.crs or asked.crs
    if crs is None:
        raise _without_system(asked)
    with on_earth(path):
        near = _point(asked, info, crs) if asked.at is not None else None
    if near is None and asked.where is None and info.rows > 1:
        raise _which(path, info)
    rows = read_rows(path, layer=info.name, where=asked.where, crs=asked.crs, near=near)
    with on_earth(path):
        return replace(_one(asked, rows, crs, near), layer=info.name)


def _layer(asked: LotAsked) -> LayerInfo:
    layers = layers_of(asked.path)
    areas = [each for each in layers if "Polygon" in each.shape or each.shape == "Unknown"]
    if asked.layer is not None:
        areas = [each for each in layers if each.name == asked.layer]
    called = [each for each in areas if plain_kind(each.name) == PARCEL]
    for found in (areas, called):
        if len(found) == 1:
            return found[0]
    names = ", ".join(each.name for each in areas or layers)
    if asked.layer is not None:
        raise refused(asked.path, f"has no layer {asked.layer!r}.", f"Known: {names}.")
    if not areas:
        raise refused(asked.path, "has no layer of areas.", f"Its layers: {names or 'none'}.")
    raise refused(asked.path, f"has {len(areas)} layers of areas.", f"Say --layer: {names}.")


def _without_system(asked: LotAsked) -> InputError:
    """That the file does not say its coordinate system, and in which it may be."""
    rows = read_rows(asked.path, layer=asked.layer, where=asked.where, crs=asked.crs)
    found = likely_systems(rows.shapes[0]) if rows.shapes else ()
    ways = "; ".join(
        f"--crs {each.code} ({each.name}) puts the lot near {each.latitude:.4f}, "
        f"{each.longitude:.4f} with {each.area_m2 / ACRE:.3f} ac"
        for each in found
    )
    return refused(
        asked.path, "does not say its coordinate system.", f"Say which: {ways or '--crs EPSG:...'}."
    )


def _point(asked: LotAsked, info: LayerInfo, crs: str) -> Near:
    """The point asked for, in its coordinate system.

    Longitude comes before latitude; where only the other order lies in the file, that is said, not
    taken.
    """
    assert asked.at is not None
    x, y = asked.at
    degrees = abs(x) <= 180 and abs(y) <= 90
    system = WGS84 if degrees and not is_geographic(crs) else crs
    if _lies_in(x, y, system, info, crs) or not degrees:
        return Near(shapely.Point(x, y), system, 0.0, cut=False)
    if _lies_in(y, x, system, info, crs):
        raise refused(
            asked.path,
            f"has no lot at longitude {x}, latitude {y}.",
            f"Longitude comes first: --at {y},{x}?",
        )
    return Near(shapely.Point(x, y), system, 0.0, cut=False)


def _lies_in(x: float, y: float, system: str, info: LayerInfo, crs: str) -> bool:
    if info.bounds is None or (abs(y) > 90 and is_geographic(system)):
        return False
    point = shapely.Point(x, y)
    there = frame_around(point, system).written(shapely.Point(0, 0), crs)
    return bool(shapely.box(*info.bounds).covers(there))


def _which(path: Path, info: LayerInfo) -> InputError:
    """That one of many lots must be named, with the columns that may name it."""
    columns = ", ".join(name for name, _ in info.columns[: 2 * TOLD]) or "none"
    mend = f"Say which: --where 'COLUMN = value' (columns: {columns}), or --at LON,LAT."
    return refused(path, f"has {info.rows:,} lots.", mend)


def _one(asked: LotAsked, rows: Rows, crs: str, near: Near | None) -> PickedLot:
    """The one lot of the rows found; rows of one outline are one lot."""
    path = asked.path
    areas = [
        (part, columns, number)
        for shape, columns, number in zip(rows.shapes, rows.columns, rows.numbers, strict=True)
        if isinstance(shape, Polygon)
        for part in _told_apart(shape)
        if near is None or _holds(part, near, crs)
    ]
    if not areas:
        raise refused(path, "has no lot there.", "Ask for another, or look with siteplan inspect.")
    first, columns, number = areas[0]
    alike = [shape for shape, _, _ in areas if _same(first, shape)]
    if len(alike) == len(areas):
        return PickedLot(first, columns, crs, "", len(alike), tuple(_mended(rows, number)))
    numbers = {number for _, _, number in areas}
    what = "parts" if len(numbers) == 1 else "lots"
    places = "; ".join(
        f"--at {_spot(spot.x, spot.y, crs)} ({area:.3f} ac)"
        for spot, area in (_inside(shape, crs) for shape, _, _ in areas[:TOLD])
    )
    touching = "".join(f" An outline {words}." for words in _touches(rows, number))
    count = f"has {len(areas)} {what} that are meant.{touching}"
    raise refused(path, count, f"Say which: {places}.")


def _told_apart(shape: Polygon) -> list[Polygon]:
    """The parts of an outline that touches itself; an outline as it is where it does not."""
    touches = shapely.is_valid_reason(shape).startswith(TOUCHES)
    return parts_of(shape) if touches else [shape]


def _mended(rows: Rows, number: int) -> Iterator[str]:
    """What was mended of a row, in words."""
    if number in rows.closed:
        shape = next(each for each, own in zip(rows.shapes, rows.numbers, strict=True)
                     if own == number)  # fmt: skip
        x, y = shapely.get_coordinates(shape)[0]
        yield (
            "the lot's outline was left open in its file: its last corner was joined to its "
            f"first, at {_spot(x, y, rows.crs)}"
        )
    for words in _touches(rows, number):
        yield f"the lot's outline {words}; only the part asked for was taken"


def _touches(rows: Rows, number: int) -> Iterator[str]:
    """Where an outline of a row touches itself, in words."""
    for shape, each in zip(rows.shapes, rows.numbers, strict=True):
        reason = shapely.is_valid_reason(shape)
        if each == number and reason.startswith(TOUCHES):
            yield f"touches itself at {_spot(*place_of(reason), rows.crs)}"


def _spot(x: float, y: float, crs: str | None) -> str:
    """A place in the coordinates of the file."""
    return f"{x:.7g},{y:.7g}" if crs and is_geographic(crs) else f"{x:.2f},{y:.2f}"


def _holds(shape: Polygon, near: Near, crs: str) -> bool:
    spot = frame_around(near.shape, near.crs).written(shapely.Point(0, 0), crs)
    return bool(shape.covers(spot))


def _same(first: BaseGeometry, other: BaseGeometry) -> bool:
    if first.equals_exact(other, 0.0):
        return True
    if not (first.is_valid and other.is_valid):
        return False
    both = first.intersection(other).area
    return bool(both >= ALIKE * max(first.area, other.area))


def _inside(shape: Polygon, crs: str) -> tuple[shapely.Point, float]:
    """A point of a lot in the file's coordinates, and the lot's area [ac]."""
    frame = frame_around(shape, crs)
    return shape.representative_point(), frame.localize(shape).area / ACRE
