"""The files that a site file names, and what their rows are: which reader reads which file."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.errors import InputError
from siteplan.reading import Table, beyond_limits, is_beside
from siteplan.site.frame import known_crs
from siteplan.site.options.choices import PARCEL
from siteplan.site.options.read import Read
from siteplan.site.readers.geodata import read_rows
from siteplan.site.readers.geojson import read_geojson
from siteplan.site.readers.judge import NEIGHBOURHOOD_M
from siteplan.site.readers.raw import RawFeature, plain_kind
from siteplan.site.readers.rows import Near, Rows
from siteplan.site.readers.vetted import SUFFIXES
from siteplan.vocabulary.kinds import kind_called

GEOJSON: Final = (".geojson", ".json")
DEGREES: Final = "EPSG:4326"
DXF: Final = ".dxf"
MAPPING: Final = "Say what its layers are: [[geometry.layer]] with file, layer and kind."
"""What helps where a drawing is named whole."""
SKIP: Final = "skip"
"""What a word of a column means whose rows are to be left out."""


@dataclass(frozen=True, slots=True)
class LayerAsked:
    """One layer of a file, as a site file asks for it.

    Parameters
    ----------
    table
        Where faults go.
    path
        The file.
    layer, where, crs
        Which layer and rows, and the coordinate system where the file does not say.
    kind
        What all rows are; empty where a column says.
    columns
        Our keys, by the file's columns that hold them.
    kinds
        What the words of the column of kinds mean.
    unit
        What a drawing is drawn in, where it does not say.
    """

    table: Table
    path: Path
    layer: str | None = None
    where: str | None = None
    crs: str | None = None
    kind: str = ""
    columns: Mapping[str, str] = field(default_factory=dict)
    kinds: Mapping[str, str] = field(default_factory=dict)
    unit: str | None = None

    @property
    def drawn(self) -> bool:
        """Whether the file is a drawing."""
        return self.path.suffix.lower() == DXF

    @property
    def mapped(self) -> bool:
        """Whether the site file says what the columns mean."""
        return bool(self.kind or self.columns or self.layer or self.where)


def layers_asked(geometry: Read, folder: Path) -> list[LayerAsked]:
    """The layers that ``[geometry]`` names, the one of its own ``file`` first."""
    asked = []
    if geometry.says("file"):
        own = LayerAsked(geometry.table, folder / (geometry["file"] or ""), crs=geometry["crs"])
        asked.append(own)
    asked.extend(_asked(given, geometry, folder) for given in geometry["layer"])
    return _of_one_drawing([one for one in asked if is_beside(one.path, folder, one.table)])


def _of_one_drawing(asked: list[LayerAsked]) -> list[LayerAsked]:
    """Layers asked for, with what is said of a drawing's unit and system at one of them at all."""
    units = {layer.path: layer.unit for layer in asked if layer.drawn and layer.unit}
    systems = {layer.path: layer.crs for layer in asked if layer.drawn and layer.crs}
    for layer in asked:
        if layer.unit and not layer.drawn:
            layer.table.fault("unit", f"is said of {layer.path.name}.", "Say crs: it has one.")
        elif layer.unit and units[layer.path] != layer.unit:
            what = f"is {layer.unit!r}, but {units[layer.path]!r} at another layer of the drawing."
            layer.table.fault("unit", what, "A drawing has one unit: correct one.")
    return [
        replace(
            layer,
            unit=layer.unit or units.get(layer.path),
            crs=layer.crs or systems.get(layer.path),
        )
        for layer in asked
    ]


def _asked(given: Read, geometry: Read, folder: Path) -> LayerAsked:
    file = given["file"] or geometry["file"]
    if not file:
        given.table.required("file", 'file = "county.gpkg"')
    return LayerAsked(
        given.table,
        folder / (file or ""),
        given["layer"],
        given["where"],
        given["crs"],
        given["kind"] or "",
        _texts(given, "columns"),
        _texts(given, "kinds"),
        given["unit"],
    )


def _texts(given: Read, key: str) -> dict[str, str]:
    """A table of texts."""
    value = given[key] or {}
    if isinstance(value, Mapping) and all(isinstance(text, str) for text in value.values()):
        return {str(name): text for name, text in value.items()}
    given.fault(key, f"{value!r} is not a table of texts.", f'Write {key} = {{ ... = "..." }}.')
    return {}


def features_of(asked: LayerAsked, near: RawFeature | None) -> list[RawFeature]:
    """Features of one layer; faults go to its table.

    ``near``: the parcel; only rows in its neighbourhood are read. None: all.
    """
    table, suffix = asked.table, asked.path.suffix.lower()
    if asked.crs and not known_crs(asked.crs):
        table.fault("crs", f"{asked.crs!r} is not a coordinate system.", 'Write e.g. "EPSG:26986".')
        asked = replace(asked, crs=None)
    if suffix in GEOJSON and not asked.mapped:
        return _of_geojson(asked)
    if asked.drawn:
        return _of_drawing(asked, near)
    if suffix not in SUFFIXES:
        known = ", ".join((*SUFFIXES, DXF))
        table.fault("file", f"{asked.path.name!r} is of no kind that is read.", f"Known: {known}.")
        return []
    around = None
    if near is not None and near.crs:
        around = Near(near.shape, near.crs, NEIGHBOURHOOD_M)
    try:
        rows = read_rows(
            asked.path, layer=asked.layer, where=asked.where, crs=asked.crs, near=around
        )
    except InputError as error:
        table.faults.extend(error.faults)
        return []
    if rows.crs is None:
        table.fault(
            "crs", f"is missing, and {asked.path.name} does not say.", 'Add crs = "EPSG:...".'
        )
        return []
    return list(_of_rows(asked, rows))


def _of_geojson(asked: LayerAsked) -> list[RawFeature]:
    """Features of a GeoJSON file in our own words, with the coordinate system of each."""
    table, path, crs = asked.table, asked.path, asked.crs
    content = read_geojson(path, table.unit, table.faults)
    own = content.crs
    if own and not known_crs(own):
        table.fault("file", f"names {own!r}, unknown.", "Correct its crs member.")
        own = None
    if crs and own and crs != own and not _same_crs(crs, own):
        table.fault("crs", f"is {crs} but {path.name} says {own}.", "Remove the wrong one.")
    return [replace(feature, crs=crs or own or DEGREES) for feature in content.features]


def _of_drawing(asked: LayerAsked, near: RawFeature | None) -> list[RawFeature]:
    """Features of a layer of a surveyor's drawing, in its coordinates.

    Without a coordinate system they come in the display unit, to be moved with its lot.
    """
    if not asked.mapped:
        asked.table.fault("file", f"{asked.path.name} is a drawing.", MAPPING)
        return []
    # ezdxf takes a moment to load, and few sites need it
    from siteplan.site.readers.survey_lot import (  # noqa: PLC0415
        DrawnAsked,
        read_drawn,
        read_drawn_lot,
    )

    wanted = DrawnAsked(asked.path, asked.layer, asked.where, unit=asked.unit, crs=asked.crs)
    try:
        lot = plain_kind(asked.kind) == PARCEL
        drawn = read_drawn_lot(wanted) if lot else read_drawn(wanted)
    except InputError as error:
        told = {(fault.where, fault.what) for fault in asked.table.faults}
        new = [fault for fault in error.faults if (fault.where, fault.what) not in told]
        asked.table.faults.extend(new)
        return []
    rows = replace(drawn.rows, crs=asked.crs)
    scale = drawn.metres / asked.table.unit.metres if asked.crs is None else 1.0
    features = [
        replace(raw, shape=_times(raw.shape, scale), drawing=drawn.survey)
        for raw in _of_rows(asked, rows)
    ]
    if near is None or near.moves_with != str(asked.path):
        return features
    reach = NEIGHBOURHOOD_M / asked.table.unit.metres
    return [feature for feature in features if feature.shape.distance(near.shape) <= reach]


def _times(shape: BaseGeometry, scale: float) -> BaseGeometry:
    return shapely.transform(shape, lambda points: points * scale) if scale != 1 else shape


def moved_to_lot(raws: Sequence[RawFeature], table: Table) -> list[RawFeature]:
    """Features with those of a drawing moved so that the lot's south-west corner is 0, 0.

    All of one drawing are moved alike. Those of a drawing without the lot cannot be placed.
    """
    parcel = next((raw for raw in raws if raw.kind == PARCEL), None)
    home = parcel.moves_with if parcel is not None else ""
    strangers = {raw.moves_with for raw in raws if parcel is not None} - {"", home}
    for name in sorted(strangers):
        what = f"has no coordinate system, and the parcel is not of it: {Path(name).name}."
        table.fault("layer", what, 'Take the parcel of it too, or say crs = "EPSG:...".')
    kept = [raw for raw in raws if raw.moves_with not in strangers]
    if parcel is None or not home:
        return kept
    corner = np.array(parcel.shape.bounds[:2])
    return [
        replace(raw, shape=shapely.transform(raw.shape, lambda points: points - corner))
        if raw.moves_with
        else raw
        for raw in kept
    ]


def _same_crs(first: str, second: str) -> bool:
    return first.rpartition(":")[2] == second.rpartition(":")[2]


def _of_rows(asked: LayerAsked, rows: Rows) -> Iterator[RawFeature]:
    name = asked.path.name + (f", layer {asked.layer!r}" if asked.layer else "")
    several, parts = Counter(rows.numbers), Counter[int]()
    for shape, columns, number in zip(rows.shapes, rows.columns, rows.numbers, strict=True):
        values = _values(asked, columns)
        if values is None:
            continue
        parts[number] += 1
        if several[number] > 1 and "id" in values and values.get("kind") != PARCEL:
            values["id"] = f"{values['id']}-{parts[number]}"
        where = f"{name}, row {number}"
        beyond = beyond_limits(values, where)
        if beyond:
            asked.table.faults.extend(beyond)
            continue
        thing = str(values.get("id", ""))
        own = Table(values, where, asked.table.faults, asked.table.unit, thing)
        was_open = number in rows.closed
        yield RawFeature(where, shape, own, crs=rows.crs, from_file=True, was_open=was_open)


def _values(asked: LayerAsked, columns: Mapping[str, Any]) -> dict[str, Any] | None:
    """What a row says in our keys; None where it is to be left out."""
    if asked.columns or asked.kind:
        told = {key: columns[name] for key, name in asked.columns.items() if name in columns}
    else:
        # a file that was made for us has our keys; of others only what names things is ours
        told = {key.casefold(): value for key, value in columns.items()}
    values = {key: _plain(value) for key, value in told.items()}
    for key in ("id", "label", "kind"):
        if key in values:
            values[key] = str(values[key])
    meant = kind_meant(asked, str(values.get("kind", "")))
    if meant == SKIP:
        return None
    if meant:
        values["kind"] = meant
    return values


def kind_meant(asked: LayerAsked, word: str) -> str:
    """What a row is whose column of kinds says a word; ``skip``: it is to be left out."""
    meant = asked.kinds.get(word) or asked.kinds.get(kind_called(word)) or asked.kind or word
    return meant if meant == SKIP else plain_kind(meant)


def _plain(value: object) -> object:
    """A value of a column as a site file would hold it: 7.0 that names something is 7."""
    if isinstance(value, float) and value.is_integer():
        return int(value)
    return value.item() if hasattr(value, "item") else value
