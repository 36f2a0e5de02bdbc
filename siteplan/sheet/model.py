"""The sheet as data: primitives in model space or on paper, each with a style and a layer.

Model space is the site's local frame in metres; paper is in millimetres from the lower left corner
of the trimmed sheet. Heights of text, sizes of symbols and gaps of hatches are always millimetres
on the plotted sheet, in either space.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from itertools import pairwise
from operator import attrgetter
from typing import Final, Literal, TypeVar

import numpy as np
import numpy.typing as npt

from siteplan.geometry.boundary import arc_points
from siteplan.sheet.marks import Mark
from siteplan.units.model import UnitSystem

Space = Literal["model", "paper"]
Anchor = Literal["left", "center", "right"]
XY = tuple[float, float]
Ring = tuple[XY, ...]


@dataclass(frozen=True, slots=True)
class Polyline:
    """A line through points.

    Parameters
    ----------
    bulges
        Of the piece behind each point the tangent of a quarter of its arc's angle, positive to the
        left; empty where all pieces are straight.
    """

    points: Ring
    style: str
    layer: str
    space: Space = "model"
    closed: bool = False
    bulges: tuple[float, ...] = ()

    @property
    def path(self) -> Ring:
        """Its points from end to end, arcs in chords, a closed line back to its start."""
        points = (*self.points, self.points[0]) if self.closed else self.points
        if not self.bulges:
            return points
        pieces = zip(pairwise(points), self.bulges, strict=False)
        arcs = [point for (start, end), bulge in pieces for point in arc_points(start, end, bulge)]
        return (*arcs, points[-1])


@dataclass(frozen=True, slots=True)
class Polygon:
    """A filled area between rings (even-odd), without an outline."""

    rings: tuple[Ring, ...]
    style: str
    layer: str
    space: Space = "model"


@dataclass(frozen=True, slots=True)
class Hatch:
    """Parallel lines over the area between rings (even-odd).

    Parameters
    ----------
    gap_mm
        Distance between the lines on the plotted sheet [mm].
    angle_deg
        Direction of the lines, counter-clockwise from the x axis [deg].
    """

    rings: tuple[Ring, ...]
    style: str
    layer: str
    space: Space = "model"
    gap_mm: float = 3.0
    angle_deg: float = 45.0


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text; ``at`` lies on the base line, at the left end, centre or right end.

    Parameters
    ----------
    height_mm
        Height of a capital letter on the plotted sheet [mm].
    angle_deg
        Direction of reading, counter-clockwise from the x axis of its space [deg].
    mark
        What it is, for programs that read the drawing; it changes nothing that is seen.
    """

    text: str
    at: XY
    height_mm: float
    style: str
    layer: str
    space: Space = "model"
    angle_deg: float = 0.0
    anchor: Anchor = "left"
    bold: bool = False
    mark: Mark | None = None


@dataclass(frozen=True, slots=True)
class Symbol:
    """A named symbol of ``symbols.toml``; ``at`` is its exact centre.

    Parameters
    ----------
    size_mm
        Length of the symbol's unit radius on the plotted sheet [mm].
    attributes
        Tag and value of what the symbol stands for, for programs that read the drawing.
    mark
        What it is, where no attribute says it.
    """

    name: str
    at: XY
    size_mm: float
    style: str
    layer: str
    space: Space = "model"
    angle_deg: float = 0.0
    attributes: tuple[tuple[str, str], ...] = ()
    mark: Mark | None = None


@dataclass(frozen=True, slots=True)
class Dimension:
    """An aligned dimension between two points, both in model space.

    Parameters
    ----------
    offset_mm
        How far the dimension line stands off the two points, to the left of start to end [mm].
    text_at
        Centre of the text's base line.
    """

    start: XY
    end: XY
    text: str
    text_at: XY
    text_angle_deg: float
    height_mm: float
    style: str
    text_style: str
    layer: str
    offset_mm: float = 0.0
    space: Space = "model"


Primitive = Polyline | Polygon | Hatch | Text | Symbol | Dimension
AnyPrimitive = TypeVar("AnyPrimitive", Polyline, Polygon, Hatch, Text, Symbol, Dimension)


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet size, landscape [mm].

    Parameters
    ----------
    margin_mm
        From the paper's edge to the frame [mm].
    enlargement
        How many times larger than usual text, symbols and gaps are drawn.
    """

    name: str
    width_mm: float
    height_mm: float
    margin_mm: float
    enlargement: float = 1.0

    def shrunk(self) -> Paper:
        """The paper divided by its enlargement."""
        factor = self.enlargement
        width, height, margin = self.width_mm, self.height_mm, self.margin_mm
        return Paper(self.name, width / factor, height / factor, margin / factor, factor)


@dataclass(frozen=True, slots=True)
class View:
    """The window on the plan: where it lies on paper and what it shows.

    Parameters
    ----------
    ratio
        Scale ratio, 240 for 1 in = 20 ft.
    label
        The scale in words.
    left_mm, bottom_mm, width_mm, height_mm
        The window on paper [mm].
    center
        Model point in the middle of the window [m].
    turn_deg
        How far the model is turned on paper, counter-clockwise: north then points so far to the
        left of upright [deg].
    """

    ratio: float
    label: str
    left_mm: float
    bottom_mm: float
    width_mm: float
    height_mm: float
    center: XY
    turn_deg: float = 0.0

    @property
    def middle(self) -> XY:
        """Centre of the window on paper [mm]."""
        return self.left_mm + self.width_mm / 2, self.bottom_mm + self.height_mm / 2

    @property
    def turned_center(self) -> XY:
        """The model point in the middle of the window, in axes turned with the view [m]."""
        x, y = self._turned(np.asarray(self.center), 1.0)
        return float(x), float(y)

    def to_paper(self, points: npt.ArrayLike) -> npt.NDArray[np.float64]:
        """Places on paper [mm] of model points [m], shape (n, 2)."""
        apart = (np.asarray(points, float) - self.center) * (1000.0 / self.ratio)
        return np.asarray(self._turned(apart, 1.0) + self.middle)

    def to_model(self, points: npt.ArrayLike) -> npt.NDArray[np.float64]:
        """Model points [m] of places on paper [mm], shape (n, 2)."""
        apart = (np.asarray(points, float) - self.middle) * (self.ratio / 1000.0)
        return np.asarray(self._turned(apart, -1.0) + self.center)

    def _turned(self, apart: npt.NDArray[np.float64], sign: float) -> npt.NDArray[np.float64]:
        """Row vectors turned with the view, or back."""
        if not self.turn_deg:
            return apart
        angle = sign * math.radians(self.turn_deg)
        cosine, sine = math.cos(angle), math.sin(angle)
        return np.asarray(apart @ np.array([[cosine, sine], [-sine, cosine]]))

    def enlarged(self, factor: float) -> View:
        """The same view on paper so many times larger."""
        return View(
            self.ratio / factor, self.label, self.left_mm * factor, self.bottom_mm * factor,
            self.width_mm * factor, self.height_mm * factor, self.center,
            self.turn_deg,
        )  # fmt: skip

    def metres(self, size_mm: float) -> float:
        """Length in the model [m] of a length on paper [mm]."""
        return size_mm * self.ratio / 1000.0


@dataclass(frozen=True, slots=True)
class Sheet:
    """One plan sheet, ready for any exporter.

    Parameters
    ----------
    primitives
        In drawing order: a later one lies over an earlier one.
    layers
        Every layer used, with the style that stands for it.
    unplaced
        Labels that found no free place; the sheet says them nowhere else.
    name, number
        What the sheet is in its set, and which.
    """

    title: str
    paper: Paper
    view: View
    unit: UnitSystem
    primitives: tuple[Primitive, ...]
    layers: tuple[tuple[str, str], ...]
    unplaced: tuple[str, ...] = ()
    name: str = "PLAN"
    number: str = "L1"

    def of_type(self, kind: type[AnyPrimitive]) -> tuple[AnyPrimitive, ...]:
        """Primitives of one type, in drawing order."""
        return tuple(item for item in self.primitives if isinstance(item, kind))


_REST_OF_TEXT: Final = attrgetter(*(field.name for field in fields(Text)[2:]))
_REST_OF_LINE: Final = attrgetter(*(field.name for field in fields(Polyline)[1:]))


def moved(item: Primitive, dx: float, dy: float, *, ups: tuple[float, ...] = ()) -> Primitive:
    """The primitive, shifted; ``ups``: so far up before that, one after another.

    Examples
    --------
    >>> moved(Text("A", (1.0, 2.0), 2.5, "text", "0"), 1.0, -1.0).at
    (2.0, 1.0)
    """
    match item:
        case Text():
            # of long tables thousands are moved, which by name takes several times as long
            x, y = item.at
            for up in ups:
                y += up
            return Text(item.text, (x + dx, y + dy), *_REST_OF_TEXT(item))
        case _ if ups:
            return moved(moved(item, 0.0, ups[0]), dx, dy, ups=ups[1:])
        case Polyline():
            return Polyline(_shifted(item.points, dx, dy), *_REST_OF_LINE(item))
        case Polygon() | Hatch():
            return replace(item, rings=tuple(_shifted(ring, dx, dy) for ring in item.rings))
        case Symbol():
            return replace(item, at=(item.at[0] + dx, item.at[1] + dy))
        case Dimension():
            start, end, text_at = _shifted((item.start, item.end, item.text_at), dx, dy)
            return replace(item, start=start, end=end, text_at=text_at)


def enlarged(item: Primitive, factor: float) -> Primitive:
    """The primitive with every length on paper multiplied; places in the model stay.

    Examples
    --------
    >>> enlarged(Text("A", (1.0, 2.0), 2.5, "text", "0", "paper"), 2.0).at
    (2.0, 4.0)
    """
    on_paper = factor if item.space == "paper" else 1.0
    match item:
        case Polyline():
            return Polyline(_scaled(item.points, on_paper), *_REST_OF_LINE(item))
        case Polygon():
            return replace(item, rings=tuple(_scaled(ring, on_paper) for ring in item.rings))
        case Hatch():
            rings = tuple(_scaled(ring, on_paper) for ring in item.rings)
            return replace(item, rings=rings, gap_mm=item.gap_mm * factor)
        case Text():
            at = _scaled((item.at,), on_paper)[0]
            return replace(item, at=at, height_mm=item.height_mm * factor)
        case Symbol():
            at = _scaled((item.at,), on_paper)[0]
            return replace(item, at=at, size_mm=item.size_mm * factor)
        case Dimension():
            height, offset = item.height_mm * factor, item.offset_mm * factor
            return replace(item, height_mm=height, offset_mm=offset)


def _shifted(points: Ring, dx: float, dy: float) -> Ring:
    return tuple((x + dx, y + dy) for x, y in points)


def _scaled(points: Ring, factor: float) -> Ring:
    return tuple((x * factor, y * factor) for x, y in points)
