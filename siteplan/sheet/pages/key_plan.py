"""Key plan: parcel, streets and the parts of the plan, small and without a stated scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import shapely
from shapely import LineString, Polygon, get_parts
from shapely.geometry.base import BaseGeometry

from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.content.place import (
    distance_words,
    field_words,
    search_sentence,
    street_words,
)
from siteplan.sheet.model import XY, Polyline, Primitive, Text
from siteplan.sheet.model import Polygon as Fill
from siteplan.sheet.place.blocks import STRONG, Block, Flow
from siteplan.sheet.place.table import BODY_MM
from siteplan.sheet.plan_view.adjoining import lines_of_adjoining
from siteplan.sheet.style.hatching import rings_of
from siteplan.sheet.style.paper import enlargement, scale_label, scale_ratios
from siteplan.sheet.style.styles import layer
from siteplan.sheet.style.text import text_width

TALL_MM: Final = 46.0
"""Greatest height of a key plan [mm]."""
SMALL_MM: Final = 34.0
"""Greatest height of a location sketch [mm]."""
LOCATION: Final = "location"
ARROW_ROOM_MM: Final = 12.0
"""Room of the north arrow beside it [mm]."""
NEIGHBOURS: Final = 0.3
"""Ground shown around the parcel in a location sketch, in parts of its size."""
Bounds = tuple[float, float, float, float]
AROUND: Final = 0.08
"""Ground shown around the parcel, in parts of its size."""
SEEN_MM: Final = 3.0
"""A part that is smaller than this in both directions is not seen in the sketch [mm]."""
NEAR: Final = 0.4
"""Ground shown around the parts where they are small on the parcel, in parts of their size."""


@dataclass(frozen=True, slots=True)
class _Sketch:
    """Ground shown, and where its upper left corner lies in the block."""

    bounds: tuple[float, float, float, float]
    scale: float
    left: float
    top: float

    def mm(self, x: float, y: float) -> XY:
        west, _, _, north = self.bounds
        return self.left + (x - west) * self.scale, self.top + (y - north) * self.scale


def key_block(
    content: PlanContent, width: float, cells: Sequence[Polygon] = (), *,
    names: Sequence[str] = (), here: int | None = None, tall_mm: float = TALL_MM,
) -> Block:  # fmt: skip
    """Sketch of parcel and streets with the parts of the plan, the one at hand shaded.

    ``tall_mm``: its greatest height [mm].
    """
    flow = Flow(width, "key-plan")
    flow.heading("KEY PLAN, NOT TO SCALE")
    parcel = content.site.parcel
    bounds = _around(parcel, AROUND)
    sketch = _sketch(flow, bounds, tall_mm)
    spots = _spots(sketch, cells, names)
    # on a large lot the parts may be too small to be named: then their surroundings will do
    if spots is None:
        sketch = _sketch(flow, _around(shapely.union_all(cells), NEAR), tall_mm)
        spots = _spots(sketch, cells, names, anyhow=True) or []
    boxes = [_name_box(sketch, at, name) for at, name in zip(spots, names, strict=True)]
    frame = shapely.box(*sketch.bounds).difference(shapely.union_all(boxes))
    if here is not None:
        _fill(flow, sketch, cells[here])
    for street in content.site.of_kind("street"):
        _lines(flow, sketch, _edge(street.shape).intersection(frame), "road")
    for feature in content.site.of_kind("building"):
        _lines(flow, sketch, _edge(feature.shape).intersection(frame), "hair")
    _lines(flow, sketch, parcel.exterior.intersection(frame), "rule")
    for cell, name, at in zip(cells, names, spots, strict=True):
        _lines(flow, sketch, cell.exterior, "match-line")
        x, y = sketch.mm(*at)
        flow.depth = BODY_MM / 2 - y
        flow.text(name, x, STRONG, anchor="center")
    flow.depth = -sketch.top + (_height(sketch.bounds) * sketch.scale) + 1.0
    # a street beyond the sketch is not told of
    streets_named = _streets_named(content, sketch.bounds)
    shaded = "Shaded: this sheet. " if here is not None else ""
    flow.paragraph(f"{streets_named}{shaded}Drawn from the record given; north is up.")
    return flow.block()


def location_block(content: PlanContent, width: float, tall_mm: float = SMALL_MM) -> Block:
    """The lot among its streets and neighbours, to a small scale no taller, and where it lies."""
    site = content.site
    flow = Flow(width, LOCATION)
    flow.heading("LOCATION")
    bounds = _around(site.parcel, NEIGHBOURS)
    ratio = _small_scale(content, bounds, (width - ARROW_ROOM_MM, tall_mm))
    drawn_mm = 1000.0 / (ratio * enlargement(site.sheet.size))
    left = (width - ARROW_ROOM_MM - (bounds[2] - bounds[0]) * drawn_mm) / 2
    sketch = _Sketch(bounds, drawn_mm, left, -flow.depth - 1.0)
    _draw_around(flow, sketch, content)
    top = flow.depth
    flow.depth = top + 4.0
    flow.text("N", width - ARROW_ROOM_MM / 2, STRONG, anchor="center")
    flow.symbol("north", (width - ARROW_ROOM_MM / 2, top + 9.6), 3.2, "arrow")
    flow.depth = top + 13.0
    flow.depth = max(flow.depth, top + _height(bounds) * drawn_mm) + 1.0
    flow.paragraph(f"{_streets_named(content, bounds)}Scale {scale_label(ratio, site.unit)}.")
    told = (field_words(content), distance_words(site), street_words(site), search_sentence(site))
    for number, words in enumerate(told):
        if words:
            flow.paragraph(words, name=f"place-{number}")
    return flow.block()


def shows_location(primitives: Sequence[Primitive]) -> bool:
    """Whether a sheet shows where the lot lies."""
    return any(
        isinstance(item, Text) and item.mark is not None and item.mark.block == LOCATION
        for item in primitives
    )


def _draw_around(flow: Flow, sketch: _Sketch, content: PlanContent) -> None:
    """Draw parcel, streets, buildings and the loop field, as far as the sketch shows them."""
    frame = shapely.box(*sketch.bounds)
    if content.layout is not None and content.layout.elements:
        built = shapely.union_all([element.footprint for element in content.layout.elements])
        _fill(flow, sketch, built.convex_hull)
    for kind, style in (("street", "road"), ("building", "hair")):
        for feature in content.site.of_kind(kind):
            wide = feature.width_m / 2 if feature.shape.area == 0.0 else 0.0
            shape = feature.shape.buffer(wide, cap_style="flat") if wide else feature.shape
            _lines(flow, sketch, _edge(shape).intersection(frame), style)
    for line in lines_of_adjoining(content.site):
        _lines(flow, sketch, line.intersection(frame), "adjoining")
    _lines(flow, sketch, content.site.parcel.exterior, "rule")


def _small_scale(content: PlanContent, bounds: Bounds, room_mm: XY) -> int:
    """Largest scale of plans at which the ground fits into the sketch."""
    factor = enlargement(content.site.sheet.size)
    for ratio in sorted(scale_ratios(content.site.unit)):
        wide = (bounds[2] - bounds[0]) * 1000.0 / (ratio * factor)
        if wide <= room_mm[0] and _height(bounds) * 1000.0 / (ratio * factor) <= room_mm[1]:
            break
    return ratio


def _streets_named(content: PlanContent, bounds: Bounds) -> str:
    """Names of the streets that a sketch shows."""
    ground = shapely.box(*bounds)
    streets = [way for way in content.site.of_kind("street") if way.shape.intersects(ground)]
    labels = dict.fromkeys((street.label or "street").upper() for street in streets)
    return f"Street: {', '.join(labels)}. " if labels else ""


def _height(bounds: tuple[float, float, float, float]) -> float:
    """Height of bounds [m]."""
    return bounds[3] - bounds[1]


def _around(shape: BaseGeometry, share: float) -> Bounds:
    """Bounds of a shape with ground around it [m]."""
    west, south, east, north = shape.bounds
    more = share * max(east - west, north - south)
    return west - more, south - more, east + more, north + more


def _sketch(flow: Flow, bounds: Bounds, tall_mm: float) -> _Sketch:
    west, south, east, north = bounds
    scale = min(flow.width / (east - west), tall_mm / (north - south))
    return _Sketch(bounds, scale, (flow.width - (east - west) * scale) / 2, -flow.depth - 1.0)


def _have_room(sketch: _Sketch, cells: Sequence[Polygon], names: Sequence[str]) -> bool:
    """Whether every name stands in its cell."""
    return all(
        cell.contains(_name_box(sketch, _middle(cell), name))
        for cell, name in zip(cells, names, strict=True)
    )


def _middle(cell: Polygon) -> XY:
    return float(cell.centroid.x), float(cell.centroid.y)


def _lines(flow: Flow, sketch: _Sketch, shape: BaseGeometry, style: str) -> None:
    where = layer("table")
    for part in get_parts(shape):
        if isinstance(part, LineString) and len(part.coords) > 1:
            points = tuple(sketch.mm(x, y) for x, y, *_ in part.coords)
            flow.items.append(Polyline(points, style, where, "paper"))


def _edge(shape: BaseGeometry) -> BaseGeometry:
    """A line itself, or the edge of an area."""
    return shape.boundary if shape.area > 0.0 else shape


def _spots(
    sketch: _Sketch, cells: Sequence[Polygon], names: Sequence[str], *, anyhow: bool = False
) -> list[XY] | None:
    """Middles of the names of parts: in their cells, or beside narrow ones, off all others [m].

    None where a part is too small to be seen, or a name has no room; ``anyhow``: never.
    """
    if _have_room(sketch, cells, names):
        return [_middle(cell) for cell in cells]
    least = min(max(_sides(cell)) for cell in cells) * sketch.scale
    spots: list[XY] = []
    taken = list(cells)
    for cell, name in zip(cells, names, strict=True):
        (x, y), (left, low, right, high) = _middle(cell), cell.bounds
        half = (text_width(name, BODY_MM, bold=True) / 2 + 1.0) / sketch.scale
        rise = (BODY_MM / 2 + 1.0) / sketch.scale
        beside = [(right + half, y), (left - half, y), (x, high + rise), (x, low - rise)]
        free = [
            at
            for at in beside
            if not any(_name_box(sketch, at, name).intersects(other) for other in taken)
        ]
        if not anyhow and (not free or least < SEEN_MM):
            return None
        spots.append((free or beside)[0])
        taken.append(_name_box(sketch, spots[-1], name))
    return spots


def _sides(cell: Polygon) -> XY:
    """How far a part reaches from west to east and from south to north [m]."""
    west, south, east, north = cell.bounds
    return east - west, north - south


def _name_box(sketch: _Sketch, at: XY, name: str) -> Polygon:
    """Ground that the name of a part takes: no line runs through it [m]."""
    wide = text_width(name, BODY_MM, bold=True) / 2 + 0.6
    half = BODY_MM / 2 + 0.6
    x, y = at
    size = wide / sketch.scale, half / sketch.scale
    return shapely.box(x - size[0], y - size[1], x + size[0], y + size[1])


def _fill(flow: Flow, sketch: _Sketch, area: BaseGeometry) -> None:
    for ring in rings_of(area)[:1]:
        points = tuple(sketch.mm(*point) for point in ring)
        flow.items.append(Fill((points,), "shade", layer("table"), "paper"))
