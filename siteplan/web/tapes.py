"""The tapes that place a thing, as lines for the page to draw: from where each is laid to where."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping
from contextlib import suppress
from typing import Any, Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.reading import ARRAYS, Pair, as_pair
from siteplan.site.model import Site
from siteplan.site.options.choices import OFFSET, PARCEL, TIES, WALLS
from siteplan.site.readers.named_places import NotYet, Places, Unclear
from siteplan.site.walls import COMPASS
from siteplan.units.model import UnitSystem

Json = dict[str, Any]
Tape = tuple[Pair, Pair, str]
"""From where to where [m], and its length as it was typed."""
STREET: Final = "street"
HOUSE: Final = "building"
MOST_HOUSES: Final = 40
"""So many buildings are looked at for sides beyond the four of a rectangle."""


def places_of(site: Site) -> Places:
    """What is drawn on a lot, by id, and by its kind where there is one of it."""
    kinds = Counter(each.kind for each in site.features)
    alone = {each.kind: each.shape for each in site.features if kinds[each.kind] == 1}
    shapes = {**alone, **{each.id: each.shape for each in site.features}, PARCEL: site.parcel}
    return Places(shapes, frozenset(), [each.shape for each in site.of_kind(STREET)])


def measured_from(site: Site | None) -> Json:
    """Sides and corners that tapes are laid from, as they are called, of the lot and its houses.

    Of another thing the page offers the four that a rectangle has.
    """
    if site is None:
        return {}
    places = places_of(site)
    owners = [PARCEL, *(each.id for each in site.of_kind(HOUSE)[:MOST_HOUSES])]
    return {each: {"lines": places.sides(each), "points": places.corners(each)} for each in owners}


def tapes_told(says: Mapping[str, Any], shape: BaseGeometry, site: Site) -> list[list[Any]]:
    """Tapes that place a thing; none where no tape does.

    Parameters
    ----------
    says
        What the site file states of it.
    shape
        What that comes to [m]; of walls, the first corner is the first point.
    site
        The lot.
    """
    spot = shapely.get_coordinates(shape)
    if not len(spot):
        return []
    measured = _measured(says)
    with suppress(Unclear, NotYet, LookupError, TypeError, ValueError):
        tapes = _tapes(measured, (float(spot[0][0]), float(spot[0][1])), places_of(site), site.unit)
        return [[_rounded(start), _rounded(end), words] for start, end, words in tapes]
    return []


def _measured(says: Mapping[str, Any]) -> Mapping[str, Any]:
    """What is stated of the place, as `at` has it."""
    if TIES in says:
        return says
    value = says.get("corner") if WALLS in says else says.get(OFFSET, says.get("at"))
    return value if isinstance(value, Mapping) else {}


def _tapes(
    measured: Mapping[str, Any], spot: Pair, places: Places, unit: UnitSystem
) -> Iterator[Tape]:
    for tied, words in measured.get(TIES, ()):
        yield _known(tied, places, unit), spot, str(words)
    if TIES in measured:
        return
    if "line" in measured:
        start, end = places.line(measured["line"])
        foot, station = _foot(spot, start, end), measured.get("station", "")
        begin = _toward(measured["from"], start, end)
        yield begin, foot, str(station)
        yield foot, spot, str(measured.get("off", ""))
        return
    for name, words, *_ in measured.get("off", ()):
        yield _foot(spot, *places.line(name)), spot, str(words)


def _known(tied: Any, places: Places, unit: UnitSystem) -> Pair:
    """A place that a tape is laid from: a name, or a point in the numbers of the file."""
    if isinstance(tied, str):
        return places.point(tied)
    pair = as_pair(tied) if isinstance(tied, ARRAYS) else None
    if pair is None:
        raise ValueError(tied)
    return pair[0] * unit.metres, pair[1] * unit.metres


def _toward(way: str, start: Pair, end: Pair) -> Pair:
    """The end of a line that lies farther in a direction."""
    angle = math.radians(45.0 * COMPASS.index(way))
    step = np.array((math.sin(angle), math.cos(angle)))
    return start if float(step @ np.subtract(start, end)) > 0 else end


def _foot(spot: Pair, start: Pair, end: Pair) -> Pair:
    """The point of a line, drawn on beyond its ends, that is nearest [m]."""
    along = np.subtract(end, start)
    share = float(np.subtract(spot, start) @ along / (along @ along))
    x, y = np.add(start, share * along)
    return float(x), float(y)


def _rounded(point: Pair) -> list[float]:
    return [round(point[0], 3), round(point[1], 3)]
