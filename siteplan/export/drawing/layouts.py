"""Paper space: the paper of each sheet, its window on the model, and how far what is drawn goes."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cache
from typing import Final

import numpy as np
from ezdxf.document import Drawing
from ezdxf.layouts.layout import Paperspace

from siteplan.export.drawing.scales import Scale, scale_of
from siteplan.sheet.model import (
    XY,
    Dimension,
    Hatch,
    Polygon,
    Polyline,
    Primitive,
    Sheet,
    Symbol,
    Text,
)
from siteplan.sheet.style.dimensions import dimension_ink
from siteplan.sheet.style.styles import layer
from siteplan.sheet.style.symbols import symbol_shapes
from siteplan.sheet.style.text import DESCENT, text_width
from siteplan.units.lengths import to_unit

FIRST: Final = "Layout1"
"""Layout that a new drawing has."""
PLAN: Final = "PLAN"
"""Layout of the plan sheet; those of the others are called by their numbers, L1A, L2 and so on."""
LOCKED: Final = 16384
"""Bit of a viewport that keeps its scale."""


def add_layout(doc: Drawing, sheet: Sheet, name: str) -> None:
    """Set up paper space: the paper, and where the sheet shows the plan one viewport to scale."""
    scale, view = scale_of(sheet), sheet.view
    if name == PLAN:
        doc.layouts.rename(FIRST, name)
    else:
        doc.layouts.new(name)
    layout = set_paper(doc, sheet, name)
    if view.width_mm <= 0.0:
        return
    viewport = layout.add_viewport(
        center=scale.point(view.middle, "paper"),
        size=scale.point((view.width_mm, view.height_mm), "paper"),
        view_center_point=tuple(to_unit(value, sheet.unit) for value in view.turned_center),
        view_height=scale.size(view.height_mm, "model"),
        dxfattribs={"layer": layer("viewport")},
    )
    viewport.dxf.view_twist_angle = view.turn_deg
    viewport.dxf.flags = viewport.dxf.flags | LOCKED


def set_paper(doc: Drawing, sheet: Sheet, name: str) -> Paperspace:
    """Give a layout the paper of a sheet, without margins, from its lower left corner."""
    layout = doc.layout(name)
    assert isinstance(layout, Paperspace)
    size = scale_of(sheet).point((sheet.paper.width_mm, sheet.paper.height_mm), "paper")
    layout.page_setup(size=size, margins=(0, 0, 0, 0), units=sheet.unit.drawing.paper_unit)
    layout.reset_limits((0.0, 0.0), size)
    layout.reset_extents((0.0, 0.0, 0.0), (*size, 0.0))
    layout.reset_main_viewport().dxf.layer = layer("viewport")
    return layout


def set_paper_of_model(doc: Drawing, sheet: Sheet) -> None:
    """State the paper of a drawing without sheets in the unit of its model.

    LibreCAD takes the limits of paper space for the paper that it prints the model on, in the
    drawing's unit: inches would be feet, and all dashes and weights so much too fine.
    """
    paper, unit = sheet.paper, sheet.unit
    size = (to_unit(paper.width_mm / 1000.0, unit), to_unit(paper.height_mm / 1000.0, unit))
    set_paper(doc, sheet, FIRST).reset_limits((0.0, 0.0), size)


def set_extents(doc: Drawing, sheet: Sheet) -> None:
    """Say how far the model goes, so that a program opens the drawing on it."""
    scale = scale_of(sheet)
    items = (item for item in sheet.primitives if item.space == "model")
    points = np.array([at for item in items for at in _corners(item, sheet, scale)])
    if not len(points):
        return
    low_x, low_y = map(float, points.min(axis=0))
    high_x, high_y = map(float, points.max(axis=0))
    # the header follows when the file is written
    model = doc.modelspace()
    model.reset_extents((low_x, low_y, 0.0), (high_x, high_y, 0.0))
    model.reset_limits((low_x, low_y), (high_x, high_y))


def _corners(item: Primitive, sheet: Sheet, scale: Scale) -> Iterator[XY]:
    """Places between which a primitive of the model lies, in units of the drawing."""
    match item:
        case Polyline():
            yield from scale.points(item.path, "model")
        case Polygon() | Hatch():
            for ring in item.rings:
                yield from scale.points(ring, "model")
        case Symbol():
            (x, y), size = scale.point(item.at, "model"), scale.size(item.size_mm, "model")
            reach = size * symbol_reach(item.name)
            yield from ((x - reach, y - reach), (x + reach, y + reach))
        case Dimension():
            ink = dimension_ink(item, sheet.view)
            for line in (ink.line, *ink.extensions):
                yield from scale.points(line, "model")
            yield from _text_box(text_of(item), scale)
        case Text():
            yield from _text_box(item, scale)


def _text_box(item: Text, scale: Scale) -> Iterator[XY]:
    """Corners of what a line of text takes."""
    x, y = scale.point(item.at, "model")
    height = scale.size(item.height_mm, "model")
    width = height / item.height_mm * text_width(item.text, item.height_mm, bold=item.bold)
    left = -width * {"left": 0.0, "center": 0.5, "right": 1.0}[item.anchor]
    angle = math.radians(item.angle_deg)
    cosine, sine = math.cos(angle), math.sin(angle)
    for along in (left, left + width):
        for up in (-DESCENT * height, height):
            yield x + along * cosine - up * sine, y + along * sine + up * cosine


def text_of(item: Dimension) -> Text:
    """The text of a dimension."""
    return Text(
        item.text, item.text_at, item.height_mm, item.text_style, item.layer,
        angle_deg=item.text_angle_deg, anchor="center",
    )  # fmt: skip


@cache
def symbol_reach(name: str) -> float:
    """How far a symbol goes from its middle, in its own unit."""
    shape = symbol_shapes()[name]
    rings = (*shape.strokes(), *shape.fills())
    return max(abs(value) for ring in rings for at in ring for value in at)
