"""What somebody placed by hand is joined by the header, as far as that gets to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import shapely
from shapely import LineString

from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.header.router import reachable_area, route_header
from siteplan.layout.model import Ground, Header


def joined_by_hand(
    ground: Ground,
    ends: Sequence[Sequence[tuple[float, float]]],
    *,
    along_deg: float | None = None,
    avoid: Sequence[LineString] = (),
) -> Header | None:
    """Header to those of the elements that lie where it can come; None where none does.

    The contractor's own places stand even where one is out of reach: the check names it, and the
    others still get their header.

    Parameters
    ----------
    ground
        Where the header may run, and what it may cross at a cost.
    ends
        For each element the points where its pipe may be joined [m].
    along_deg
        Direction of the rows, counter-clockwise from the x axis [deg]; None: there are no rows.
    avoid
        Trench centre lines.
    """
    way = reachable_area(replace(ground, area=ground.passable))
    near = [
        [end for end in each if float(shapely.distance(shapely.Point(end), way)) <= TOLERANCE]
        for each in ends
    ]
    reached = [each for each in near if each]
    return route_header(ground, reached, along_deg=along_deg, avoid=avoid) if reached else None
