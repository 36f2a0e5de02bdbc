"""What a site takes of a surveyor's drawing: its unit, its one lot, and the layers beside it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np
import shapely
from shapely import Point, Polygon

from siteplan.errors import InputError
from siteplan.site.frame import metres_of_system
from siteplan.site.readers.rows import Rows
from siteplan.site.readers.survey_dxf import Drawing, open_drawing
from siteplan.site.readers.survey_rows import Layer, layer_of, rows_where
from siteplan.site.readers.vetted import refused
from siteplan.site.survey import SurveyDrawing
from siteplan.units.lengths import ACRE, DRAWING_UNITS

GUESSED: Final = ("ft", "survey feet", "m", "in", "mm")
"""Units of which it is told what area each gives."""
LOT_M2: Final = (100.0, 1e7)
"""Between these areas lies a lot that is drawn in the unit of which the drawing speaks [m2]."""
LOT_BY_INCHES_M2: Final = 1000.0
"""The same for inches, which new drawings say by themselves: one drawn in feet comes out small."""
ALIKE: Final = 1e-4
"""Units nearer to one another than this are taken for one another: the two feet are."""
TOLD: Final = 6
"""So many outlines are told where one must be named."""


@dataclass(frozen=True, slots=True)
class DrawnAsked:
    """A layer of a drawing, as it is asked for.

    Parameters
    ----------
    path
        The file.
    layer, where
        Which layer and rows; None: all.
    at
        A point within the lot, in the coordinates of the drawing; None: not by a point.
    unit
        What the drawing is drawn in, where somebody says; None: what its header says.
    crs
        Coordinate system; None: the drawing has none.
    typed
        Whether it is asked for on the command line, not by a site file.
    """

    path: Path
    layer: str | None = None
    where: str | None = None
    at: tuple[float, float] | None = None
    unit: str | None = None
    crs: str | None = None
    typed: bool = False

    def saying(self, key: str, value: str) -> str:
        """How to say something of the drawing where it is asked for."""
        if not self.typed:
            return f'{key} = "{value}"'
        named = f'"{value}"' if " " in value else value
        return f"--{'file-unit' if key == 'unit' else key} {named}"


@dataclass(frozen=True, slots=True)
class DrawnLayer:
    """Rows of a drawing.

    Parameters
    ----------
    rows
        Its rows, in its own coordinates or in the unit of its coordinate system.
    metres
        Unit of the drawing [m].
    words
        What was joined or left out, in words.
    survey
        How the drawing was read.
    scale
        What its coordinates were multiplied by.
    """

    rows: Rows
    metres: float
    words: tuple[str, ...]
    survey: SurveyDrawing
    scale: float = 1.0


def read_drawn(asked: DrawnAsked) -> DrawnLayer:
    """Rows of a layer that is no lot, in the coordinates of the drawing.

    Raises
    ------
    InputError
        The file cannot be read, its unit is not known, or there is no such layer or row.
    """
    drawing = open_drawing(asked.path)
    metres = _metres(asked, drawing)
    layer = layer_of(drawing, asked.layer, metres)
    rows = rows_where(drawing, layer.rows, asked.where)
    if not rows.shapes:
        what = f"has no shapes on {_called(asked)}, only texts."
        raise refused(asked.path, what, "Name another layer.")
    words = (*drawing.words, *layer.words)
    return _scaled(asked, DrawnLayer(rows, metres, words, drawing.read))


def read_drawn_lot(asked: DrawnAsked) -> DrawnLayer:
    """The one outline of a drawing that is meant, in the coordinates of the drawing.

    Raises
    ------
    InputError
        As of another layer; or no outline is closed, more than one could be meant, or the one is
        no lot in the unit of which the drawing speaks.
    """
    drawing = open_drawing(asked.path)
    metres = _metres(asked, drawing)
    layer = layer_of(drawing, asked.layer, metres, lots=True)
    rows = rows_where(drawing, layer.rows, asked.where)
    outlines = _outlines(asked, rows)
    if not outlines:
        raise _nothing_closed(asked, layer, rows, metres)
    if len(outlines) > 1:
        raise _several(asked, rows, outlines, metres)
    (at,) = outlines
    shape = rows.shapes[at]
    if asked.unit is None and asked.crs is None:
        _judge_unit(asked, drawing, shape.area * metres**2)
    words = [*drawing.words, *layer.words]
    if len(rows.shapes) > 1:
        words.append(
            f"beside the outline {len(rows.shapes) - 1} more on {_called(asked)}, left out"
        )
    survey = replace(drawing.read, gap_m=layer.gap_m)
    outline = Rows((shape,), (rows.columns[at],), (rows.numbers[at],), None)
    return _scaled(asked, DrawnLayer(outline, metres, tuple(words), survey))


def _outlines(asked: DrawnAsked, rows: Rows) -> list[int]:
    """Places of the areas among rows, of those around a point where one is asked for."""
    spot = Point(asked.at) if asked.at is not None else None
    return [
        at
        for at, shape in enumerate(rows.shapes)
        if isinstance(shape, Polygon) and (spot is None or shape.covers(spot))
    ]


def _metres(asked: DrawnAsked, drawing: Drawing) -> float:
    """Unit of a drawing [m]: what is said of it, else what its header says."""
    said = asked.unit or drawing.unit
    if asked.crs is not None:
        return _metres_of_system(asked, said)
    if said is None:
        raise _unknown_unit(asked, drawing, drawing.unit_words)
    return DRAWING_UNITS[said]


def _metres_of_system(asked: DrawnAsked, said: str | None) -> float:
    """Unit of a drawing in a coordinate system [m]: that of the system, if nothing gainsays it."""
    system = metres_of_system(asked.crs or "")
    if system is None:
        what = f"cannot be in {asked.crs}: its coordinates are degrees."
        raise refused(asked.path, what, "Name a projected system, such as EPSG:2249.")
    if said is None or abs(DRAWING_UNITS[said] / system - 1) < ALIKE:
        return system
    if asked.unit is None:
        what = f"says it is drawn in {said}, but a unit of {asked.crs} is {system:.6g} m."
        raise refused(asked.path, what, f"Say which: {asked.saying('unit', 'ft')}, m ...")
    return DRAWING_UNITS[said]


def _scaled(asked: DrawnAsked, drawn: DrawnLayer) -> DrawnLayer:
    """Rows in the unit of their coordinate system, where they have one."""
    system = metres_of_system(asked.crs) if asked.crs is not None else None
    if system is None or abs(drawn.metres / system - 1) < ALIKE:
        return drawn
    scale = drawn.metres / system
    shapes = tuple(shapely.transform(shape, lambda p: p * scale) for shape in drawn.rows.shapes)
    return replace(drawn, rows=replace(drawn.rows, shapes=shapes), scale=scale)


def _judge_unit(asked: DrawnAsked, drawing: Drawing, area_m2: float) -> None:
    """Refuse a lot that in the unit of the header is none."""
    least, most = LOT_M2
    least = LOT_BY_INCHES_M2 if drawing.unit == "in" else least
    if not least <= area_m2 <= most:
        why = f"says it is drawn in {drawing.unit} ($INSUNITS), which gives {acres(area_m2)}"
        raise _unknown_unit(asked, drawing, why)


def _unknown_unit(asked: DrawnAsked, drawing: Drawing, why: str) -> InputError:
    """That the unit must be said, with the area that each would give."""
    ways = []
    for unit in GUESSED:
        metres = DRAWING_UNITS[unit]
        rows = layer_of(drawing, asked.layer, metres, lots=True).rows
        areas = [rows.shapes[at].area * metres**2 for at in _outlines(asked, rows)]
        told = f" ({acres(max(areas))})" if areas else ""
        ways.append(f"{asked.saying('unit', unit)}{told}")
    return refused(asked.path, f"{why}.", f"Say which: {'; '.join(ways)}.")


def acres(area_m2: float) -> str:
    """An area for telling units apart.

    Examples
    --------
    >>> acres(4046.8564224), acres(0.001), acres(4046.8564224e6)
    ('1.000 ac', 'under 0.001 ac', '1,000,000 ac')
    """
    size = area_m2 / ACRE
    if size < 0.001:
        return "under 0.001 ac"
    return f"{size:.3f} ac" if size < 1000 else f"{size:,.0f} ac"


def _called(asked: DrawnAsked) -> str:
    return f"layer {asked.layer!r}" if asked.layer else "any layer"


def _nothing_closed(asked: DrawnAsked, layer: Layer, rows: Rows, metres: float) -> InputError:
    """That no outline is closed, and where it gapes."""
    closed = [shape for shape in rows.shapes if isinstance(shape, Polygon)]
    if closed and asked.at is not None:
        x, y = asked.at
        west, south, east, north = shapely.total_bounds(np.array(closed, dtype=object))
        what = f"has no outline around {x:g},{y:g} on {_called(asked)}."
        mend = f"They lie at x {west:.1f} to {east:.1f}, y {south:.1f} to {north:.1f}."
        return refused(asked.path, what, mend)
    mend = "Name the layer of the property line, or draw it closed."
    if layer.open_ends is not None:
        first, other, away = layer.open_ends
        mend = (
            f"Its lines end {away / metres:.3f} apart in the unit of the drawing, at "
            f"({first[0]:.2f}, {first[1]:.2f}) and ({other[0]:.2f}, {other[1]:.2f}): join them."
        )
    return refused(asked.path, f"has no closed outline on {_called(asked)}.", mend)


def _several(asked: DrawnAsked, rows: Rows, outlines: list[int], metres: float) -> InputError:
    """That one of several outlines must be named."""
    ways = []
    for at in outlines[:TOLD]:
        shape = rows.shapes[at]
        spot = shape.representative_point()
        told = f"{acres(shape.area * metres**2)} around {spot.x:.1f},{spot.y:.1f}"
        ways.append(f"{asked.saying('where', f'NUMBER = {rows.numbers[at]}')} ({told})")
    by = ", by --at X,Y within it or" if asked.typed else ""
    more = ", ..." if len(outlines) > TOLD else ""
    what = f"has {len(outlines)} closed outlines on {_called(asked)}."
    return refused(asked.path, what, f"Say which{by}: {'; '.join(ways)}{more}.")
