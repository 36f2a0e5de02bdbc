"""Outlines of the groups of circuits: which loops hang on which run-outs."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
import shapely
from shapely import LineString, Point, STRtree, get_parts
from shapely.geometry.base import BaseGeometry

from siteplan.layout.model import Layout
from siteplan.layout.piping_model import HeaderPiece
from siteplan.sheet.kept import kept
from siteplan.sheet.marks import LABEL, Mark
from siteplan.sheet.model import XY
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.label import Label
from siteplan.sheet.plan_view.features import beside_line
from siteplan.sheet.plan_view.header_pipes import courses
from siteplan.sheet.style.hatching import rings_of
from siteplan.sheet.style.styles import layer

INK, LEADER_INK = 6.0, 3.0
OTHER_NAME = 6.0
"""What a name of anything but what is built pays besides for crossing an outline."""
MOST = 28.0
"""A name in an outline that disturbs more than this is led away."""
CLOSED = 0.7
"""Half of the gaps between elements of one group that its outline leaves out, in spacings."""
REACH = 0.36
"""How far an outline stands off, in spacings: less than half, as groups lie side by side."""
NAME_MM = 2.6
SAME_M = 0.01


def draw_groups(canvas: Canvas, areas: Mapping[str, BaseGeometry]) -> None:
    """Draw the outline of each group that the window shows."""
    for area in areas.values():
        if canvas.window.intersects(area):
            canvas.outline(area, "group", layer("group"), ink=INK, leader=LEADER_INK)


def keep_names_off_groups(canvas: Canvas, areas: Mapping[str, BaseGeometry]) -> None:
    """Let further names pay more for crossing an outline."""
    for area in areas.values():
        if canvas.window.intersects(area):
            for ring in rings_of(area):
                canvas.cover_line([*ring, ring[0]], OTHER_NAME, 0.0)


def label_groups(canvas: Canvas, areas: Mapping[str, BaseGeometry], entry: XY) -> None:
    """Write what each group is called in its outline, as far as the window shows that."""
    for name, area in areas.items():
        mark = Mark(LABEL, name, "group")
        label = Label((name,), NAME_MM, "text-header", layer("ids"), bold=True, mark=mark)
        seen = area if canvas.window.contains(area) else area.intersection(canvas.window)
        largest = max(get_parts(seen), key=lambda part: part.area, default=seen)
        if not largest.area:
            continue
        line = LineString(rings_of(largest)[0])
        if seen is not area:
            # along the edge of the window runs no outline
            pieces = get_parts(shapely.line_merge(area.boundary.intersection(canvas.window)))
            line = max(pieces, key=lambda piece: piece.length, default=line)
        path = LineString(canvas.view.to_paper(line.coords))
        places = [*beside_line(path, label, over=True), *beside_line(path, label)]
        if not canvas.put(label, places, most=MOST):
            canvas.put_around([label], _far_side(largest, entry), 0.5)


def _far_side(area: BaseGeometry, entry: XY) -> XY:
    """Where the line from the entry through a point in the middle of an area leaves it."""
    middle = area.representative_point()
    far = [middle.x + 1e3 * (middle.x - entry[0]), middle.y + 1e3 * (middle.y - entry[1])]
    cut = LineString([(middle.x, middle.y), far]).intersection(area.boundary)
    ends = [(float(x), float(y)) for x, y in shapely.get_coordinates(cut)]
    return max(ends, key=lambda at: math.dist(at, entry), default=(middle.x, middle.y))


@kept
def group_areas(layout: Layout) -> dict[str, BaseGeometry]:
    """Ground of each group: its elements and the header between them, not its run-outs."""
    if layout.piping is None or layout.header is None:
        return {}
    lines = dict(courses(layout))
    taken = {group.id: _taken(layout, lines, group.id) for group in layout.piping.groups}
    reach, wide = REACH * layout.spacing_m, CLOSED * layout.spacing_m
    around = np.array([own.buffer(reach, quad_segs=4) for own in taken.values()])
    tree = STRtree(around)
    areas: dict[str, BaseGeometry] = {}
    for number, (name, own) in enumerate(taken.items()):
        # rows of one group come together, but never around what is another's
        area: BaseGeometry = own.buffer(wide, quad_segs=4).buffer(reach - wide, quad_segs=4)
        near = tree.query(area, predicate="intersects")
        others = shapely.union_all(around[np.sort(near[near != number])])
        areas[name] = area.difference(others).union(around[number])
    return areas


def _taken(layout: Layout, lines: Mapping[HeaderPiece, LineString], group: str) -> BaseGeometry:
    """Elements of a group, and the header behind its run-outs."""
    mine = [circuit for circuit in layout.circuits if circuit.group == group]
    names = {name for circuit in mine for name in circuit.elements}
    elements = [element for element in layout.elements if element.id in names]
    ends = [(float(x), float(y)) for element in elements for x, y in element.ends]
    pieces = [
        piece
        for piece in (layout.piping.pieces if layout.piping is not None else ())
        if any(pipe.group == group for pipe in piece.pipes)
    ]
    dug = [lines[piece] for piece in beyond_run_outs(pieces, ends)]
    return shapely.union_all([*(element.footprint for element in elements), *dug])


def beyond_run_outs(pieces: list[HeaderPiece], ends: list[XY]) -> list[HeaderPiece]:
    """Pieces of one group behind the first branch or element on the way from the entry.

    Examples
    --------
    >>> way = [HeaderPiece((0, 0), (0, 5), 5.0, 0, ()), HeaderPiece((0, 5), (0, 9), 4.0, 0, ())]
    >>> [piece.end for piece in beyond_run_outs(way, [(0.0, 5.0), (0.0, 9.0)])]
    [(0, 9)]
    """
    if not pieces:
        return []
    left, at = list(pieces), pieces[0].start
    while True:
        following = [piece for piece in left if math.dist(piece.start, at) < SAME_M]
        joined = any(Point(end).distance(Point(at)) < SAME_M for end in ends)
        if len(following) != 1 or joined:
            return left
        left.remove(following[0])
        at = following[0].end
