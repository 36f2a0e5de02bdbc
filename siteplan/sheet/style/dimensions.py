"""The ink of a dimension, for exporters that draw it themselves."""

from __future__ import annotations

import math
from dataclasses import dataclass

from siteplan.sheet.model import XY, Dimension, View

ARROW_MM = 2.0
"""Length of an arrowhead [mm]."""
EXTENSION_GAP_MM = EXTENSION_BEYOND_MM = 1.0
"""Alike, so that a program which draws extension lines where none is due draws nothing [mm]."""
TEXT_MM = 2.1
"""Height of the figure [mm]."""
TEXT_GAP_MM = 1.24
"""From the dimension line to the base line of a figure above it [mm]."""
LEADER_ARROW_MM = 1.8
"""Length of the arrowhead of a leader [mm]."""
LEADER_GAP_MM = 0.6
"""Free paper between a text and the foot of its leader [mm]."""


@dataclass(frozen=True, slots=True)
class DimensionInk:
    """Lines and filled arrowheads of a dimension, in model space [m]."""

    line: tuple[XY, XY]
    extensions: tuple[tuple[XY, XY], ...]
    arrows: tuple[tuple[XY, XY, XY], ...]


def dimension_ink(dimension: Dimension, view: View) -> DimensionInk:
    """Lines and arrowheads of a dimension on a sheet of that view."""
    dx, dy = dimension.end[0] - dimension.start[0], dimension.end[1] - dimension.start[1]
    length = math.hypot(dx, dy)
    along = (dx / length, dy / length) if length else (1.0, 0.0)
    across = (-along[1], along[0])
    offset = view.metres(dimension.offset_mm)
    start, end = (_step(point, across, offset) for point in (dimension.start, dimension.end))
    size = min(view.metres(ARROW_MM), length / 3)
    back = (-along[0], -along[1])
    arrows = (arrow_head(start, along, size), arrow_head(end, back, size))
    return DimensionInk((start, end), _extensions(dimension, across, view), arrows)


def _step(point: XY, direction: XY, distance: float) -> XY:
    return point[0] + direction[0] * distance, point[1] + direction[1] * distance


def arrow_head(tip: XY, inward: XY, size: float) -> tuple[XY, XY, XY]:
    """Corners of a slim arrowhead with its shaft in the unit direction ``inward``.

    Examples
    --------
    >>> arrow_head((10.0, 0.0), (-1.0, 0.0), 3.0)
    ((10.0, 0.0), (7.0, -0.5), (7.0, 0.5))
    """
    base = _step(tip, inward, size)
    across = (-inward[1], inward[0])
    return tip, _step(base, across, size / 6), _step(base, across, -size / 6)


def _extensions(dimension: Dimension, across: XY, view: View) -> tuple[tuple[XY, XY], ...]:
    if abs(dimension.offset_mm) < EXTENSION_GAP_MM:
        return ()
    sign = math.copysign(1.0, dimension.offset_mm)
    near = view.metres(sign * EXTENSION_GAP_MM)
    far = view.metres(dimension.offset_mm + sign * EXTENSION_BEYOND_MM)
    return tuple(
        (_step(point, across, near), _step(point, across, far))
        for point in (dimension.start, dimension.end)
    )
