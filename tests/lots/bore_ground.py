"""Ground for bores whose header may run all over it and a strip around it."""

from __future__ import annotations

import numpy as np
from shapely import Point, box
from shapely.geometry.base import BaseGeometry

from siteplan.layout.model import Ground, Layout
from siteplan.site.model import Entry, VerticalOptions
from siteplan.units.lengths import FOOT
from siteplan.units.model import UnitSystem
from siteplan.units.systems import US

OPTIONS = VerticalOptions(
    spacing_m=20 * FOOT, depth_least_m=150 * FOOT, depth_most_m=400 * FOOT, diameter_m=0.15
)


def ground(
    area: BaseGeometry,
    *entries: tuple[float, float],
    passable: BaseGeometry | None = None,
    unit: UnitSystem = US,
) -> Ground:
    """The area with its entries, and what the header may pass."""
    around = area.buffer(5.0, join_style="mitre") if passable is None else passable
    doors = tuple(Entry(f"E{k}", Point(xy)) for k, xy in enumerate(entries, start=1))
    return Ground(area, around, doors, unit=unit)


LAWN = ground(box(0, 0, 40, 30), (20, -3))


def points_of(layout: Layout) -> np.ndarray:
    """Places of the bores [m]."""
    return np.array([(bore.x_m, bore.y_m) for bore in layout.elements])
