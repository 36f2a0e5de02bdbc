"""A part of the plan as it is plotted: what its window shows, moved from the model onto paper."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import shapely
from shapely import LineString, get_parts
from shapely.geometry.base import BaseGeometry

from siteplan.sheet.model import (
    Dimension,
    Hatch,
    Polygon,
    Polyline,
    Primitive,
    Ring,
    Sheet,
    Symbol,
    Text,
    View,
)
from siteplan.sheet.style.dimensions import dimension_ink
from siteplan.sheet.style.hatching import rings_of

ARROW_STYLE = "ink-fill"
"""Style of the arrowheads of a dimension, as of leaders."""


def plotted(sheet: Sheet) -> Sheet:
    """The sheet without a window: all of it on paper, at the scale and place where it is plotted.

    A drawing has one model at one size of text; what shows it at another scale is drawn on paper.
    """
    if sheet.view.width_mm <= 0.0:
        return sheet
    view = sheet.view
    window = shapely.box(
        view.left_mm, view.bottom_mm, view.left_mm + view.width_mm, view.bottom_mm + view.height_mm
    )
    primitives = tuple(
        moved
        for item in sheet.primitives
        for moved in ((item,) if item.space == "paper" else _on_paper(item, view, window))
    )
    flat = View(view.ratio, view.label, view.left_mm, view.bottom_mm, 0.0, 0.0, (0.0, 0.0))
    return replace(sheet, primitives=primitives, view=flat)


def _on_paper(item: Primitive, view: View, window: BaseGeometry) -> Iterator[Primitive]:
    """What of a primitive of the model lies in a window, on paper."""
    match item:
        case Polyline():
            yield from _lines(item, _mm(item.path, view), window)
        case Polygon() | Hatch():
            rings = _inside(tuple(_mm(ring, view) for ring in item.rings), window)
            flat = replace(item, rings=rings, space="paper")
            if isinstance(flat, Hatch):
                flat = replace(flat, angle_deg=flat.angle_deg + view.turn_deg)
            if rings:
                yield flat
        case Text():
            angle = item.angle_deg + view.turn_deg
            yield replace(item, at=_mm((item.at,), view)[0], space="paper", angle_deg=angle)
        case Symbol():
            at = _mm((item.at,), view)[0]
            if window.contains(shapely.Point(at)):
                yield replace(item, at=at, space="paper", angle_deg=item.angle_deg + view.turn_deg)
        case Dimension():
            yield from _dimension(item, view, window)


def _mm(points: Ring, view: View) -> Ring:
    return tuple((float(x), float(y)) for x, y in view.to_paper(points))


def _lines(item: Polyline, points: Ring, window: BaseGeometry) -> Iterator[Polyline]:
    seen = LineString(points).intersection(window)
    if seen.geom_type == "MultiLineString":
        seen = shapely.line_merge(seen)
    for part in get_parts(seen):
        if isinstance(part, LineString) and part.length > 0.0:
            path = tuple((float(x), float(y)) for x, y in part.coords)
            yield replace(item, points=path, space="paper", closed=False, bulges=())


def _inside(rings: tuple[Ring, ...], window: BaseGeometry) -> tuple[Ring, ...]:
    """Rings of what lies in a window of an area between rings (even-odd)."""
    area: BaseGeometry = shapely.Polygon()
    for ring in rings:
        area = area.symmetric_difference(shapely.Polygon(ring).buffer(0))
    return rings_of(area.intersection(window))


def _dimension(item: Dimension, view: View, window: BaseGeometry) -> Iterator[Primitive]:
    """A dimension as lines, arrowheads and text."""
    ink = dimension_ink(item, view)
    for line in (ink.line, *ink.extensions):
        whole = Polyline(line, item.style, item.layer)
        yield from _lines(whole, _mm(line, view), window)
    for arrow in ink.arrows:
        yield Polygon((_mm(arrow, view),), ARROW_STYLE, item.layer, "paper")
    yield Text(
        item.text, _mm((item.text_at,), view)[0], item.height_mm, item.text_style, item.layer,
        "paper", item.text_angle_deg + view.turn_deg, "center",
    )  # fmt: skip
