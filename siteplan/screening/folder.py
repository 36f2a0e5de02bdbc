"""A site folder of one lot as it was screened: the same things on it, the same tables."""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.intake.folder import DECIMALS, DEGREE_DECIMALS, LOT_FILE, SITE_FILE, NewFolder
from siteplan.screening.asked import UNKNOWN, Asked
from siteplan.screening.assumed import Known, with_granted
from siteplan.screening.chunk import Chunk
from siteplan.screening.clean import cleaned
from siteplan.screening.handed import handed_in
from siteplan.screening.part import Task, chunk_of, localized
from siteplan.screening.sources import Sources, lots_that_say, read_lots
from siteplan.screening.terms import ALWAYS, terms_of
from siteplan.site.frame import LocalFrame, is_geographic
from siteplan.site.readers.rows import condition
from siteplan.site.readers.vetted import refused


def folder_as_screened(handed: Path, where: str, day: datetime.date) -> NewFolder:
    """Folder of a lot as a screening looked at it.

    Parameters
    ----------
    handed
        The file that the screening left.
    where
        What picks the lot, as its row says.
    day
        Of the title block.

    Raises
    ------
    InputError
        The file is none of a screening; no lot, or more than one, is picked; the lot cannot be
        screened.
    """
    asked, sources = handed_in(handed)
    path = Path(sources.lots.path)
    column, value = condition(where, path)
    fids = lots_that_say(sources.lots, column, value)
    if not len(fids):
        raise refused(path, f"has no row where {where}.", "Copy it from the column where.")
    read = read_lots(sources.lots, fids, ())
    bounds = shapely.total_bounds(read.shapes)
    anchor = (float(bounds[0] + bounds[2]) / 2, float(bounds[1] + bounds[3]) / 2)
    frame, shapes = localized(read.shapes, sources.lots.crs, anchor)
    clean = cleaned(shapes)
    lots = np.flatnonzero(clean.units > 0)
    if len(lots) > 1:
        raise refused(path, f"has {len(lots)} lots where {where}.", "Say row = N, as its row does.")
    outline = clean.outlines[lots]
    if frame is None or shapely.is_missing(outline).any():
        raise refused(path, f"{clean.why_not[lots[0]]}, where {where}.", "Mend it in the file.")
    terms = terms_of(asked, tuple(dict.fromkeys((*ALWAYS, *sources.kinds))))
    chunk = chunk_of(outline, frame, Task(sources, asked, terms))
    chunk, told = with_granted(chunk, asked, Known(sources.kinds))
    origin = np.floor(shapely.bounds(outline)[0, :2])
    understood = tuple(_understood(sources, told[0], str(clean.mended[lots[0]])))
    files = {
        LOT_FILE: _geojson(chunk, frame, origin),
        SITE_FILE: _site_file(asked, value, day, understood, chunk),
    }
    return NewFolder(files, understood)


def _understood(sources: Sources, told: list[str], mended: str) -> Iterator[str]:
    yield f"lot of {Path(sources.lots.path).name}, as it was screened"
    if mended:
        yield mended
    for layer in sources.around:
        yield f"{layer.kind}: of {Path(layer.path).name}, layer {layer.name}"
    if told:
        yield f"ASSUMED, not known: {', '.join(told)}; replace it before the plan is believed"


def _geojson(chunk: Chunk, frame: LocalFrame, origin: np.ndarray[Any, Any]) -> str:
    """The lot and what is on it, in the coordinates of its file."""
    features = [_feature(chunk.outlines[0], frame, origin, kind="parcel")]
    for number, (shape, kind) in enumerate(zip(chunk.things, chunk.kinds.tolist(), strict=True)):
        name = "house" if number == chunk.houses[0] else f"{kind} {number}"
        told = UNKNOWN.get(kind, {})
        features.append(_feature(shape, frame, origin, kind=kind, id=name, **told))
    system = {"type": "name", "properties": {"name": frame.crs}}
    lines = ",\n".join(json.dumps(feature) for feature in features)
    head = f'{{"type": "FeatureCollection", "crs": {json.dumps(system)}, "features": [\n'
    return f"{head}{lines}\n]}}\n"


def _feature(
    shape: BaseGeometry, frame: LocalFrame, origin: np.ndarray[Any, Any], **says: str
) -> dict[str, Any]:
    decimals = DEGREE_DECIMALS if is_geographic(frame.crs) else DECIMALS
    written = frame.written(shapely.transform(shape, lambda xy: xy + origin))
    rounded = shapely.transform(written, lambda xy: np.round(xy, decimals))
    return {"type": "Feature", "properties": says, "geometry": shapely.geometry.mapping(rounded)}


def _site_file(
    asked: Asked, number: str, day: datetime.date, understood: tuple[str, ...], chunk: Chunk
) -> str:
    head = [
        "# Made by siteplan new of a screening. What it understood:",
        *(f"#   {line}" for line in understood),
        "# Every key: docs/site-file.md.",
        "",
    ]
    project = {"title": "Ground loop", "owner": "FILL IN", "units": asked.unit, "parcel_id": number}
    tables: dict[str, Any] = {
        "project": project, "geometry": {"file": LOT_FILE}, **asked.tables,
        "exchanger": {"system": "choose", **asked.tables.get("exchanger", {})},
    }  # fmt: skip
    if chunk.houses[0] >= 0:
        tables["exchanger"].setdefault("entry", "any wall")
    lines = []
    for name, table in tables.items():
        lines += [f"[{name}]", *(f"{_key(key)} = {_toml(each)}" for key, each in table.items())]
        lines += [f"date = {day.isoformat()}", ""] if name == "project" else [""]
    return "\n".join([*head, *lines])


def _toml(value: Any) -> str:
    """A value as a site file writes it.

    Examples
    --------
    >>> _toml({"least": "150 ft", "rows": [1, True]})
    '{ least = "150 ft", rows = [1, true] }'
    """
    if isinstance(value, Mapping):
        return f"{{ {', '.join(f'{_key(key)} = {_toml(each)}' for key, each in value.items())} }}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(_toml, value))}]"
    return json.dumps(value, ensure_ascii=False)


def _key(key: str) -> str:
    return key if key.replace("_", "").replace("-", "").isalnum() else json.dumps(key)
