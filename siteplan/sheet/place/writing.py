"""Labels and leaders as primitives of the plan."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from siteplan.sheet.model import XY, Polygon, Polyline, Primitive, Text, View
from siteplan.sheet.place.label import SMALL_MM, Label
from siteplan.sheet.style.dimensions import arrow_head

HEAD_MM = 1.8
"""Length of the head of a leader."""


def texts_of(label: Label, center: XY, angle_deg: float, view: View) -> Iterator[Text]:
    """Lines of a label with the middle of its box at a place on paper [mm]."""
    along = math.radians(angle_deg)
    for number, (line, (aside, rise)) in enumerate(label.places()):
        at = (
            center[0] + aside * math.cos(along) - rise * math.sin(along),
            center[1] + aside * math.sin(along) + rise * math.cos(along),
        )
        lesser = number >= len(label.lines)
        yield Text(
            line, _model(view, at), SMALL_MM if lesser else label.height_mm, label.style,
            label.layer, angle_deg=angle_deg - view.turn_deg, anchor="center",
            bold=label.bold and not lesser,
            mark=label.mark and replace(label.mark, line=number),
        )  # fmt: skip


def leader_of(path: Sequence[XY], where: str, view: View) -> tuple[Primitive, Primitive]:
    """Line of a leader along a path on paper [mm], and its head at the end."""
    (tail_x, tail_y), (x, y) = path[-2:]
    reach = max(math.hypot(tail_x - x, tail_y - y), 1e-9)
    tip = arrow_head((x, y), ((tail_x - x) / reach, (tail_y - y) / reach), HEAD_MM)
    line, ring = (tuple(_model(view, point) for point in points) for points in (path, tip))
    return Polyline(line, "leader", where), Polygon((ring,), "ink-fill", where)


def _model(view: View, point: XY) -> XY:
    x, y = view.to_model([point])[0]
    return float(x), float(y)
