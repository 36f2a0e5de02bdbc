"""A drawing that was moved or turned as a whole: one fault, put right before all else is judged."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from siteplan.audit.ink import MODEL, Ink, turn_of
from siteplan.audit.model import XY, Drawing
from siteplan.audit.words import drawn_fault, move
from siteplan.findings.model import Finding, reason
from siteplan.geometry.boundary import outline_with_arcs
from siteplan.sheet.style.styles import layer
from siteplan.site.model import Site
from siteplan.vocabulary.kinds import kinds

SAME_M = 0.001
"""Corners so near to one another are one [m]."""
TURNS = {"TEXT": 1, "MTEXT": 1, "INSERT": 2}
"""Which of its sizes is the turn of a thing, by its type."""


@dataclass(frozen=True, slots=True)
class _Way:
    """Turn about the origin, and then a shift [m]."""

    turn: float
    shift: XY

    def of(self, at: XY) -> XY:
        """Where a place comes to lie [m]."""
        cos, sin = math.cos(self.turn), math.sin(self.turn)
        return (
            cos * at[0] - sin * at[1] + self.shift[0],
            sin * at[0] + cos * at[1] + self.shift[1],
        )


def put_back(drawing: Drawing, site: Site) -> tuple[Drawing, tuple[Finding, ...]]:
    """The drawing where the site file has it, and that it was not, if all of it was moved.

    Where the boundary alone was moved the drawing stays as it is.
    """
    way = _way_back(drawing, site)
    if way is None or _on_features(drawing, site, way) <= _on_features(drawing, site, None):
        return drawing, ()
    corner = shapely.get_coordinates(site.parcel.exterior)[0]
    back = _Way(-way.turn, (0.0, 0.0))
    # where the parcel's first corner was drawn
    drawn = back.of((float(corner[0]) - way.shift[0], float(corner[1]) - way.shift[1]))
    moved = move((float(corner[0]), float(corner[1])), drawn)
    degrees = -math.degrees(way.turn)
    turned = reason("and-turned", degrees=f"{degrees:.2f}") if abs(degrees) > 1e-4 else None
    told = reason("drawing-moved", move=moved, turned=turned)
    return _moved(drawing, way), (drawn_fault("boundary", told, "parcel"),)


def _way_back(drawing: Drawing, site: Site) -> _Way | None:
    """The way that lays the boundary drawn on the parcel; None where it needs none or has none."""
    corners, bulges = outline_with_arcs(site.parcel)
    parcel = np.array(corners)
    # where the boundary has arcs only their ends can be laid on corners
    ends = {ink.handle: np.array(ink.points) * drawing.unit_m for ink in drawing.inks}
    for line in drawing.on(layer("property")):
        drawn = ends.get(line.handle, np.empty((0, 2))) if any(bulges) else np.array(line.points)
        if len(drawn) != len(parcel) or np.abs(drawn - parcel).max() <= SAME_M:
            continue
        way = _fitted(drawn, parcel)
        laid = np.array([way.of((float(x), float(y))) for x, y in drawn])
        if np.abs(laid - parcel).max() <= SAME_M:
            return way
    return None


def _fitted(drawn: NDArray[np.float64], parcel: NDArray[np.float64]) -> _Way:
    """Turn and shift that bring corners nearest to those of a parcel, in their order."""
    first, other = drawn.mean(axis=0), parcel.mean(axis=0)
    a, b = drawn - first, parcel - other
    turn = math.atan2(float((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum()), float((a * b).sum()))
    x, y = _Way(turn, (0.0, 0.0)).of((float(first[0]), float(first[1])))
    return _Way(turn, (float(other[0]) - x, float(other[1]) - y))


def _on_features(drawing: Drawing, site: Site, way: _Way | None) -> int:
    """How many corners of lines lie on corners of features, once all is led along a way."""
    layers = {kinds()[feature.kind].layer for feature in site.features}
    drawn = [at for line in drawing.lines if line.layer in layers for at in line.points]
    known = [shapely.get_coordinates(feature.shape) for feature in site.features]
    if not drawn or not known:
        # nothing else to judge by: a boundary alone on a sheet is the drawing
        return 0 if way is None else 1
    laid = drawn if way is None else [way.of(at) for at in drawn]
    gaps, _ = cKDTree(np.concatenate(known)).query(np.array(laid))
    return int(np.count_nonzero(gaps <= SAME_M))


def _moved(drawing: Drawing, way: _Way) -> Drawing:
    """The drawing with its whole model led along a way."""
    return replace(
        drawing,
        symbols=tuple(replace(each, at=way.of(each.at)) for each in drawing.symbols),
        lines=tuple(replace(each, points=_along(each.points, way)) for each in drawing.lines),
        words=tuple(replace(each, at=way.of(each.at)) for each in drawing.words),
        loose=tuple(replace(each, at=way.of(each.at)) for each in drawing.loose),
        inks=tuple(_ink(ink, way, drawing.unit_m) for ink in drawing.inks),
    )


def _along(points: Iterable[XY], way: _Way) -> tuple[XY, ...]:
    return tuple(map(way.of, points))


def _ink(ink: Ink, way: _Way, unit_m: float) -> Ink:
    if ink.space != MODEL:
        return ink
    here = _Way(way.turn, (way.shift[0] / unit_m, way.shift[1] / unit_m))
    sizes, number = list(ink.sizes), TURNS.get(ink.type.removeprefix("DIMENSION "))
    if number is not None:
        sizes[number] = turn_of(sizes[number] + math.degrees(way.turn))
    return replace(ink, points=_along(ink.points, here), sizes=tuple(sizes))
