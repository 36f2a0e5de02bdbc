"""The frame of a lot itself: turned or mirrored lots look the same in it, and get the same field.

Its origin is the middle of the entries, its first axis runs along the ground's longest edges, and
both axes point to the side on which the ground lies. What a search takes first among equals then
does not hang on how somebody turned the drawing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import shapely
from shapely import MultiLineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.frame import SITES, OwnFrame, axes_along, frame_from
from siteplan.geometry.memory import remembered
from siteplan.layout.elements import Element, Trench
from siteplan.layout.header.shore import landings_of
from siteplan.layout.in_rows import Placement
from siteplan.layout.model import Ground, Header, Layout


def placed_alike(
    ground: Ground, area: BaseGeometry, place: Callable[[Ground, BaseGeometry], Placement]
) -> Placement:
    """What is placed in the lot's own frame, in the site's frame.

    Parameters
    ----------
    ground
        Ground with entries.
    area
        Where points may stand.
    place
        Places points and their header.
    """
    if not ground.entries or area.is_empty:
        return place(ground, area)
    frame = frame_of(ground)
    placed = place(*in_own_frame(ground, area))
    header = placed.header and _header_back(placed.header, ground, frame)
    return replace(placed, points=frame.back(placed.points), header=header)


def in_own_frame(ground: Ground, area: BaseGeometry) -> tuple[Ground, BaseGeometry]:
    """A ground with entries and an area in the lot's own frame."""
    frame = frame_of(ground)
    return _into(ground, frame), frame.into(area)


def laid_alike(ground: Ground, lay: Callable[[Ground, OwnFrame], Layout]) -> Layout:
    """What is laid out in the lot's own frame, in the site's frame.

    Parameters
    ----------
    ground
        Ground in the site's frame.
    lay
        Lays out on a ground in the frame told.
    """
    if not ground.entries or ground.area.is_empty:
        return lay(ground, SITES)
    frame = frame_of(ground)
    layout = lay(_into(ground, frame), frame)
    return replace(
        layout,
        elements=tuple(_element_back(element, frame) for element in layout.elements),
        header=layout.header and _header_back(layout.header, ground, frame),
    )


def _element_back(element: Element, frame: OwnFrame) -> Element:
    """An element in the site's frame."""
    if isinstance(element, Trench):
        return replace(element, line=shapely.transform(element.line, frame.back))
    ((x, y),) = frame.back(np.array([[element.x_m, element.y_m]])).tolist()
    return replace(element, x_m=x, y_m=y)


@remembered
def frame_of(ground: Ground) -> OwnFrame:
    """Own frame of a ground with entries."""
    doors = np.array([(entry.point.x, entry.point.y) for entry in ground.entries])
    origin = doors.mean(axis=0)
    axes = axes_along(ground.passable)
    middle = ground.area.centroid if not ground.area.is_empty else ground.passable.centroid
    return frame_from(axes, origin, axes @ (np.array([middle.x, middle.y]) - origin))


@remembered
def _into(ground: Ground, frame: OwnFrame) -> Ground:
    return replace(
        ground,
        area=frame.into(ground.area),
        passable=frame.into(ground.passable),
        entries=tuple(
            replace(entry, point=Point(frame.into(entry.point).coords[0]))
            for entry in ground.entries
        ),
        marked=tuple(replace(mark, shape=frame.into(mark.shape)) for mark in ground.marked),
        strips=tuple(replace(strip, line=frame.into(strip.line)) for strip in ground.strips),
        spared=tuple(replace(part, shape=frame.into(part.shape)) for part in ground.spared),
        whole=None if ground.whole is None else frame.into(ground.whole),
        entered=None if ground.entered is None else frame.into(ground.entered),
        shore_entries=tuple(
            tuple(frame.into(Point(at)).coords[0])  # type: ignore[misc]
            for at in ground.shore_entries
        ),
    )


def _header_back(header: Header, ground: Ground, frame: OwnFrame) -> Header:
    """A header in the site's frame."""
    (entry,) = (entry for entry in ground.entries if entry.id == header.entry.id)
    runs = tuple(shapely.transform(run, frame.back) for run in header.runs)
    crossings = []
    for crossing in header.crossings:
        ((x, y),) = frame.back(np.array([[crossing.x_m, crossing.y_m]])).tolist()
        crossings.append(replace(crossing, x_m=x, y_m=y))
    return Header(
        runs, entry, tuple(crossings), landings=landings_of(MultiLineString(runs), ground)
    )
