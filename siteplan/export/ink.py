"""What a sheet leaves on paper: strokes, fills and letters in millimetres, for print or picture."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Any

import numpy as np
import numpy.typing as npt

from siteplan.sheet.model import (
    XY,
    Dimension,
    Hatch,
    Polygon,
    Polyline,
    Primitive,
    Sheet,
    Space,
    Symbol,
    Text,
)
from siteplan.sheet.style.dimensions import dimension_ink
from siteplan.sheet.style.hatching import hatch_lines
from siteplan.sheet.style.styles import Style, linetypes, styles
from siteplan.sheet.style.symbols import symbol_shapes
from siteplan.sheet.style.text import text_width

Points = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Stroke:
    """Lines of one look, drawn one after the other.

    Parameters
    ----------
    lines
        Points of each line on paper, shape (n, 2) [mm].
    dashes_mm
        Dash, gap, dash, gap ...; empty for a continuous line [mm].
    clipped
        Whether they end at the edge of the window on the plan.
    """

    lines: list[Points]
    color: str
    width_mm: float
    dashes_mm: tuple[float, ...]
    clipped: bool


@dataclass(frozen=True, slots=True)
class Fill:
    """Filled areas of one look: the rings of each, the holes running against their shell [mm]."""

    areas: list[list[Points]]
    color: str
    clipped: bool


@dataclass(frozen=True, slots=True)
class Letters:
    """One line of text.

    Parameters
    ----------
    start
        Left end of its base line on paper [mm].
    """

    text: str
    start: XY
    height_mm: float
    angle_deg: float
    bold: bool
    color: str


@dataclass(frozen=True, slots=True)
class Ink:
    """Everything on a sheet; the text lies over all the rest.

    Parameters
    ----------
    window
        Left, bottom, width and height of the window on the plan [mm].
    """

    width_mm: float
    height_mm: float
    window: tuple[float, float, float, float]
    marks: tuple[Stroke | Fill, ...]
    letters: tuple[Letters, ...]


def ink(sheet: Sheet) -> Ink:
    """What a sheet leaves on paper."""
    inker = _Inker(sheet)
    for (_, space, style), run in groupby(sheet.primitives, key=_key):
        inker.take(list(run), space, styles()[style])
    view, paper = sheet.view, sheet.paper
    window = (view.left_mm, view.bottom_mm, view.width_mm, view.height_mm)
    marks, letters = tuple(inker.marks), tuple(inker.letters)
    return Ink(paper.width_mm, paper.height_mm, window, marks, letters)


def _key(item: Primitive) -> tuple[str, Space, str]:
    return type(item).__name__, item.space, item.style


class _Inker:
    """Turns runs of like primitives into marks."""

    def __init__(self, sheet: Sheet) -> None:
        self.view = sheet.view
        self.marks: list[Stroke | Fill] = []
        self.letters: list[Letters] = []

    def take(self, run: list[Any], space: Space, style: Style) -> None:
        """Draw primitives of one type, space and style."""
        draw: dict[type, Callable[[list[Any], Space, Style], None]] = {
            Polyline: self._polylines,
            Polygon: self._polygons,
            Hatch: self._hatches,
            Text: self._texts,
            Symbol: self._symbols,
            Dimension: self._dimensions,
        }
        draw[type(run[0])](run, space, style)

    def _place(self, points: Iterable[XY] | Points, space: Space) -> Points:
        array = np.asarray(points, float)
        return self.view.to_paper(array) if space == "model" else array

    def _angle(self, angle_deg: float, space: Space) -> float:
        """Direction on paper of a direction in a space [deg]."""
        return angle_deg + self.view.turn_deg if space == "model" else angle_deg

    def _stroke(self, lines: Iterable[Points], space: Space, style: Style) -> None:
        dashes, clipped = linetypes()[style.linetype], space == "model"
        self.marks.append(Stroke(list(lines), style.color, style.weight, dashes, clipped))

    def _fill(self, areas: Iterable[Iterable[Points]], space: Space, style: Style) -> None:
        directed = [list(_directed(rings)) for rings in areas]
        self.marks.append(Fill(directed, style.color, space == "model"))

    def _polylines(self, run: list[Polyline], space: Space, style: Style) -> None:
        self._stroke((self._place(item.path, space) for item in run), space, style)

    def _polygons(self, run: list[Polygon], space: Space, style: Style) -> None:
        self._fill(((self._place(r, space) for r in item.rings) for item in run), space, style)

    def _hatches(self, run: list[Hatch], space: Space, style: Style) -> None:
        lines: list[Points] = []
        for item in run:
            rings = [self._place(ring, space) for ring in item.rings]
            lines.extend(hatch_lines(rings, item.gap_mm, self._angle(item.angle_deg, space)))
        self._stroke(lines, space, style)

    def _symbols(self, run: list[Symbol], space: Space, style: Style) -> None:
        strokes: list[Points] = []
        fills: list[list[Points]] = []
        for item in run:
            shape = symbol_shapes()[item.name]
            center = self._place([item.at], space)[0]
            turn = _turn(self._angle(item.angle_deg, space)) * item.size_mm
            strokes.extend(np.asarray(ring) @ turn + center for ring in shape.strokes())
            fills.extend([np.asarray(ring) @ turn + center] for ring in shape.fills())
        self._fill(fills, space, style)
        self._stroke(strokes, space, style)

    def _dimensions(self, run: list[Dimension], space: Space, style: Style) -> None:
        inks = [dimension_ink(item, self.view) for item in run]
        lines = [line for drawn in inks for line in (drawn.line, *drawn.extensions)]
        self._stroke((self._place(line, space) for line in lines), space, style)
        arrows = [[self._place(arrow, space)] for drawn in inks for arrow in drawn.arrows]
        self._fill(arrows, space, style)
        for item in run:
            self._text(
                Text(
                    item.text, item.text_at, item.height_mm, item.text_style, item.layer,
                    angle_deg=item.text_angle_deg, anchor="center",
                )
            )  # fmt: skip

    def _texts(self, run: list[Text], space: Space, style: Style) -> None:
        del space, style
        for item in run:
            self._text(item)

    def _text(self, item: Text) -> None:
        x, y = self._place([item.at], item.space)[0].tolist()
        share = {"left": 0.0, "center": 0.5, "right": 1.0}[item.anchor]
        back = share * text_width(item.text, item.height_mm, bold=item.bold)
        angle_deg = self._angle(item.angle_deg, item.space)
        angle = math.radians(angle_deg)
        start = (x - back * math.cos(angle), y - back * math.sin(angle))
        color = styles()[item.style].color
        self.letters.append(Letters(item.text, start, item.height_mm, angle_deg, item.bold, color))


def _turn(angle_deg: float) -> Points:
    """Matrix that turns row vectors counter-clockwise."""
    cosine, sine = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    return np.array([[cosine, sine], [-sine, cosine]])


def _directed(rings: Iterable[Points]) -> Iterator[Points]:
    """The first ring counter-clockwise, the others, which are holes, against it."""
    for number, ring in enumerate(rings):
        x, y = ring[:, 0], ring[:, 1]
        area = float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
        yield ring[::-1] if (area < 0.0) != (number > 0) else ring
