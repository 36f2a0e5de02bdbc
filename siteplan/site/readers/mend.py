"""Small faults mended in the open: rings closed, corners dropped, parts told apart, guesses."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.reading import Table
from siteplan.site.options.choices import PARCEL
from siteplan.site.readers.raw import RawFeature
from siteplan.site.repairs import Repair

TWICE_M: Final = 0.0005
"""Corners of an area so near to the one before are the same corner drawn twice [m]."""
TOUCHES: Final = "Ring Self-intersection"
"""What GEOS says of an outline that comes back to a point of itself without crossing."""

ASSUMED: Final = "assumed"
"""What a feature says that nobody stated: it gives way to one of its kind that is drawn."""


def without_guesses(raws: Sequence[RawFeature]) -> tuple[list[RawFeature], list[Repair]]:
    """Features in local metres without streets that were guessed where one is drawn, and which."""
    streets = [raw for raw in raws if raw.kind == "street"]
    guessed = [raw for raw in streets if raw.from_file and raw.table.values.get(ASSUMED) is True]
    drawn = len(guessed) < len(streets)
    told = [
        Repair("street-replaced" if drawn else "street-assumed", raw.where, _first_corner(raw))
        for raw in guessed
        if not raw.shape.is_empty
    ]
    left_out = {id(raw) for raw in guessed} if drawn else set()
    return [raw for raw in raws if id(raw) not in left_out], told


def _first_corner(raw: RawFeature) -> tuple[float, float]:
    x, y = shapely.get_coordinates(raw.shape)[0]
    return float(x), float(y)


def mended(raws: Sequence[RawFeature]) -> tuple[list[RawFeature], list[Repair]]:
    """Features in local metres with small faults mended, in their order, and what was mended."""
    kept: list[RawFeature] = []
    repairs: list[Repair] = []
    for raw in raws:
        if isinstance(raw.shape, Polygon) and not raw.shape.is_empty:
            repairs.extend(_closed(raw))
            kept.extend(_split(_without_doubles(raw, repairs), repairs))
        else:
            kept.append(raw)
    return kept, repairs


def _closed(raw: RawFeature) -> Iterator[Repair]:
    if raw.was_open:
        yield Repair("ring-closed", raw.where, _first_corner(raw))


def _without_doubles(raw: RawFeature, repairs: list[Repair]) -> RawFeature:
    """The feature without corners drawn twice."""
    area = raw.shape
    assert isinstance(area, Polygon)
    rings = [shapely.get_coordinates(ring) for ring in (area.exterior, *area.interiors)]
    same = [np.hypot(*np.diff(ring, axis=0).T) <= TWICE_M for ring in rings]
    count = int(sum(each.sum() for each in same))
    kept = [
        np.vstack([ring[:-1][~twice], ring[:-1][~twice][:1]])
        for ring, twice in zip(rings, same, strict=True)
        if (~twice).sum() > 2
    ]
    if not count or len(kept) < len(rings):
        return raw
    x, y = next(ring[:-1][twice][0] for ring, twice in zip(rings, same, strict=True) if twice.any())
    repairs.append(Repair("corners-dropped", raw.where, (float(x), float(y)), count))
    return replace(raw, shape=Polygon(kept[0], kept[1:]))


def _split(raw: RawFeature, repairs: list[Repair]) -> Iterator[RawFeature]:
    """The parts of an area whose outline touches itself; a lot's is left to be asked about."""
    reason = shapely.is_valid_reason(raw.shape)
    if raw.kind == PARCEL or not reason.startswith(TOUCHES):
        yield raw
        return
    parts = parts_of(raw.shape)
    repairs.append(Repair("touch-split", raw.where, place_of(reason), len(parts)))
    for number, part in enumerate(parts, start=1):
        values = dict(raw.table.values)
        if "id" in values and len(parts) > 1:
            values["id"] = f"{values['id']}-{number}"
        own = Table(values, *raw.table.place)
        yield replace(raw, shape=part, table=own)


def parts_of(shape: BaseGeometry) -> list[Polygon]:
    """The areas of an outline that touches itself."""
    whole = shapely.make_valid(shape)
    return [part for part in shapely.get_parts(whole) if isinstance(part, Polygon)]


def place_of(reason: str) -> tuple[float, float]:
    """Where an outline is at fault, of what GEOS says.

    Examples
    --------
    >>> place_of("Ring Self-intersection[20 45.5]")
    (20.0, 45.5)
    """
    x, y = reason[reason.rindex("[") + 1 : -1].split()
    return float(x), float(y)
