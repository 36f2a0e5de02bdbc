"""Where the groundwater flows to, on the plan: an arrow with its name."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import shapely
from shapely import LineString

from siteplan.layout.elements import Well
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.model import XY
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.label import Label, readable
from siteplan.sheet.plan_view.groups import NAME_MM
from siteplan.sheet.style.dimensions import arrow_head
from siteplan.sheet.style.styles import layer

SHAFT_MM: Final = 14.0
"""Length of the arrow [mm]."""
HEAD_MM: Final = 3.0
"""Length of its head [mm]."""
CLEAR_MM: Final = 1.5
"""Free paper around it [mm]."""
STEP_MM: Final = 5.0
"""Between places that are tried [mm]."""
WORDS: Final = "GROUNDWATER FLOW"


def draw_groundwater(canvas: Canvas, content: PlanContent) -> None:
    """Draw the arrow where nothing else is, as near to the wells as may be, and name it.

    Where the flow is stated, and the plan has room for it; the groundwater's detail shows it as
    well.
    """
    aquifer, layout = content.site.exchanger.open.aquifer, content.layout
    wells = layout.of(Well) if layout is not None else ()
    if not wells or not aquifer.gradient:
        return
    turn = math.radians(aquifer.direction_deg)
    along = _on_paper(canvas, math.sin(turn), math.cos(turn))
    name = Label((WORDS,), NAME_MM, "text", layer("flow"), masked=False)
    half = max(SHAFT_MM, name.width) / 2
    for spot in _spots(canvas, canvas.paper(_middle(wells))):
        room = LineString(_shaft(spot, along, half)).buffer(name.height + 2 * CLEAR_MM)
        if canvas.placer.is_bare(room):
            _draw(canvas, _shaft(spot, along, SHAFT_MM / 2), name)
            return


def _draw(canvas: Canvas, shaft: tuple[XY, XY], name: Label) -> None:
    (x, y), tip = shaft
    along = (tip[0] - x) / SHAFT_MM, (tip[1] - y) / SHAFT_MM
    where = layer("flow")
    canvas.line([canvas.model(at) for at in shaft], "arrow", where)
    head = arrow_head(tip, (-along[0], -along[1]), HEAD_MM)
    canvas.line([canvas.model(head[k]) for k in (1, 0, 2)], "arrow", where)
    angle = readable(math.degrees(math.atan2(along[1], along[0])))
    up = math.radians(angle + 90.0)
    off = name.height / 2 + CLEAR_MM
    center = (x + tip[0]) / 2 + off * math.cos(up), (y + tip[1]) / 2 + off * math.sin(up)
    canvas.write(name, center, angle)


def _middle(wells: tuple[Well, ...]) -> XY:
    at = shapely.MultiPoint([(well.x_m, well.y_m) for well in wells]).centroid
    return at.x, at.y


def _on_paper(canvas: Canvas, x: float, y: float) -> XY:
    """A direction on the lot as it is on paper, of length 1."""
    (from_x, from_y), (to_x, to_y) = canvas.paper((0.0, 0.0)), canvas.paper((x, y))
    length = math.hypot(to_x - from_x, to_y - from_y)
    return (to_x - from_x) / length, (to_y - from_y) / length


def _spots(canvas: Canvas, middle: XY) -> Iterator[XY]:
    """Places for the middle of the arrow, the nearest to the wells first."""
    view = canvas.view
    spots = [
        (view.left_mm + (i + 0.5) * STEP_MM, view.bottom_mm + (j + 0.5) * STEP_MM)
        for i in range(int(view.width_mm / STEP_MM))
        for j in range(int(view.height_mm / STEP_MM))
    ]
    yield from sorted(spots, key=lambda at: (round(math.dist(at, middle), 3), at))


def _shaft(spot: XY, along: XY, half: float) -> tuple[XY, XY]:
    return (
        (spot[0] - half * along[0], spot[1] - half * along[1]),
        (spot[0] + half * along[0], spot[1] + half * along[1]),
    )
