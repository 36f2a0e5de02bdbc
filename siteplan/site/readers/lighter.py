"""Shapes of thousands of corners drawn with fewer, always on the side of safety.

A lot reaches no farther than it was drawn, and what it keeps off no less far: an outline is
thinned within a tolerance, and then moved by as much to the side where the ground becomes less.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.limits import MOST_CORNERS
from siteplan.site.options.choices import DEPTH_CONTOUR, PARCEL
from siteplan.site.readers.raw import RawFeature, corners_of
from siteplan.site.repairs import Repair
from siteplan.units.lengths import format_length
from siteplan.vocabulary.kinds import kinds

DEPARTS_M: Final = (0.001, 0.003, 0.01, 0.03048)
"""How far a thinned outline may lie from what was drawn, the least that does; nobody sees 0.1 ft
on a plan, and staking takes more; common practice, no source [m]."""
PARTS: Final = 3
"""A third is for thinning; a corner moves by up to two more, being the sharper the farther."""
SHARPEST: Final = 2.0
"""How many times as far as its sides a corner moves at most."""
MORE: Final = (1.0, 1.25, 1.5)
"""Where a thinned outline still lies on the wrong side, it is moved by so much more."""


def lightened(raws: Sequence[RawFeature]) -> tuple[list[RawFeature], list[Repair]]:
    """Features in local metres with no more corners than are planned with, and what was thinned.

    What needs more is a fault.
    """
    kept: list[RawFeature] = []
    repairs: list[Repair] = []
    for raw in raws:
        count = corners_of(raw.shape)
        if count <= MOST_CORNERS or not raw.shape.is_valid:
            kept.append(raw)
            continue
        lighter = next(_tried(raw), None)
        if lighter is None:
            finest = format_length(DEPARTS_M[-1], raw.table.unit, 2, rounding="down")
            what = f"has {count:,} corners; {MOST_CORNERS:,} are planned with"
            if _may_be_thinned(raw):
                what += f", and within {finest} it cannot be drawn with fewer"
            raw.table.fault("", f"{what}.", "Draw it with fewer.")
            kept.append(replace(raw, shape=shapely.Point()))
            continue
        shape, departs = lighter
        x, y = shapely.get_coordinates(raw.shape)[0]
        left = corners_of(shape)
        repairs.append(Repair("thinned", raw.where, (float(x), float(y)), count, left, departs))
        line = not isinstance(shape, Polygon)
        kept.append(replace(raw, shape=shape, departs_m=departs if line else 0.0))
    return kept, repairs


def _may_be_thinned(raw: RawFeature) -> bool:
    """Whether it is known which side of a shape is the safe one: of water that is two."""
    if raw.kind in (PARCEL, DEPTH_CONTOUR):
        return True
    return raw.kind in kinds() and raw.kind != "pond" and not kinds()[raw.kind].lent


def _tried(raw: RawFeature) -> Iterator[tuple[BaseGeometry, float]]:
    """Shapes with few enough corners, and how far they may depart [m]; the nearest first."""
    if not _may_be_thinned(raw):
        return
    for departs in DEPARTS_M:
        if not isinstance(raw.shape, Polygon):
            line = _thinned(raw.shape, departs)
            if corners_of(line) <= MOST_CORNERS:
                yield line, departs
            continue
        thin = _thinned(raw.shape, departs / PARTS)
        if corners_of(thin) > 2 * MOST_CORNERS:
            continue
        inward = raw.kind in (PARCEL, DEPTH_CONTOUR)
        for more in MORE:
            shape = _moved(thin, more * departs / PARTS, inward=inward)
            inner, outer = (shape, raw.shape) if inward else (raw.shape, shape)
            if not shape.is_empty and corners_of(shape) <= MOST_CORNERS and outer.covers(inner):
                yield shape, departs * more


def _thinned(shape: BaseGeometry, by_m: float) -> BaseGeometry:
    """A shape with fewer corners, none of those left out farther than that from it."""
    # to keep outlines from crossing themselves takes up to a hundred times as long
    quick = shapely.simplify(shape, by_m, preserve_topology=False)
    same = quick.is_valid and quick.geom_type == shape.geom_type and not quick.is_empty
    return quick if same else shapely.simplify(shape, by_m)


def _moved(shape: BaseGeometry, by_m: float, *, inward: bool) -> Polygon:
    """The largest part of an area whose outline moved inwards or outwards."""
    moved = shapely.buffer(
        shape, -by_m if inward else by_m, join_style="mitre", mitre_limit=SHARPEST
    )
    parts = [part for part in shapely.get_parts(moved) if isinstance(part, Polygon)]
    return max(parts, key=lambda part: part.area, default=Polygon())
