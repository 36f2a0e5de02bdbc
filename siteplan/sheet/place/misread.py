"""Places where a label would be read as the name of something else."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.sheet.model import XY
from siteplan.sheet.place.candidates import Candidate
from siteplan.sheet.place.label import Label
from siteplan.sheet.place.placer import box_corners, leader_path

SAME_MM: Final = 0.3
"""What lies so near to what a leader points at is the same [mm]."""
ASIDE_MM: Final = 0.5
"""How far the tip of a leader stays off other symbols [mm]."""


def points_elsewhere(label: Label, place: Candidate, symbols: Sequence[tuple[XY, float]]) -> bool:
    """Whether the tip of a leader is not clearly nearer to what it names than to another symbol.

    ``symbols``: their centers and radii on paper [mm].
    """
    if place.leader is None:
        return False
    target = place.leader
    near = [
        (center, size)
        for center, size in symbols
        if SAME_MM < math.dist(center, target) < size + place.stand_off + ASIDE_MM
    ]
    if not near:
        return False
    tip = leader_path(place, label.width, label.height)[-1]
    return any(math.dist(center, tip) - size <= ASIDE_MM for center, size in near)


def lies_in(label: Label, place: Candidate, areas: Sequence[BaseGeometry]) -> bool:
    """Whether a label lies in an area on paper that bears a name, with which it would be read."""
    if not areas:
        return False
    box = Polygon(box_corners(place.center, label.width, label.height, place.angle_deg))
    return any(area.intersects(box) for area in areas)
