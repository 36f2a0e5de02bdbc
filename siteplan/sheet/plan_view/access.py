"""The way in of the drill rig or excavator: its two edges and its name."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from shapely import LineString, Polygon, get_parts
from shapely.geometry.base import BaseGeometry

from siteplan.layout.model import Access
from siteplan.sheet.place.candidates import led
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.label import Label
from siteplan.sheet.plan_view.dear_edges import keep_names_off_edges
from siteplan.sheet.plan_view.features import beside_line
from siteplan.sheet.style.formats import short_mark
from siteplan.sheet.style.hatching import rings_of
from siteplan.sheet.style.styles import layer

ACCESS_INK = 3.0
"""What the name of what is built pays for crossing an edge of the way in, as a leader does."""
OTHER_NAME, NAME_WITH_ROOM = 9.0, 90.0
"""What any other name pays besides, and all but those that have no room elsewhere."""
ACCESS_COVER = 1.0
"""What a label pays for lying in the way in."""
NAME_HEIGHT_MM = 2.05
BESIDE = 6.0
"""How much worse a place beside the way in is than one in it."""


def draw_access(canvas: Canvas, access: Access, ground: BaseGeometry) -> None:
    """Draw the edges of the way in, from the street to where the machine reaches the field."""
    for edge in _edges(access, ground):
        canvas.outline(edge, "access", layer("access"), ink=ACCESS_INK)
    canvas.cover(access_band(access).intersection(ground), ACCESS_COVER)


def keep_names_off_access(
    canvas: Canvas, access: Access, ground: BaseGeometry
) -> list[BaseGeometry]:  # fmt: skip
    """Let further names pay more for crossing an edge of the way in."""
    edges = [part for edge in _edges(access, ground) for part in get_parts(edge)]
    paths = [[(x, y) for x, y, *_ in part.coords] for part in edges if part.length]
    return keep_names_off_edges(canvas, paths, other=OTHER_NAME, with_room=NAME_WITH_ROOM)


def _edges(access: Access, ground: BaseGeometry) -> Iterator[BaseGeometry]:
    """Edges of the way in, which is open to the street."""
    line = ground.boundary.buffer(0.05)
    for ring in rings_of(access_band(access).intersection(ground)):
        yield LineString([*ring, ring[0]]).difference(line)


def label_access(canvas: Canvas, access: Access) -> None:
    """Write what the way in is, in it or beside it."""
    if access.path.is_empty:
        return
    text = f"{access.machine.upper()} ACCESS {short_mark(access.width_m, canvas.unit)} CLEAR"
    label = Label((text,), NAME_HEIGHT_MM, "text-access", layer("access"))
    path = LineString(canvas.view.to_paper(access.path.coords))
    places = beside_line(path, label, over=True)
    places += [replace(place, cost=place.cost + BESIDE) for place in beside_line(path, label)]
    for share in (0.5, 0.3, 0.7):
        spot = path.interpolate(share, normalized=True)
        places += led((spot.x, spot.y), label.width, label.height)
    canvas.put(label, places)


def access_band(access: Access) -> BaseGeometry:
    """Ground under the way in."""
    half = access.width_m / 2
    band = access.path.buffer(half, cap_style="flat", join_style="round", quad_segs=6)
    parts = [part for part in get_parts(band) if isinstance(part, Polygon)]
    return max(parts, key=lambda part: part.area, default=Polygon())
