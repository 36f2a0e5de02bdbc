"""What is measured in a pond: contours, soundings, shore entries, to be drawn on the page.

No rule speaks of them, so that they are no features of a lot; the pond they belong to has them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final

from shapely import Point
from shapely.geometry.base import BaseGeometry

from siteplan.site.model import Feature
from siteplan.site.options.choices import DEPTH_CONTOUR, SHORE_ENTRY, SOUNDING
from siteplan.web.drawn import shape_told
from siteplan.web.fields import said_of
from siteplan.web.items import Item

Json = dict[str, Any]
POND: Final = "pond"
MARKS: Final[Mapping[str, str]] = {DEPTH_CONTOUR: "area", SOUNDING: "at", SHORE_ENTRY: "at"}
"""Kinds of what is measured in a pond, and the key that says where it lies."""
ALSO: Final[Mapping[str, tuple[str, ...]]] = {
    DEPTH_CONTOUR: ("pond contour", "bathymetry"),
    SOUNDING: ("pond depth",),
    SHORE_ENTRY: ("shore crossing",),
}


def with_ponds(palette: Iterable[Json]) -> list[Json]:
    """Kinds of the trade as the page is told of them, and what is measured in a pond.

    ``asks``: what is asked when it is drawn, with the words of its field; ``later``: it may be
    stated afterwards, as the depth of a pond that contours or soundings follow in.
    """
    found = [
        {**each, "asks": depth_of(each["says"]), "later": True} if each["kind"] == POND else each
        for each in palette
    ]
    for kind, key in MARKS.items():
        says = said_of(kind)
        found.append({
            "kind": kind, "also": list(ALSO[kind]), "shapes": [key], "group": POND, "uses": [],
            "says": says, "line": "contour", "of": POND,
            "asks": depth_of(says),
        })  # fmt: skip
    return found


def depth_of(says: Iterable[Json]) -> Json | None:
    """What is told of the field for a depth, among all that may be said of a thing."""
    return next((each for each in says if each["key"] == "depth"), None)


def marks_told(items: Iterable[Item], ponds: Iterable[Feature]) -> Iterator[Json]:
    """What is measured in ponds, as things to be chosen, moved and taken out."""
    taped = _taped(ponds)
    for number, item in enumerate(item for item in items if item.kind in MARKS):
        shape = item.shape if item.points is not None else taped.get(item.name)
        if shape is None or shape.is_empty:
            continue
        told = " ".join(str(item.says.get("depth", "")).split())
        text = item.kind.upper() if item.kind == SHORE_ENTRY else told
        yield {
            "id": item.name or f"{item.kind} {number + 1}", "ref": item.ref, "kind": item.kind,
            "key": item.key, "points": list(item.points) if item.points is not None else None,
            "rings": shape_told(shape), "is": shape.geom_type, "says": dict(item.says),
            "taped": item.points is None, "tapes": [], "drawn": _drawn(item.kind, shape),
            "text": text, "of": POND,
        }  # fmt: skip


def _taped(ponds: Iterable[Feature]) -> dict[str, BaseGeometry]:
    """Places by name of what a tape places."""
    found: dict[str, Point] = {}
    for pond in ponds:
        found |= {each.id: each.at for each in pond.survey.soundings}
        found |= {each.id: each.at for each in pond.survey.shore_entries}
    return dict(found)


def _drawn(kind: str, shape: BaseGeometry) -> list[Json]:
    rings = shape_told(shape)
    if kind == DEPTH_CONTOUR:
        return [{"line": rings[0], "style": "contour"}]
    symbol = {"at": rings[0][0], "angle": 0.0}
    if kind == SOUNDING:
        return [{**symbol, "symbol": "crossing", "size": 1.6, "style": "contour"}]
    return [{**symbol, "symbol": "peg", "size": 2.4, "style": "access"}]
