"""What a geometry file holds: layers, columns, extents, faults, and how a site file names it."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
import shapely
from shapely import Polygon

from siteplan.errors import GeometryError
from siteplan.site.frame import LocalFrame, frame_around, is_geographic
from siteplan.site.likely_systems import likely_systems
from siteplan.site.options.choices import ADJOINING, PARCEL
from siteplan.site.readers.geodata import first_rows, layers_of
from siteplan.site.readers.mend import TOUCHES
from siteplan.site.readers.raw import plain_kind
from siteplan.site.readers.rows import LayerInfo, Rows, is_number
from siteplan.site.readers.vetted import SUFFIXES, refused
from siteplan.units.lengths import ACRE
from siteplan.vocabulary.kinds import kinds

WORDS: Final = 20
"""So many values of a column are kept: a column of kinds has no more."""
EXAMPLES: Final = 3
"""So many values of a column are shown."""
TOLD: Final = 5
"""So many rows of a fault are named."""
TWICE_M: Final = 0.01
"""Corners nearer to one another are drawn twice [m]."""
LOT_M2: Final = (100.0, 1e6)
"""Areas between which half of the shapes of a layer of lots lie [m2]."""
MOSTLY: Final = 0.3
"""Share of the words of a column that name kinds where it is a column of kinds."""
TEXTS: Final = ("object", "str", "string")
"""What a column of texts may be called."""
UNNAMED: Final = "FILL IN"


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its type, how many rows say something in it, and what most of them say."""

    name: str
    type: str
    filled: int
    different: int
    words: tuple[str, ...]

    @property
    def examples(self) -> tuple[str, ...]:
        """What few of its rows say."""
        return self.words[:EXAMPLES]


@dataclass(frozen=True, slots=True)
class LayerLook:
    """What a layer holds.

    Parameters
    ----------
    info
        What it says of itself.
    looked_at
        How many of its rows were looked at.
    columns
        Its columns.
    where
        Its extent and place, in words; empty without shapes.
    sizes
        Areas or lengths of its shapes, in words.
    faults
        What is wrong with its shapes, in words.
    mapping
        The lines of a site file that would name it.
    """

    info: LayerInfo
    looked_at: int
    columns: tuple[Column, ...]
    where: str
    sizes: str
    faults: tuple[str, ...]
    mapping: str


def look_at(path: Path) -> tuple[LayerLook, ...]:
    """What each layer of a file holds.

    Raises
    ------
    InputError
        The file cannot be read.
    """
    if path.suffix.lower() not in SUFFIXES:
        raise refused(path, "is of no kind that is read.", f"Known: {', '.join(SUFFIXES)}, .dxf.")
    several = layers_of(path)
    return tuple(_look(path, info, several) for info in several)


def _look(path: Path, info: LayerInfo, several: Sequence[LayerInfo]) -> LayerLook:
    rows = first_rows(path, info)
    columns = tuple(columns_of(info, rows))
    return LayerLook(
        info,
        len(set(rows.numbers)) + rows.empty + len(rows.broken),
        columns,
        _where(info),
        _sizes(rows),
        (*_nowhere(info), *faults_of(rows)),
        _mapping(path, info, rows, columns, several),
    )


def columns_of(info: LayerInfo, rows: Rows) -> Iterator[Column]:
    """Columns of a layer, with what their rows say."""
    # a shape in parts is as many rows: each is one here
    first = dict(zip(rows.numbers, rows.columns, strict=True))
    for name, kind in info.columns:
        told = Counter(str(row[name]) for row in first.values() if name in row)
        said = tuple(value for value, _ in told.most_common(WORDS))
        plain = "number" if is_number(kind) else "text" if kind in TEXTS else kind
        yield Column(name, plain, told.total(), len(told), said)


def _where(info: LayerInfo) -> str:
    if info.bounds is None:
        return ""
    west, south, east, north = info.bounds
    digits = 6 if info.crs and is_geographic(info.crs) else 1
    extent = (
        f"x {west:,.{digits}f} to {east:,.{digits}f}, y {south:,.{digits}f} to {north:,.{digits}f}"
    )
    outline = shapely.box(west, south, east, north)
    if info.crs:
        frame = _frame(outline, info.crs)
        if frame is None:
            return f"{extent}; nowhere on earth in its coordinate system"
        return f"{extent}; middle near {frame.latitude:.4f}, {frame.longitude:.4f}"
    ways = ", ".join(
        f"{each.code} ({each.name}) near {each.latitude:.2f}, {each.longitude:.2f}"
        for each in likely_systems(outline)
    )
    return f"{extent}; no coordinate system: likely {ways or 'none known'}"


def _frame(outline: Polygon, crs: str) -> LocalFrame | None:
    """Frame around an outline; None where it lies nowhere on earth."""
    try:
        return frame_around(outline, crs)
    except GeometryError:
        return None


def _sizes(rows: Rows) -> str:
    """Least, median and greatest area or length, where the coordinate system is known."""
    if not rows.shapes or rows.crs is None:
        return ""
    frame = _frame(shapely.box(*rows.shapes[0].bounds), rows.crs)
    if frame is None:
        return ""
    # all at once: one by one it takes ten times as long
    local = frame.localize(shapely.GeometryCollection(list(rows.shapes)), rows.crs)
    areas = shapely.area(shapely.get_parts(local)) / ACRE
    if (areas > 0).any():
        least, middle, most = np.quantile(areas[areas > 0], [0, 0.5, 1])
        return f"areas {least:.3f} to {most:.3f} ac, half of them over {middle:.3f} ac"
    return ""


def _nowhere(info: LayerInfo) -> Iterator[str]:
    if info.bounds and info.crs and _frame(shapely.box(*info.bounds), info.crs) is None:
        yield "shapes that lie nowhere on earth: is the coordinate system right?"


def faults_of(rows: Rows) -> Iterator[str]:
    """What is wrong with shapes, in words."""
    shapes = np.array(rows.shapes, dtype=object)
    if rows.empty:
        yield f"rows without a shape: {rows.empty}"
    if rows.broken:
        yield f"rows with a corner that is no place: {len(rows.broken)}, {_named(rows.broken)}"
    if rows.closed:
        yield f"outlines left open: {len(rows.closed)}, {_named(rows.closed)}; they are closed"
    if not len(shapes):
        return
    numbers = np.array(rows.numbers)
    reasons = np.array([shapely.is_valid_reason(shape) for shape in shapes])
    touching = np.strings.startswith(reasons, TOUCHES)
    crossing = (reasons != "Valid Geometry") & ~touching
    for does, found in (("cross", crossing), ("touch", touching)):
        if found.any():
            named = _named(numbers[found].tolist())
            yield f"shapes that {does} themselves: {found.sum()}, {named} ({reasons[found][0]})"
    seen = Counter(shapely.to_wkb(shapely.normalize(shapes)).tolist())
    twice = sum(times - 1 for times in seen.values())
    if twice:
        yield f"shapes drawn once more: {twice}"
    parts = [number for number, times in Counter(rows.numbers).items() if times > 1]
    if parts:
        yield f"rows in several parts: {len(parts)}, {_named(parts)}"


def _named(numbers: Sequence[int]) -> str:
    told = ", ".join(str(number) for number in list(dict.fromkeys(numbers))[:TOLD])
    return f"rows {told}{' ...' if len(set(numbers)) > TOLD else ''}"


def _mapping(
    path: Path,
    info: LayerInfo,
    rows: Rows,
    columns: Sequence[Column],
    several: Sequence[LayerInfo],
) -> str:
    """Lines of a site file that would name the layer."""
    lines = ["[[geometry.layer]]", f"file = {json.dumps(path.name)}"]
    if len(several) > 1:
        lines.append(f"layer = {json.dumps(info.name)}")
    if info.crs is None:
        lines.append(f'crs = "{UNNAMED}"')
    told = column_of_kinds(columns)
    kind = plain_kind(info.name)
    if told is not None:
        words = [word for word in told.words if not _is_kind(word)]
        lines.append(f"columns = {{ kind = {json.dumps(told.name)} }}")
        if words:
            pairs = ", ".join(f'{json.dumps(word)} = "{UNNAMED}"' for word in words)
            lines.append(f"kinds = {{ {pairs} }}")
    elif _are_lots(info, rows, several):
        key = _column_that_names(columns)
        lines.append(f"where = {json.dumps(f'{key.name} = {key.examples[0]}') if key else UNNAMED}")
        lines.append('kind = "parcel"')
    else:
        lines.append(f'kind = "{kind if _is_kind(kind) else UNNAMED}"')
    return "\n".join(lines)


def _is_kind(word: str) -> bool:
    return plain_kind(word) in (*kinds(), ADJOINING, PARCEL)


def column_of_kinds(columns: Sequence[Column]) -> Column | None:
    """The column most of whose few words are kinds, if one is."""
    few = [column for column in columns if 0 < column.different <= WORDS]
    shares = [sum(map(_is_kind, column.words)) / column.different for column in few]
    best = max(range(len(few)), key=lambda index: shares[index], default=None)
    return few[best] if best is not None and shares[best] >= MOSTLY else None


def _are_lots(info: LayerInfo, rows: Rows, several: Sequence[LayerInfo]) -> bool:
    """Whether a layer is called lots; or looks like them by its shapes where none is called so."""
    if any(plain_kind(each.name) == PARCEL for each in several):
        return plain_kind(info.name) == PARCEL
    if not rows.shapes or rows.crs is None:
        return True
    frame = _frame(shapely.box(*rows.shapes[0].bounds), rows.crs)
    if frame is None:
        return True
    areas = [frame.localize(shape, rows.crs).area for shape in rows.shapes[:200]]
    return bool(LOT_M2[0] <= np.median(areas) <= LOT_M2[1]) and not _is_kind(info.name)


def _column_that_names(columns: Sequence[Column]) -> Column | None:
    """The column that says something else in each row, a text before a number."""
    named = [column for column in columns if column.different == column.filled > 0]
    named.sort(key=lambda column: column.type != "text")
    return named[0] if named else None
