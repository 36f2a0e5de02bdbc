"""A look at the finished sheet: text too small, over other text, or outside its frame."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

import numpy as np
import shapely
from shapely import LineString, Point, Polygon, STRtree

from siteplan.sheet.marks import LABEL
from siteplan.sheet.model import XY, Dimension, Polyline, Sheet, Symbol, Text, View
from siteplan.sheet.model import Polygon as Fill
from siteplan.sheet.style.dimensions import dimension_ink
from siteplan.sheet.style.styles import styles
from siteplan.sheet.style.text import LEAST_HEIGHT_MM, text_depth, text_width
from siteplan.sheet.tables.comparison import COMPARISON

PlotCode = Literal[
    "text too small",
    "text on text",
    "text outside frame",
    "text on symbol",
    "line through text",
    "ink through text",
    "line wiped",
    "label over property line or building edge",
    "label without place",
    "leader on leader",
    "leaders side by side",
    "label nearer to another symbol",
    "leader nearer to another symbol",
]
NEVER_WIPED = ("property", "trench", "building", "road", "water", "easement")
NEVER_COVERED = ("property", "building")
INSIDE_MM = 0.15
"""A line no further inside the box of a text leaves it readable [mm]."""
LED_MM = 2.5
"""A leader that begins so near to a text is its own [mm]."""
ALONG_MM, ALONG_LENGTH_MM = 2.0, 5.0
"""Leaders nearer than that to each other over more than such a length read as one line [mm]."""
POINTS = ("bore", "coil", "well")
"""Kinds of element that are drawn as a symbol in one place."""
TOUCH_MM2 = 0.05
"""Overlap of two boxes that is no more than rounding [mm2]."""


@dataclass(frozen=True, slots=True)
class PlotFault:
    """Something that cannot be read on the plotted sheet, and where it lies on paper [mm]."""

    code: PlotCode
    text: str
    x_mm: float
    y_mm: float
    other: str = ""


def plot_faults(sheet: Sheet) -> tuple[PlotFault, ...]:
    """Text under the minimum height, over other ink, outside its frame, or without a place."""
    texts = sheet_texts(sheet)
    boxes = [text_box(text, sheet) for text in texts]
    return (
        *_too_small(texts, boxes),
        *_outside(sheet, texts, boxes),
        *_overlapping(texts, boxes),
        *_on_symbols(sheet, texts, boxes),
        *_struck(sheet, texts, boxes),
        *_inked(sheet, texts, boxes),
        *_wiped(sheet),
        *_over_edges(sheet, texts, boxes),
        *_leaders_met(sheet),
        *_leaders_along(sheet),
        *_astray(sheet),
        *(PlotFault("label without place", text, 0.0, 0.0) for text in sheet.unplaced),
    )


def sheet_texts(sheet: Sheet) -> tuple[Text, ...]:
    """Every text on the sheet, those of dimensions included."""
    dimensions = (
        Text(
            item.text, item.text_at, item.height_mm, item.text_style, item.layer,
            angle_deg=item.text_angle_deg, anchor="center",
        )
        for item in sheet.of_type(Dimension)
    )  # fmt: skip
    return (*sheet.of_type(Text), *dimensions)


def text_box(text: Text, sheet: Sheet) -> Polygon:
    """Tight box of a text on paper [mm], from its descenders to the top of its capitals."""
    at = sheet.view.to_paper([text.at])[0] if text.space == "model" else np.asarray(text.at)
    width = text_width(text.text, text.height_mm, bold=text.bold)
    left = {"left": 0.0, "center": -width / 2, "right": -width}[text.anchor]
    low, high = -text_depth(text.text) * text.height_mm, text.height_mm
    turn_deg = sheet.view.turn_deg if text.space == "model" else 0.0
    angle = math.radians(text.angle_deg + turn_deg)
    turn = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])
    corners = np.array([[left, low], [left + width, low], [left + width, high], [left, high]])
    return Polygon(corners @ turn + at)


def _fault(code: PlotCode, text: Text, box: Polygon, other: str = "") -> PlotFault:
    center = box.centroid
    return PlotFault(code, text.text, round(center.x, 1), round(center.y, 1), other)


def _too_small(texts: tuple[Text, ...], boxes: list[Polygon]) -> list[PlotFault]:
    return [
        _fault("text too small", text, box)
        for text, box in zip(texts, boxes, strict=True)
        if text.height_mm < LEAST_HEIGHT_MM
    ]


def _beside(text: Text) -> bool:
    """Whether a text belongs to the one block that may stand in a free corner of the window."""
    return text.mark is not None and text.mark.block == COMPARISON


def _outside(sheet: Sheet, texts: tuple[Text, ...], boxes: list[Polygon]) -> list[PlotFault]:
    """Text of the plan must lie in the window, text on paper beside it in the frame."""
    paper, view = sheet.paper, sheet.view
    margin = paper.margin_mm
    frame = shapely.box(margin, margin, paper.width_mm - margin, paper.height_mm - margin)
    window = shapely.box(
        view.left_mm, view.bottom_mm, view.left_mm + view.width_mm, view.bottom_mm + view.height_mm
    )
    strip = frame.difference(window) if view.width_mm > 0.0 else frame
    return [
        _fault("text outside frame", text, box)
        for text, box in zip(texts, boxes, strict=True)
        if not (window if text.space == "model" else frame if _beside(text) else strip).contains(
            box
        )
    ]


def _overlapping(texts: tuple[Text, ...], boxes: list[Polygon]) -> list[PlotFault]:
    tree = STRtree(boxes)
    pairs = zip(*tree.query(boxes, predicate="intersects"), strict=True)
    return [
        _fault("text on text", texts[pair], boxes[pair], texts[other].text)
        for pair, other in pairs
        if pair < other and boxes[pair].intersection(boxes[other]).area > TOUCH_MM2
    ]


def _on_symbols(sheet: Sheet, texts: tuple[Text, ...], boxes: list[Polygon]) -> list[PlotFault]:
    view = sheet.view
    window = shapely.box(
        view.left_mm, view.bottom_mm, view.left_mm + view.width_mm, view.bottom_mm + view.height_mm
    )
    # what lies beyond the window is cut off there
    symbols = [
        item
        for item in sheet.of_type(Symbol)
        if item.space == "model" and window.intersects(Point(view.to_paper([item.at])[0]))
    ]
    if not symbols:
        return []
    centers = shapely.points(sheet.view.to_paper([item.at for item in symbols]))
    disks = shapely.buffer(centers, [item.size_mm * 0.9 for item in symbols])
    pairs = zip(*STRtree(boxes).query(disks, predicate="intersects"), strict=True)
    return [
        _fault("text on symbol", texts[text], boxes[text], symbols[symbol].name)
        for symbol, text in pairs
        if boxes[text].intersection(disks[symbol]).area > TOUCH_MM2
    ]


def _struck(sheet: Sheet, texts: tuple[Text, ...], boxes: list[Polygon]) -> list[PlotFault]:
    """Text of the strip that a rule runs through."""
    rules = [LineString(_closed(item)) for item in sheet.of_type(Polyline) if item.space == "paper"]
    papers = [(text, box) for text, box in zip(texts, boxes, strict=True) if text.space == "paper"]
    pairs = zip(*STRtree(rules).query([box for _, box in papers], "intersects"), strict=True)
    lined = {text for text, _ in pairs}
    letters = ("LEGN",)
    return [
        _fault("line through text", *papers[text])
        for text in sorted(lined)
        if not papers[text][0].layer.endswith(letters)
    ]


def _inked(sheet: Sheet, texts: tuple[Text, ...], boxes: list[Polygon]) -> list[PlotFault]:
    """Text of the plan that a line runs through which no mask under the text wipes."""
    stages = styles()
    lines: list[tuple[LineString, int]] = [
        (LineString(sheet.view.to_paper(_closed(item))), stages[item.style].stage)
        for item in sheet.of_type(Polyline)
        if item.space == "model"
    ]
    lines += [
        (LineString(sheet.view.to_paper(line)), stages[item.style].stage)
        for item in sheet.of_type(Dimension)
        for line in _dimension_lines(item, sheet.view)
    ]
    masks = [
        (Polygon(sheet.view.to_paper(item.rings[0])), stages[item.style].stage)
        for item in sheet.of_type(Fill)
        if item.space == "model" and "mask" in item.style
    ]
    plan = [(text, box) for text, box in zip(texts, boxes, strict=True) if text.space == "model"]
    if not plan or not lines:
        return []
    covers = STRtree([mask for mask, _ in masks])
    struck = set()
    tight = [box.buffer(-INSIDE_MM) for _, box in plan]
    for text, line in zip(
        *STRtree([line for line, _ in lines]).query(tight, "intersects"), strict=True
    ):
        path, stage = lines[line]
        crossing = path.intersection(tight[text])
        over = [masks[k] for k in covers.query(crossing, "intersects")] if masks else []
        left = crossing.difference(
            shapely.union_all([mask for mask, level in over if level > stage])
        )
        if left.length > INSIDE_MM:
            struck.add(text)
    return [_fault("ink through text", *plan[text]) for text in sorted(struck)]


def _dimension_lines(item: Dimension, view: View) -> tuple[tuple[XY, XY], ...]:
    ink = dimension_ink(item, view)
    return (ink.line, *ink.extensions)


def _wiped(sheet: Sheet) -> list[PlotFault]:
    """Lines that a mask interrupts though they must be seen whole."""
    lines = [
        LineString(sheet.view.to_paper(_closed(item)))
        for item in sheet.of_type(Polyline)
        if item.space == "model" and item.style in NEVER_WIPED
    ]
    masks = [
        Polygon(sheet.view.to_paper(item.rings[0]))
        for item in sheet.of_type(Fill)
        if item.space == "model" and "mask" in item.style
    ]
    if not masks:
        return []
    pairs = zip(*STRtree(lines).query(masks, "intersects"), strict=True)
    where = [masks[mask].centroid for mask, _ in pairs]
    return [PlotFault("line wiped", "", round(at.x, 1), round(at.y, 1)) for at in where]


def _over_edges(sheet: Sheet, texts: tuple[Text, ...], boxes: list[Polygon]) -> list[PlotFault]:
    """Text of the plan that lies on a property line or on the edge of a building."""
    lines = [
        LineString(sheet.view.to_paper(_closed(item)))
        for item in sheet.of_type(Polyline)
        if item.space == "model" and item.style in NEVER_COVERED
    ]
    plan = [(text, box) for text, box in zip(texts, boxes, strict=True) if text.space == "model"]
    if not plan:
        return []
    pairs = zip(*STRtree(lines).query([box for _, box in plan], "intersects"), strict=True)
    return [
        _fault("label over property line or building edge", *plan[text])
        for text in sorted({text for text, _ in pairs})
    ]


def leaders(sheet: Sheet) -> list[LineString]:
    """Every leader of the plan on paper [mm]."""
    return [
        LineString(sheet.view.to_paper(item.points))
        for item in sheet.of_type(Polyline)
        if item.space == "model" and item.style == "leader"
    ]


def _leaders_met(sheet: Sheet) -> list[PlotFault]:
    """Leaders that meet or cross: which text belongs to which symbol can then be read wrongly."""
    paths = leaders(sheet)
    meeting = [path.intersection(other) for path, other in combinations(paths, 2)]
    places = [shape.centroid for shape in meeting if not shape.is_empty]
    return [PlotFault("leader on leader", "", round(at.x, 1), round(at.y, 1)) for at in places]


def _leaders_along(sheet: Sheet) -> list[PlotFault]:
    """Leaders that run along each other so near that they read as one line."""
    paths = leaders(sheet)
    if not paths:
        return []
    tree = STRtree(paths)
    pairs = zip(*tree.query(paths, predicate="dwithin", distance=ALONG_MM), strict=True)
    along = [
        (paths[one].intersection(paths[other].buffer(ALONG_MM, cap_style="flat")), one, other)
        for one, other in pairs
        if one != other
    ]
    long = {(one, other): shape for shape, one, other in along if shape.length > ALONG_LENGTH_MM}
    return [
        PlotFault(
            "leaders side by side", "", round(shape.centroid.x, 1), round(shape.centroid.y, 1)
        )
        for (one, other), shape in long.items()
        if one < other and (other, one) in long
    ]


def _astray(sheet: Sheet) -> list[PlotFault]:
    """Names of elements without a leader that stand nearer to the symbol of another element."""
    symbols = {
        value: Point(sheet.view.to_paper([item.at])[0])
        for item in sheet.of_type(Symbol)
        for tag, value in item.attributes
        if tag == "ELEMENT" and item.space == "model" and item.size_mm > 0.0
    }
    disks = {
        value: Point(sheet.view.to_paper([item.at])[0]).buffer(item.size_mm)
        for item in sheet.of_type(Symbol)
        for tag, value in item.attributes
        if tag == "ELEMENT" and item.space == "model" and item.size_mm > 0.0
    }
    led = _led(sheet)
    faults = []
    labels: dict[str, list[Polygon]] = {}
    for text in sheet.of_type(Text):
        if text.mark is not None and text.mark.block == LABEL:
            labels.setdefault(text.mark.row, []).append(text_box(text, sheet))
    for text in sheet.of_type(Text):
        known = text.mark is not None and text.mark.block == LABEL and text.mark.row in symbols
        if not known or text.mark is None or text.mark.column not in POINTS:
            continue
        box = text_box(text, sheet)
        if text.mark.row in led:
            if not _points_at(led[text.mark.row], text.mark.row, disks):
                faults.append(_fault("leader nearer to another symbol", text, box))
            continue
        own = box.distance(symbols[text.mark.row])
        others = (box.distance(at) for name, at in symbols.items() if name != text.mark.row)
        if min(others, default=math.inf) < own:
            faults.append(_fault("label nearer to another symbol", text, box))
    return faults


def _led(sheet: Sheet) -> dict[str, LineString]:
    """Leader by the row of the label that it leaves: of all texts of the plan the nearest."""
    texts = [text for text in sheet_texts(sheet) if text.space == "model"]
    tree = STRtree([text_box(text, sheet) for text in texts])
    found: dict[str, LineString] = {}
    for path in leaders(sheet):
        start = Point(path.coords[0])
        for near in tree.query_nearest(start, max_distance=LED_MM):
            mark = texts[near].mark
            if mark is not None and mark.block == LABEL:
                found[mark.row] = path
    return found


def _points_at(path: LineString, name: str, disks: dict[str, Polygon]) -> bool:
    """Whether the tip of a leader is nearer to the edge of one symbol than to that of another."""
    tip = Point(path.coords[-1])
    others = (disk.distance(tip) for other, disk in disks.items() if other != name)
    return disks[name].distance(tip) < min(others, default=math.inf)


def _closed(item: Polyline) -> tuple[XY, ...]:
    return (*item.points, item.points[0]) if item.closed else item.points
