"""Edges that names keep off: for most dear to cross, for those with room elsewhere dearer."""

from __future__ import annotations

from collections.abc import Sequence

from shapely.geometry.base import BaseGeometry

from siteplan.sheet.model import XY
from siteplan.sheet.place.canvas import Canvas


def keep_names_off_edges(
    canvas: Canvas, paths: Sequence[Sequence[XY]], *, other: float, with_room: float
) -> list[BaseGeometry]:
    """Let further names pay more for crossing edges; the ink by which those with room pay.

    Parameters
    ----------
    paths
        The edges, on the lot [m].
    other, with_room
        What any further name pays, and what all but those that have no room elsewhere pay besides.
    """
    for path in paths:
        canvas.cover_line(path, other, 0.0)
    sizes = canvas.placer.sizes()
    for path in paths:
        canvas.cover_line(path, with_room, 0.0)
    return canvas.placer.since(sizes)
