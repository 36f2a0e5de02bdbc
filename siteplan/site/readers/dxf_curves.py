"""Entities of a drawing as lines in the plane: curves drawn finely, heights dropped."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any, Final

import numpy as np
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.math import OCS, Vec3, bulge_center

from siteplan.geometry.chains import Points, chains_of, chords
from siteplan.limits import FARTHEST_DRAWN

STEP_RAD: Final = 1.5e-3
"""Angle between points of a finely drawn curve: its area is true to 4 in 10 million [rad]."""
FINE: Final = 1e-7
"""Rise of a chord of a finely drawn spline, by the size of the spline."""
SPLINE_FRAME: Final = 16
"""Flag of a vertex that only guides the curve of a polyline (DXF reference, group 70)."""
EDGE_GAP: Final = 1e-6
"""Gap between edges of one boundary of a hatch, by its size."""
LINES: Final = ("LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "LWPOLYLINE", "POLYLINE")
HATCHES: Final = ("HATCH", "MPOLYGON")


def lines_of(entity: DXFEntity, within: float) -> list[Points]:
    """Lines that an entity draws; one that ends where it starts goes around an area.

    Of a hatch, one ring for each of its boundaries. ``within``: how far chords may lie from a
    curve; corners stay, however flat.
    """
    kind = entity.dxftype()
    if kind in HATCHES:
        return [line for line in _boundaries(entity, within) if _whole(line)]
    if kind == "POLYLINE" and not (entity.is_2d_polyline or entity.is_3d_polyline):  # type: ignore[attr-defined]
        return []
    lines = [_DRAWN[kind](entity, within)]
    return [line for line in lines if _whole(line)]


def _whole(line: Points) -> bool:
    return len(line) > 1 and bool((np.abs(line) < FARTHEST_DRAWN).all())


def heights_of(entity: DXFEntity) -> tuple[float, ...]:
    """Heights of an entity's points, as far as they are told at once."""
    kind, dxf = entity.dxftype(), entity.dxf
    if kind == "LINE":
        return (dxf.start.z, dxf.end.z)
    if kind == "LWPOLYLINE":
        return (dxf.elevation,)
    if kind == "POLYLINE":
        return tuple(vertex.dxf.location.z for vertex in entity.vertices)  # type: ignore[attr-defined]
    named = next((name for name in ("location", "insert", "center") if dxf.hasattr(name)), None)
    return (dxf.get(named).z,) if named is not None else ()


def place_of(entity: DXFEntity) -> tuple[float, float]:
    """Where a point, a text or a block stands."""
    dxf = entity.dxf
    if entity.dxftype() == "POINT":
        place = dxf.location
    else:
        place = dxf.insert
        if entity.dxftype() != "MTEXT":
            place = entity.ocs().to_wcs(place)  # type: ignore[attr-defined]
    return float(place.x), float(place.y)


def _line(entity: Any, _within: float) -> Points:
    return np.array(
        [(entity.dxf.start.x, entity.dxf.start.y), (entity.dxf.end.x, entity.dxf.end.y)]
    )


def _arc(entity: Any, within: float) -> Points:
    dxf = entity.dxf
    whole = entity.dxftype() == "CIRCLE"
    start = 0.0 if whole else math.radians(dxf.start_angle)
    sweep = math.tau if whole else _sweep(start, math.radians(dxf.end_angle))
    ocs = entity.ocs()
    right, up = (ocs.to_wcs(axis) * dxf.radius for axis in (Vec3(1, 0, 0), Vec3(0, 1, 0)))
    return _turned(ocs.to_wcs(dxf.center), (right, up), start, sweep, within)


def _ellipse(entity: Any, within: float) -> Points:
    dxf = entity.dxf
    sweep = _sweep(dxf.start_param, dxf.end_param)
    return _turned(dxf.center, (dxf.major_axis, entity.minor_axis), dxf.start_param, sweep, within)


def _sweep(start: float, end: float) -> float:
    """How far a curve turns to the left; one that ends where it starts goes all around."""
    sweep = (end - start) % math.tau
    return sweep if sweep > 1e-9 else math.tau


def _turned(
    centre: Vec3, axes: tuple[Vec3, Vec3], start: float, sweep: float, within: float
) -> Points:
    """Points of an ellipse by its half axes."""
    steps = max(2, math.ceil(abs(sweep) / STEP_RAD))
    angles = start + np.linspace(0.0, sweep, steps + 1)
    plane = np.array([(axis.x, axis.y) for axis in axes])
    points = np.column_stack((np.cos(angles), np.sin(angles))) @ plane + (centre.x, centre.y)
    if abs(sweep) >= math.tau - 1e-9:
        points[-1] = points[0]
    return chords(np.asarray(points, dtype=np.float64), within)


def _spline(entity: Any, within: float) -> Points:
    if not len(entity.control_points) and not len(entity.fit_points):
        return np.empty((0, 2))
    return _of_spline(entity.construction_tool(), within, closed=entity.closed)


def _of_spline(curve: Any, within: float, *, closed: bool = False) -> Points:
    frame = np.array([(point.x, point.y) for point in curve.control_points])
    size = float(np.ptp(frame, axis=0).max()) or 1.0
    points = np.array([(point.x, point.y) for point in curve.flattening(size * FINE)])
    if closed and len(points) > 2 and np.abs(points[0] - points[-1]).max() <= size * EDGE_GAP:
        points[-1] = points[0]
    return chords(points, within)


def _lwpolyline(entity: Any, within: float) -> Points:
    corners = [(x, y, bulge) for x, y, bulge in entity.get_points("xyb")]
    return _bulged(corners, entity.ocs(), entity.dxf.elevation, within, closed=entity.closed)


def _polyline(entity: Any, within: float) -> Points:
    vertices = [vertex for vertex in entity.vertices if not vertex.dxf.flags & SPLINE_FRAME]
    corners = [(v.dxf.location.x, v.dxf.location.y, v.dxf.bulge) for v in vertices]
    if entity.is_3d_polyline:
        corners = [(x, y, 0.0) for x, y, _ in corners]
        return _bulged(corners, OCS(), 0.0, within, closed=entity.is_closed)
    return _bulged(corners, entity.ocs(), 0.0, within, closed=entity.is_closed)


def _bulged(
    corners: Sequence[tuple[float, float, float]],
    ocs: OCS,
    height: float,
    within: float,
    *,
    closed: bool,
) -> Points:
    """Line through corners, each with the bulge of the piece that follows it."""
    if not corners:
        return np.empty((0, 2))
    around = [*corners, corners[0]] if closed else list(corners)
    points: list[tuple[float, float]] = [around[0][:2]]
    for (x, y, bulge), (to_x, to_y, _) in pairwise(around):
        if bulge and (x, y) != (to_x, to_y):
            centre = bulge_center((x, y), (to_x, to_y), bulge)
            right = Vec3(x - centre.x, y - centre.y)
            curve = _turned(
                Vec3(centre), (right, right.orthogonal()), 0.0, 4 * math.atan(bulge), within
            )
            points.extend(map(tuple, curve[1:-1]))
        points.append((to_x, to_y))
    if ocs.transform:
        whole = ocs.points_to_wcs([Vec3(x, y, height) for x, y in points])
        points = [(point.x, point.y) for point in whole]
    line = np.array(points, dtype=np.float64)
    if not np.isfinite(line).all():
        return line
    return line[np.r_[True, (np.diff(line, axis=0) != 0).any(axis=1)]]


def _boundaries(entity: Any, within: float) -> Iterator[Points]:
    """Rings around a hatch."""
    ocs, height = entity.ocs(), entity.dxf.elevation.z
    for path in entity.paths:
        if path.type.name == "POLYLINE":
            yield _bulged(path.vertices, ocs, height, within, closed=True)
            continue
        edges = [line for line in (_edge(edge, within) for edge in path.edges) if len(line) > 1]
        if not edges or not all(np.isfinite(line).all() for line in edges):
            continue
        size = float(np.ptp(np.vstack(edges), axis=0).max())
        for chain in chains_of(edges, size * EDGE_GAP):
            whole = ocs.points_to_wcs([Vec3(x, y, height) for x, y in chain.points])
            yield np.array([(point.x, point.y) for point in whole])


def _edge(edge: Any, within: float) -> Points:
    """One edge of a boundary, in the plane of its hatch."""
    kind = edge.type.name
    if kind == "LINE":
        return np.array([tuple(edge.start)[:2], tuple(edge.end)[:2]], dtype=np.float64)
    if kind == "SPLINE":
        return _of_spline(edge.construction_tool(), within)
    if kind == "ARC":
        start, end = math.radians(edge.start_angle), math.radians(edge.end_angle)
        right = Vec3(edge.radius, 0)
        up = right.orthogonal()
    else:
        start, end, right = edge.start_param, edge.end_param, Vec3(edge.major_axis)
        up = right.orthogonal() * edge.ratio
    return _turned(Vec3(edge.center), (right, up), start, _sweep(start, end), within)


_DRAWN: Final = {
    "LINE": _line, "ARC": _arc, "CIRCLE": _arc, "ELLIPSE": _ellipse, "SPLINE": _spline,
    "LWPOLYLINE": _lwpolyline, "POLYLINE": _polyline,
}  # fmt: skip
