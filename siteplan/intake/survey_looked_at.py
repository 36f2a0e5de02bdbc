"""What a surveyor's drawing holds: its unit, what was left out, and each of its layers."""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path
from typing import Final

import numpy as np
import shapely

from siteplan.intake.looked_at import UNNAMED, LayerLook, columns_of, faults_of
from siteplan.site.options.choices import PARCEL
from siteplan.site.readers.raw import plain_kind
from siteplan.site.readers.rows import LayerInfo, Rows
from siteplan.site.readers.survey_dxf import Drawing, open_drawing
from siteplan.site.readers.survey_lot import GUESSED, acres
from siteplan.site.readers.survey_rows import Layer, layer_of
from siteplan.units.lengths import DRAWING_UNITS
from siteplan.vocabulary.kinds import kinds

OWN: Final = ("LAYER", "ENTITY", "NUMBER")


def look_at_drawing(path: Path, unit: str | None) -> tuple[list[str], tuple[LayerLook, ...]]:
    """Words about a drawing, and what each of its layers holds.

    Raises
    ------
    InputError
        The file cannot be read.
    """
    drawing = open_drawing(path)
    said = unit or drawing.unit
    if said is None:
        first = f"{path.name} {drawing.unit_words}: areas by each unit; say --file-unit"
    else:
        first = f"{path.name}: drawn in {said}{'' if unit else ', as it says'}"
    looks = tuple(_look(drawing, name, said) for name in drawing.layers.values())
    words = [first, *drawing.words, "a drawing has no coordinate system of its own"]
    return words, tuple(look for look in looks if look is not None)


def _look(drawing: Drawing, name: str, unit: str | None) -> LayerLook | None:
    layer = layer_of(drawing, name, DRAWING_UNITS[unit or GUESSED[0]], lots=_may_be_lots(name))
    rows = layer.rows
    if not rows.shapes:
        return None
    told = Counter(str(says["ENTITY"]) for says in rows.columns)
    shapes = np.array(rows.shapes, dtype=object)
    info = LayerInfo(
        name,
        ", ".join(f"{count} {kind}" for kind, count in told.most_common()),
        len(rows.shapes),
        _columns(rows),
        None,
        None,
    )
    west, south, east, north = shapely.total_bounds(shapes)
    return LayerLook(
        info,
        len(rows.shapes),
        tuple(columns_of(info, rows)),
        f"x {west:,.2f} to {east:,.2f}, y {south:,.2f} to {north:,.2f}",
        _sizes(layer, unit),
        tuple(faults_of(rows)),
        _mapping(drawing, name, layer, unit),
    )


def _may_be_lots(name: str) -> bool:
    """Whether lines of a layer may be lot lines: its name does not say that they are else."""
    return plain_kind(name) not in kinds()


def _columns(rows: Rows) -> tuple[tuple[str, str], ...]:
    """Columns that tell rows apart, what every row has aside."""
    names = dict.fromkeys(name for says in rows.columns for name in says)
    return tuple((name, "object") for name in names if name not in OWN)


def _sizes(layer: Layer, unit: str | None) -> str:
    """Areas of the outlines, by each unit where the drawing does not say its own."""
    words = [f"outlines: {len(layer.outlines)}"] if layer.outlines else ["no closed outline"]
    areas = [shape.area for shape, _ in layer.outlines]
    for each in (unit,) if unit else GUESSED if areas else ():
        metres = DRAWING_UNITS[each]
        told = [acres(area * metres**2) for area in (min(areas), max(areas))] if areas else []
        if told:
            words.append(f"{' to '.join(dict.fromkeys(told))} in {each}")
    return "; ".join([*words, *layer.words])


def _mapping(drawing: Drawing, name: str, layer: Layer, unit: str | None) -> str:
    """Lines of a site file that would name the layer."""
    lines = [
        "[[geometry.layer]]",
        f"file = {json.dumps(drawing.path.name)}",
        f"layer = {json.dumps(name, ensure_ascii=False)}",
    ]
    if unit is None or unit != drawing.unit:
        lines.append(f"unit = {json.dumps(unit or UNNAMED)}")
    kind = plain_kind(name)
    known = kind == PARCEL or kind in kinds()
    if kind == PARCEL and len(layer.outlines) > 1:
        lines.append(f'where = "NUMBER = {layer.outlines[0][1]}"')
    lines.append(f'kind = "{kind if known else UNNAMED}"')
    return "\n".join(lines)
