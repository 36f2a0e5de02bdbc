"""Where a header pit has room: on the way from the field to the building, near the field."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import numpy as np
import shapely
from shapely import LineString, MultiLineString
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Trench
from siteplan.layout.header.section import piece_line
from siteplan.layout.header.tree import SAME_M, XY, HeaderTree
from siteplan.layout.model import Ground, Layout
from siteplan.layout.piping_model import HeaderPiece
from siteplan.layout.pit import PIT_GAP_M, HeaderPit, pit_around
from siteplan.units.lengths import FOOT

STEP_M: Final = FOOT
"""Step in which places along the header are tried [m]."""
ASIDE: Final = (0.0, 2.5 * FOOT, -2.5 * FOOT, 5 * FOOT, -5 * FOOT)
"""How far the middle of a pit may lie beside the header, so that this still leads into it [m]."""

ARC_IN_M: Final = 0.02
"""More than chords round a bend of the widest pit lie inside the arc [m]."""


def pit_place(layout: Layout, tree: HeaderTree, ground: Ground) -> HeaderPit | None:
    """The pit with room that is nearest to the field, None where there is no room.

    It lies on the part of the header through which the pipes of all circuits pass, and keeps its
    distance from loops and crossovers.

    Parameters
    ----------
    layout
        Elements, header, crossovers.
    tree
        The header as a tree.
    ground
        Where the header may run.
    """
    assert layout.header is not None
    runs = MultiLineString(list(layout.header.runs))
    # what is drawn of a bent pit lies inside its true arc by millimetres
    dug = [
        (element.near_surface, element.reach_m + (ARC_IN_M if isinstance(element, Trench) else 0.0))
        for element in layout.elements
    ]
    dug += [(crossover.line, crossover.width_m / 2) for crossover in layout.crossovers]
    room = _room(ground)
    return next(
        (
            pit
            for at, pit in _pits(_trunk(layout, tree))
            if room.covers(pit.outline)
            and all(_clearance(pit, shape, reach) >= PIT_GAP_M for shape, reach in dug)
            and _is_led_into(pit, at, runs)
        ),
        None,
    )


def _room(ground: Ground) -> BaseGeometry:
    """Where the header may run, without what it may only cross or enter."""
    crossed: list[BaseGeometry] = [feature.shape.buffer(SAME_M) for feature in ground.marked]
    crossed += [strip.line.buffer(strip.reach_m) for strip in ground.strips]
    if ground.entered is not None:
        crossed.append(ground.entered)
    # the tolerance of the ground itself: a header along its edge lies on it
    return ground.passable.buffer(TOLERANCE).difference(shapely.union_all(crossed))


def _trunk(layout: Layout, tree: HeaderTree) -> LineString | None:
    """Way from where all circuits come together to the entry; None where that is the entry."""
    assert layout.header is not None
    points: list[XY] = []
    for node in tree.way(tree.meeting(tree.stops))[:-1]:
        ends = tree.points[node], tree.points[tree.parents[node]]
        piece = HeaderPiece(*ends, tree.lengths_m[node], tree.bends[node], ())
        line = piece_line(piece, layout.header)
        points += [(float(x), float(y)) for x, y, *_ in line.coords]
    line = shapely.remove_repeated_points(LineString(points), SAME_M) if points else LineString()
    return line if line.length > 0.0 else None


def _pits(trunk: LineString | None) -> Iterator[tuple[XY, HeaderPit]]:
    """Pits along the header from the field on, with the point of the header in each."""
    if trunk is None:
        return
    for reach in np.arange(0.0, trunk.length, STEP_M):
        ahead = min(reach + SAME_M, trunk.length)
        at, on = (trunk.interpolate(way).coords[0] for way in (float(reach), float(ahead)))
        turn = math.atan2(on[1] - at[1], on[0] - at[0])
        for aside in ASIDE:
            middle = (at[0] - aside * math.sin(turn), at[1] + aside * math.cos(turn))
            yield (float(at[0]), float(at[1])), pit_around(middle, turn)


def _is_led_into(pit: HeaderPit, at: XY, runs: MultiLineString) -> bool:
    """Whether the header lies in a pit in one piece, and its middle is nearest to a point of it."""
    inside = shapely.get_parts(shapely.line_merge(runs.intersection(pit.outline)))
    connected = shapely.union_all(shapely.buffer(inside, SAME_M)).geom_type == "Polygon"
    return connected and math.dist(pit.joint(runs), at) < SAME_M


def _clearance(pit: HeaderPit, shape: BaseGeometry, reach_m: float = 0.0) -> float:
    """Undug ground between a pit and something, 0 where they overlap [m]."""
    return max(0.0, float(pit.outline.distance(shape)) - reach_m)
