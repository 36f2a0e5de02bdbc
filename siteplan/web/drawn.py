"""What the sheet draws, for the page to draw: lines, areas, hatches, symbols, and their styles."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any, Final

from shapely.geometry.base import BaseGeometry

from siteplan.geometry.boundary import courses
from siteplan.layout.model import Layout
from siteplan.sheet.model import Hatch, Polygon, Polyline, Primitive, Symbol, View
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.plan_view.exchanger import draw_layout
from siteplan.sheet.plan_view.features import draw_feature, feature_text
from siteplan.sheet.plan_view.parcel import draw_parcel
from siteplan.sheet.style.styles import linetypes, styles, treatment
from siteplan.sheet.style.symbols import symbol_shapes
from siteplan.site.model import Entry, Feature
from siteplan.units.model import UnitSystem
from siteplan.vocabulary.kinds import kinds
from siteplan.web.fields import said_of

Json = dict[str, Any]
DECIMALS: Final = 3
"""Of a place on the lot: a millimetre."""
WIDE_MM: Final = 400.0


def look_of_the_sheet() -> Json:
    """Styles, linetypes and symbols of the sheet, for the page to draw with."""
    return {
        "styles": {
            name: [style.color, style.weight, list(linetypes()[style.linetype])]
            for name, style in styles().items()
        },
        "symbols": {
            name: {
                "strokes": [_points(ring) for ring in shape.strokes()],
                "fills": [_points(ring) for ring in shape.fills()],
            }
            for name, shape in symbol_shapes().items()
        },
    }


@cache
def palette() -> list[Json]:
    """Every kind of thing the trade draws, with the shapes it may have and how it looks."""
    return [
        {
            "kind": kind.name,
            "also": list(kind.also[:4]),
            "shapes": [KEYS[shape] for shape in kind.shapes],
            "group": kind.group,
            "uses": list(kind.uses),
            "says": said_of(kind.name),
            "line": treatment(kind).line,
        }
        for kind in kinds().values()
    ]


KEYS: Final = {"point": "at", "line": "line", "polygon": "area"}


def canvas_over(shapes: Iterable[BaseGeometry], unit: UnitSystem) -> Canvas:
    """A canvas that shows all of some shapes."""
    bounds = [shape.bounds for shape in shapes if not shape.is_empty]
    west = min((each[0] for each in bounds), default=0.0)
    south = min((each[1] for each in bounds), default=0.0)
    east = max((each[2] for each in bounds), default=60.0)
    north = max((each[3] for each in bounds), default=60.0)
    size = max(east - west, north - south, 1.0) * 2.0
    view = View(
        ratio=size * 1000.0 / WIDE_MM, label="", left_mm=0.0, bottom_mm=0.0, width_mm=WIDE_MM,
        height_mm=WIDE_MM, center=((west + east) / 2, (south + north) / 2),
    )  # fmt: skip
    return Canvas(view, unit)


def feature_drawn(canvas: Canvas, feature: Feature) -> Json:
    """Primitives and name of a feature."""
    canvas.primitives = []
    draw_feature(canvas, feature, canvas.unit)
    return {"drawn": told(canvas.primitives), "text": feature_text(feature, canvas.unit)}


def parcel_drawn(canvas: Canvas, parcel: Any) -> list[Json]:
    """The property line with its corners."""
    canvas.primitives = []
    draw_parcel(canvas, parcel, tuple(courses(parcel)))
    return told(canvas.primitives)


def layout_drawn(canvas: Canvas, layout: Layout, entries: tuple[Entry, ...]) -> list[Json]:
    """Header, elements and entries of a layout."""
    canvas.primitives = []
    draw_layout(canvas, layout, entries, ())
    return told(canvas.primitives)


def told(primitives: Iterable[Primitive]) -> list[Json]:
    """Primitives as values for the page; text stands elsewhere."""
    found = []
    for item in primitives:
        values: Mapping[str, Any] | None = None
        if isinstance(item, Polyline):
            values = {"line": _points(item.path)}
        elif isinstance(item, Polygon):
            values = {"area": [_points(ring) for ring in item.rings]}
        elif isinstance(item, Hatch):
            rings = [_points(ring) for ring in item.rings]
            values = {"hatch": rings, "gap": item.gap_mm, "angle": item.angle_deg}
        elif isinstance(item, Symbol):
            values = {"symbol": item.name, "at": _pair(item.at), "size": item.size_mm,
                      "angle": item.angle_deg}  # fmt: skip
        if values is not None:
            found.append({**values, "style": item.style})
    return found


def shape_told(shape: BaseGeometry) -> list[list[list[float]]]:
    """Rings of an area or points of a line."""
    rings: list[list[list[float]]] = []
    for part in getattr(shape, "geoms", [shape]):
        if part.is_empty:
            continue
        if part.geom_type == "Polygon":
            rings += [_points(ring.coords) for ring in (part.exterior, *part.interiors)]
        elif part.geom_type in ("LineString", "LinearRing", "Point"):
            rings.append(_points(part.coords))
        else:
            rings += shape_told(part)
    return rings


def _points(points: Iterable[Any]) -> list[list[float]]:
    return [_pair(point) for point in points]


def _pair(point: Any) -> list[float]:
    return [round(float(point[0]), DECIMALS), round(float(point[1]), DECIMALS)]
