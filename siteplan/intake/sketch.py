"""A site folder made from a lot sketched on a map: one file whose rows say what each of them is.

Map programs of phones and of the web write such files: a few shapes with their names. The file is
copied into the folder, and its column of names says the kinds.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from shapely import Polygon

from siteplan.errors import Fault, InputError
from siteplan.intake.folder import SITE_FILE, NewFolder
from siteplan.intake.looked_at import column_of_kinds, columns_of
from siteplan.intake.pick import LotAsked
from siteplan.intake.site_text import Stated, site_text
from siteplan.site.frame import frame_around
from siteplan.site.options.choices import PARCEL
from siteplan.site.readers.geodata import layers_of, read_rows
from siteplan.site.readers.layers import SKIP
from siteplan.site.readers.raw import plain_kind
from siteplan.site.readers.rows import LayerInfo, Rows, condition
from siteplan.site.readers.vetted import on_earth, refused
from siteplan.units.lengths import format_area
from siteplan.units.systems import UNIT_SYSTEMS
from siteplan.vocabulary.kinds import kinds

SKETCHED: Final = (".kml", ".kmz", ".geojson", ".json", ".gpkg")
"""Endings of files that hold all that is drawn in one file."""
MOST_ROWS: Final = 300
"""More rows than this nobody sketches by hand: it is a county's file."""
HOUSE: Final = "building"
STREET: Final = "street"


@dataclass(frozen=True, slots=True)
class SketchedLayer:
    """A layer of a sketch.

    Parameters
    ----------
    name
        Its name.
    column
        The column that says the kinds; empty where the layer's name says the kind of all its rows.
    words
        What is said of each row.
    """

    name: str
    column: str
    words: tuple[str, ...]

    @property
    def unknown(self) -> tuple[str, ...]:
        """Words that are no kind."""
        return tuple(dict.fromkeys(word for word in self.words if not _is_known(word)))


@dataclass(frozen=True, slots=True)
class Sketch:
    """A file whose rows say what they are.

    Parameters
    ----------
    path
        The file.
    layers
        Its layers that tell kinds.
    aside
        Names of its other layers.
    area_m2
        Area of the one outline that is the lot [m2].
    """

    path: Path
    layers: tuple[SketchedLayer, ...]
    aside: tuple[str, ...]
    area_m2: float

    @property
    def words(self) -> tuple[str, ...]:
        """What is said of each row of its layers."""
        return tuple(word for layer in self.layers for word in layer.words)

    @property
    def unknown(self) -> tuple[str, ...]:
        """Words of its layers that are no kind."""
        return tuple(dict.fromkeys(word for layer in self.layers for word in layer.unknown))


def sketch_of(asked: LotAsked) -> Sketch | None:
    """The sketch of a lot, where a file is one; None where it is a county's file.

    A file is a sketch where one of its rows, an outline, is called a lot, and enough of the others
    are called as people call a kind; and where no other row is asked for.

    Raises
    ------
    InputError
        The file cannot be read, or its rows are called as kinds, none of them a lot.
    """
    path = asked.path
    if path.suffix.lower() not in SKETCHED or asked.at is not None or asked.layer is not None:
        return None
    infos = layers_of(path)
    if sum(each.rows for each in infos) > MOST_ROWS:
        return None
    read = [(info, read_rows(path, layer=info.name, crs=asked.crs)) for info in infos]
    columns = [column_of_kinds(tuple(columns_of(info, rows))) for info, rows in read]
    layers, lots = [], []
    for (info, rows), column in zip(read, columns, strict=True):
        layer = _layer(info, rows, "" if column is None else column.name)
        layers += [layer] if layer is not None else []
        lots += _lots(rows, column.name) if column is not None else []
    if any(rows.crs is None for _, rows in read) and asked.crs is None:
        return None  # a file that does not say where it lies is refused as a county's is
    named = [column.name for column in columns if column is not None]
    if not lots and named and asked.where is None and sum(len(rows.shapes) for _, rows in read) > 1:
        raise refused(
            path,
            f"has things by their kinds in its column {named[0]}, and no outline called a lot.",
            f"Call the outline of the lot “Lot” in its column {named[0]}; or say which it is: "
            f"--where '{named[0]} = ...'.",
        )
    if len(lots) != 1 or not _is_meant(asked, lots[0][1]):
        return None
    shape, _, crs = lots[0]
    with on_earth(path):
        area_m2 = frame_around(shape, crs or asked.crs or "").localize(shape).area
    aside = {info.name for info in infos} - {layer.name for layer in layers}
    return Sketch(path, tuple(layers), tuple(sorted(aside)), area_m2)


def folder_of_sketch(sketch: Sketch, stated: Stated, folder: Path) -> NewFolder:
    """Folder of a sketch, which is copied into it.

    Raises
    ------
    InputError
        Another file of this name is in the folder.
    """
    path = sketch.path
    there = folder / path.name
    if there.exists() and not there.samefile(path):
        what = f"holds another {path.name} already."
        raise InputError([Fault(str(folder), what, "Choose another folder.")])
    understood = tuple(_understood(sketch, stated))
    text = site_text(
        stated,
        understood=understood,
        geometry=_tables(sketch),
        entry=_entry(sketch),
    )
    return NewFolder({SITE_FILE: text}, understood, {path.name: path.read_bytes()})


def _layer(info: LayerInfo, rows: Rows, column: str) -> SketchedLayer | None:
    """What a layer tells by a column, or by its name; None where neither tells a kind."""
    if not column and (not _is_known(info.name) or not rows.shapes):
        return None
    # a shape in parts is one thing
    says = dict(zip(rows.numbers, rows.columns, strict=True)).values()
    words = tuple(_said(each, column) if column else info.name for each in says)
    return SketchedLayer(info.name, column, words)


def _lots(rows: Rows, column: str) -> list[tuple[Polygon, Mapping[str, Any], str | None]]:
    """Outlines that are called a lot, with what their rows say and their coordinate system."""
    return [
        (shape, says, rows.crs)
        for shape, says in zip(rows.shapes, rows.columns, strict=True)
        if isinstance(shape, Polygon) and plain_kind(_said(says, column)) == PARCEL
    ]


def _said(says: Mapping[str, Any], column: str) -> str:
    value = says.get(column)
    return "" if value is None else str(value)


def _is_meant(asked: LotAsked, says: Mapping[str, Any]) -> bool:
    """Whether the row of the lot is the one asked for, if one is."""
    if asked.where is None:
        return True
    column, value = condition(asked.where, asked.path)
    return _said(says, column) == value


def _is_known(word: str) -> bool:
    return plain_kind(word) in (*kinds(), PARCEL)


def _tables(sketch: Sketch) -> str:
    """Lines of the layers; of those that tell no kind each behind a mark."""
    told = [_table(sketch, layer) for layer in sketch.layers]
    file = json.dumps(sketch.path.name, ensure_ascii=False)
    aside = [
        f"# [[geometry.layer]]\n# file = {file}\n"
        f'# layer = {json.dumps(name, ensure_ascii=False)}\n# kind = "FILL IN"'
        for name in sketch.aside
    ]
    head = f"# {sketch.path.name} lies beside this file; what each row is stands in it"
    return "\n".join([head, *told, *aside])


def _table(sketch: Sketch, layer: SketchedLayer) -> str:
    lines = [
        "[[geometry.layer]]",
        f"file = {json.dumps(sketch.path.name, ensure_ascii=False)}",
    ]
    if len(sketch.layers) + len(sketch.aside) > 1:
        lines.append(f"layer = {json.dumps(layer.name, ensure_ascii=False)}")
    if not layer.column:
        lines.append(f"kind = {json.dumps(plain_kind(layer.name), ensure_ascii=False)}")
        return "\n".join(lines)
    lines.append(f"columns = {{ kind = {json.dumps(layer.column, ensure_ascii=False)} }}")
    if layer.unknown:
        pairs = ", ".join(
            f"{json.dumps(word, ensure_ascii=False)} = {json.dumps(SKIP)}" for word in layer.unknown
        )
        lines.append(f"kinds = {{ {pairs} }}  # FILL IN: what they are")
    return "\n".join(lines)


def _understood(sketch: Sketch, stated: Stated) -> Iterator[str]:
    area = format_area(sketch.area_m2, UNIT_SYSTEMS[stated.unit])
    yield f"lot: {area}, of {sketch.path.name}; a shape drawn on a map is no survey"
    counts = Counter(plain_kind(word) for word in sketch.words if _is_known(word))
    del counts[PARCEL]
    told = ", ".join(
        f"{number} {kind if number == 1 else f'{kind}s'}" for kind, number in counts.items()
    )
    yield f"by what its rows are called: {told or 'nothing else'}"
    if sketch.aside:
        yield f"layers not taken: {', '.join(sketch.aside)}; say what they are in the site file"
    if sketch.unknown:
        yield (
            f"not taken: {', '.join(word or 'a row without a name' for word in sketch.unknown)}; "
            "say what they are in the site file"
        )
    for kind, thing in ((STREET, "street"), (HOUSE, "house")):
        if kind not in counts:
            yield f"{thing}: not known; draw it in the site file"
    yield "not known: wells, septic, utilities, easements that the sketch does not show"


def _entry(sketch: Sketch) -> str:
    if any(plain_kind(word) == HOUSE for word in sketch.words):
        return 'entry = "any wall"              # of the house; or [[x, y]] where the pipes come in'
    return "# entry = [[x, y]]      # FILL IN: at the wall"
