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
from siteplan.site.readers.rows import LayerInfo, condition
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
class Sketch:
    """A layer whose rows say what they are.

    Parameters
    ----------
    path
        The file.
    layer
        Name of the layer; empty where the file has no other.
    column
        The column that says the kinds.
    area_m2
        Area of the one outline that is the lot [m2].
    words
        What the column says of each row.
    """

    path: Path
    layer: str
    column: str
    area_m2: float
    words: tuple[str, ...]

    @property
    def unknown(self) -> tuple[str, ...]:
        """Words that are no kind."""
        return tuple(dict.fromkeys(word for word in self.words if not _is_known(word)))


def sketch_of(asked: LotAsked) -> Sketch | None:
    """The sketch of a lot, where a file is one; None where it is a county's file.

    A file is a sketch where one of its rows, an outline, is called a lot, and enough of the others
    are called as people call a kind; and where no other row is asked for.

    Raises
    ------
    InputError
        The file cannot be read, or its rows are called as kinds, none of them a lot.
    """
    if asked.path.suffix.lower() not in SKETCHED or asked.at is not None:
        return None
    layers = layers_of(asked.path)
    if sum(each.rows for each in layers) > MOST_ROWS:
        return None
    wanted = [each for each in layers if asked.layer in (None, each.name)]
    found = [_sketched(asked, each, several=len(layers) > 1) for each in wanted]
    sketches = [each for each in found if each is not None]
    return sketches[0] if len(sketches) == 1 else None


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
        geometry=_table(sketch),
        entry=_entry(sketch),
    )
    return NewFolder({SITE_FILE: text}, understood, {path.name: path.read_bytes()})


def _sketched(asked: LotAsked, info: LayerInfo, *, several: bool) -> Sketch | None:
    rows = read_rows(asked.path, layer=info.name, crs=asked.crs)
    column = column_of_kinds(tuple(columns_of(info, rows)))
    crs = rows.crs or asked.crs
    if column is None or crs is None:
        return None
    words = [_said(says, column.name) for says in rows.columns]
    lots = [
        (shape, says)
        for shape, says, word in zip(rows.shapes, rows.columns, words, strict=True)
        if plain_kind(word) == PARCEL and isinstance(shape, Polygon)
    ]
    if not lots and len(rows.shapes) > 1 and asked.where is None:
        name = column.name
        raise refused(
            asked.path,
            f"has things by their kinds in its column {name}, and no outline called a lot.",
            f"Call the outline of the lot “Lot” in its column {name}; or say which it is: "
            f"--where '{name} = ...'.",
        )
    if len(lots) != 1 or not _is_meant(asked, lots[0][1]):
        return None
    once = dict(zip(rows.numbers, words, strict=True))  # a shape in parts is one thing
    layer = info.name if several else ""
    with on_earth(asked.path):
        area_m2 = frame_around(lots[0][0], crs).localize(lots[0][0]).area
    return Sketch(asked.path, layer, column.name, area_m2, tuple(once.values()))


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


def _table(sketch: Sketch) -> str:
    lines = [
        f"# {sketch.path.name} lies beside this file; what each row is stands in its column "
        f"{sketch.column}",
        "[[geometry.layer]]",
        f"file = {json.dumps(sketch.path.name, ensure_ascii=False)}",
    ]
    if sketch.layer:
        lines.append(f"layer = {json.dumps(sketch.layer, ensure_ascii=False)}")
    lines.append(f"columns = {{ kind = {json.dumps(sketch.column, ensure_ascii=False)} }}")
    if sketch.unknown:
        pairs = ", ".join(
            f"{json.dumps(word, ensure_ascii=False)} = {json.dumps(SKIP)}"
            for word in sketch.unknown
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
    yield f"by its column {sketch.column}: {told or 'nothing else'}"
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
