"""Lot lines that serve as base lines, for stakes that no two corners tie well.

Both ends are corners that stand on the ground already. A crew sights from one to the other, runs
the station along the line and sets the stake off from it at a right angle.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

import numpy as np

from siteplan.geometry.boundary import Course
from siteplan.sheet.content.base_lines import OFFSET_M, station_offset
from siteplan.sheet.content.sides import sides_of
from siteplan.sheet.content.tie_choice import WET, TieBench
from siteplan.sheet.content.ties import Corner, Ground
from siteplan.sheet.model import XY
from siteplan.site.model import Site

DASH: Final = "-"
"""Between the letters of both corners in the name of such a line."""
SKEWED: Final = 0.5
"""Share of a line's length that an offset may be, at most: the shorter the line, the less a
corner says of its direction; common practice, no source."""

Places = Sequence[tuple[str, XY]]
Ends = tuple[Corner, Corner]


def line_name(first: str, other: str) -> str:
    """Name of the lot line from one lettered corner to another.

    Examples
    --------
    >>> line_name("B", "D")
    'B-D'
    """
    return f"{first}{DASH}{other}"


def corners_named(line: str) -> tuple[str, ...]:
    """Letters of both corners of a lot line; none where a name is not that of one.

    Examples
    --------
    >>> corners_named("B-D"), corners_named("BL1"), corners_named("")
    (('B', 'D'), (), ())
    """
    first, dash, other = line.partition(DASH)
    return (first, other) if dash and first and other else ()


def badly_tied(places: Places, corners: Sequence[Corner], ground: Ground) -> Places:
    """Stakes whose best two tapes are too long or lead over water, or that have none."""
    if not places:
        return ()
    bench = TieBench(corners, np.array([at for _, at in places]), ground)
    return [place for place, rank in zip(places, bench.best(), strict=True) if rank >= WET]


def along_sides(
    site: Site, places: Places, corners: Iterable[Corner], ground: Ground
) -> dict[str, Ends]:
    """By the names of stakes the ends of the straight lot line each is set off from.

    A stake without one is left out. As many as can share a line.
    """
    known = {corner.at: corner for corner in corners}
    ends = [
        (known[way[0]], known[way[1]])
        for side in sides_of(site.parcel)
        if isinstance(side, Course) and side.start in known and side.end in known
        for way in ((side.start, side.end), (side.end, side.start))
    ]
    left, chosen = dict(places), dict[str, Ends]()
    while left:
        served = [_served(pair, left, ground) for pair in ends]
        best = min(
            range(len(ends)), key=lambda k: (-len(served[k]), _worst(served[k]), k), default=None
        )
        if best is None or not served[best]:
            break
        for name in served[best]:
            chosen[name] = ends[best]
            del left[name]
    return chosen


Served = Mapping[str, XY]
"""By the names of stakes their station and offset [m]."""


def _served(ends: Ends, places: Mapping[str, XY], ground: Ground) -> Served:
    """Stakes that can be set off from a line, whose whole length is seen from its first corner."""
    start, end = ends[0].at, ends[1].at
    if not ground.clear(np.array(start), np.array(end)):
        return {}
    there = {name: station_offset(start, end, at) for name, at in places.items()}
    return {
        name: way
        for name, way in there.items()
        if _is_near(way, math.dist(start, end)) and _is_open(ends, way, places[name], ground)
    }


def _is_near(way: XY, long: float) -> bool:
    station, offset = way
    return 0.0 <= station <= long and abs(offset) <= min(OFFSET_M, SKEWED * long)


def _is_open(ends: Ends, way: XY, at: XY, ground: Ground) -> bool:
    """Whether a tape reaches the foot and the offset from it, over dry ground."""
    (x, y), (p, q) = ends[0].at, ends[1].at
    part = way[0] / math.dist((x, y), (p, q))
    foot = (x + part * (p - x), y + part * (q - y))
    starts, tips = np.array([(x, y), foot]), np.array([foot, at])
    return bool(ground.clear(starts, tips).all()) and not ground.wet(starts, tips).any()


def _worst(served: Served) -> XY:
    """The longest offset and the longest station: of equal lines the least wins."""
    offsets = (round(abs(offset), 3) for _, offset in served.values())
    stations = (round(station, 3) for station, _ in served.values())
    return max(offsets, default=0.0), max(stations, default=0.0)
