"""A site folder made from a surveyor's drawing: the drawing itself, and what its layers are."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import shapely

from siteplan.errors import Fault, InputError
from siteplan.intake.folder import SITE_FILE, NewFolder
from siteplan.intake.pick import LotAsked
from siteplan.intake.site_text import Stated, site_text
from siteplan.site.frame import known_crs
from siteplan.site.readers.raw import plain_kind, shape_name
from siteplan.site.readers.survey_dxf import open_drawing
from siteplan.site.readers.survey_lot import DrawnAsked, DrawnLayer, read_drawn_lot
from siteplan.site.readers.survey_rows import layer_of
from siteplan.site.readers.vetted import refused
from siteplan.units.lengths import format_area
from siteplan.units.systems import UNIT_SYSTEMS
from siteplan.vocabulary.kinds import kinds

MOST: Final = 12
"""So many layers that are not taken are written behind a mark; inspect tells them all."""
HOUSE: Final = "building"


def folder_of_survey(asked: LotAsked, stated: Stated, folder: Path) -> NewFolder:
    """Folder of the lot of a drawing, which is copied into it.

    Raises
    ------
    InputError
        The lot cannot be made out, or another drawing of this name is in the folder.
    """
    if asked.crs and not known_crs(asked.crs):
        raise refused(asked.path, f"cannot be in {asked.crs!r}: no such system.", "Say EPSG:2249.")
    _refuse_another(asked.path, folder)
    wanted = DrawnAsked(
        asked.path, asked.layer, asked.where, asked.at, asked.unit, asked.crs, typed=True
    )
    lot = read_drawn_lot(wanted)
    own = str(lot.rows.columns[0]["LAYER"])
    taken, others = _other_layers(asked.path, own, lot.metres)
    tables = [_lot_table(asked, own, lot), *(_table(asked, name, kind) for name, kind in taken)]
    marked = [_table(asked, name, "FILL IN") for name in others[:MOST]]
    geometry = "\n".join([
        f"# {asked.path.name} lies beside this file; its layers, and what they are",
        *tables,
        *(f"# {line}".rstrip() for table in marked for line in table.splitlines()),
    ])  # fmt: skip
    understood = tuple(_understood(asked, lot, taken, others, stated))
    text = site_text(
        stated,
        understood=understood,
        geometry=geometry.rstrip("\n"),
        entry=_entry(lot, taken, stated.unit),
    )
    return NewFolder({SITE_FILE: text}, understood, {asked.path.name: asked.path.read_bytes()})


def _refuse_another(path: Path, folder: Path) -> None:
    there = folder / path.name
    if path.is_file() and there.exists() and not there.samefile(path):
        what = f"holds another {path.name} already."
        raise InputError([Fault(str(folder), what, "Choose another folder.")])


def _lot_table(asked: LotAsked, name: str, lot: DrawnLayer) -> str:
    """Lines of the layer of the lot; its number where the layer has more outlines."""
    drawing = open_drawing(asked.path)
    outlines = layer_of(drawing, name, lot.metres, lots=True).outlines
    (shape,) = lot.rows.shapes
    more = []
    if len(outlines) > 1:
        drawn = shapely.transform(shape, lambda points: points / lot.scale)
        _, number = min(outlines, key=lambda outline: float(outline[0].hausdorff_distance(drawn)))
        more.append(f'where = "NUMBER = {number}"')
    if asked.unit is not None:
        more.append(f"unit = {json.dumps(asked.unit)}")
    if asked.crs is not None:
        more.append(f"crs = {json.dumps(asked.crs)}")
    return _table(asked, name, "parcel", more)


def _table(asked: LotAsked, name: str, kind: str, more: list[str] | None = None) -> str:
    lines = [
        "[[geometry.layer]]",
        f"file = {json.dumps(asked.path.name)}",
        f"layer = {json.dumps(name, ensure_ascii=False)}",
        *(more or ()),
        f"kind = {json.dumps(kind)}",
    ]
    return "\n".join(lines) + "\n"


def _other_layers(path: Path, own: str, metres: float) -> tuple[list[tuple[str, str]], list[str]]:
    """Layers whose name says what they are and whose shapes such things have; and the others."""
    drawing = open_drawing(path)
    taken, others = [], []
    for name in drawing.layers.values():
        shapes = layer_of(drawing, name, metres).rows.shapes
        if name == own or not shapes:
            continue
        kind = kinds().get(plain_kind(name))
        if kind is not None and {shape_name(shape) for shape in shapes} <= set(kind.shapes):
            taken.append((name, kind.name))
        else:
            others.append(name)
    return taken, others


def _understood(
    asked: LotAsked,
    lot: DrawnLayer,
    taken: list[tuple[str, str]],
    others: list[str],
    stated: Stated,
) -> Iterator[str]:
    unit = UNIT_SYSTEMS[stated.unit]
    (shape,), (says,) = lot.rows.shapes, lot.rows.columns
    metres = lot.metres / lot.scale
    area = format_area(shape.area * metres**2, unit)
    said = f"as said, {asked.unit}" if asked.unit else "as the drawing says"
    yield f"lot: {area}, layer {says['LAYER']!r} of {asked.path.name}; its unit {said}"
    yield from lot.words
    if asked.crs is None:
        yield "north: taken to be up in the drawing; 0, 0 is the lot's south-west corner"
    for name, kind in taken:
        yield f"layer {name!r}: {kind}, by its name"
    if others:
        yield f"layers not taken: {', '.join(others)}; say what they are in the site file"
    if all(kind != "street" for _, kind in taken):
        yield "street: not known; draw it in the site file"
    if all(kind != HOUSE for _, kind in taken):
        yield "house: not known; draw it in the site file"
    yield "not known: wells, septic, utilities, easements that the drawing does not show"


def _entry(lot: DrawnLayer, taken: list[tuple[str, str]], unit: str) -> str:
    if any(kind == HOUSE for _, kind in taken):
        return 'entry = "any wall"              # of the house; or [[x, y]] where the pipes come in'
    (shape,) = lot.rows.shapes
    west, south, *_ = shape.bounds
    spot, scale = shape.representative_point(), lot.metres / lot.scale
    x, y = ((at - low) * scale / UNIT_SYSTEMS[unit].metres for at, low in
            ((spot.x, west), (spot.y, south)))  # fmt: skip
    return f"# entry = [[{x:.0f}, {y:.0f}]]      # FILL IN: at the wall"
