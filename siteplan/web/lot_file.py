"""The text of a GeoJSON lot, of which single coordinates are changed and nothing else moves."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Sequence
from pathlib import PurePosixPath, PureWindowsPath
from typing import Any, Final

SUFFIXES: Final = (".geojson", ".json")
GEOGRAPHIC_DECIMALS: Final = 8
DECIMALS: Final = 3
"""Decimals of coordinates in degrees, and of others: about a millimetre."""

XY = tuple[float, float]


def named_lot(site_text: str) -> str:
    r"""Name of the GeoJSON beside the site file that holds its lot; empty where none does.

    Examples
    --------
    >>> named_lot('[geometry]\nfile = "lot.geojson"'), named_lot('[geometry]\nfile = "../x.json"')
    ('lot.geojson', '')
    """
    try:
        geometry = tomllib.loads(site_text).get("geometry", {})
    except tomllib.TOMLDecodeError:
        return ""
    name = geometry.get("file", "") if isinstance(geometry, dict) else ""
    plain = isinstance(name, str) and is_plain(name)
    return name if plain and name.lower().endswith(SUFFIXES) else ""


def is_plain(name: str) -> bool:
    """Whether a name is of a file in the folder itself, seen by any system."""
    alone = PurePosixPath(name).name == name == PureWindowsPath(name).name
    return alone and not name.startswith(".") and len(name) <= 200 and "\0" not in name


class _Number(float):
    """A number that knows how it was written."""

    text: str

    @classmethod
    def read(cls, text: str) -> _Number:
        number = cls(text)
        number.text = text
        return number


_DECODER: Final = json.JSONDecoder(parse_float=_Number.read, parse_int=_Number.read)
_FEATURES: Final = re.compile(r'"features"\s*:\s*\[')
_PROPERTIES: Final = re.compile(r'"properties"\s*:\s*')
_GEOMETRY: Final = re.compile(r'"geometry"\s*:\s*')


def features_of(text: str) -> list[dict[str, Any]]:
    """Features of the file; empty where it is none that can be changed here."""
    return [feature for feature, _, _ in _spans(text)]


def _spans(text: str) -> list[tuple[dict[str, Any], int, int]]:
    """Every feature with where its text begins and ends."""
    try:
        whole = json.loads(text)
    except ValueError:
        return []
    features = whole.get("features") if isinstance(whole, dict) else None
    start = _FEATURES.search(text)
    if not isinstance(features, list) or start is None:
        return []
    found: list[tuple[dict[str, Any], int, int]] = []
    at = start.end()
    for feature in features:
        at = _next(text, at)
        told, end = _DECODER.raw_decode(text, at)
        if told != feature or not isinstance(told, dict):
            return []
        found.append((told, at, end))
        at = end
    return found


def _next(text: str, at: int) -> int:
    while text[at] in " \t\r\n,":
        at += 1
    return at


def with_points(text: str, number: int, points: Sequence[XY], *, decimals: int) -> str:
    """The text with other points of one feature; those that did not move keep their digits."""
    feature, start, end = _spans(text)[number]
    geometry = feature["geometry"]
    for found in _GEOMETRY.finditer(text, start, end):
        told, stop = _DECODER.raw_decode(text, found.end())
        if told == geometry:
            written = _geometry(geometry, points, decimals)
            return text[: found.end()] + written + text[stop:]
    raise ValueError("the feature has no geometry")


def with_property(text: str, number: int, key: str, value: Any) -> str:
    """The text with another property of one feature; None takes it out."""
    feature, start, end = _spans(text)[number]
    told = dict(feature.get("properties") or {})
    told.pop(key, None)
    if value is not None:
        told[key] = value
    written = json.dumps(told, ensure_ascii=False)
    for found in _PROPERTIES.finditer(text, start, end):
        known, stop = _DECODER.raw_decode(text, found.end())
        if known == feature.get("properties"):
            return text[: found.end()] + written + text[stop:]
    raise ValueError("the feature has no properties")


def without(text: str, number: int) -> str:
    """The text without one feature."""
    spans = _spans(text)
    _, start, end = spans[number]
    if number + 1 < len(spans):
        return text[:start] + text[spans[number + 1][1] :]
    before = spans[number - 1][2] if number else start
    return text[:before] + text[end:]


def plain_points(geometry: Any) -> list[XY] | None:
    """Points of a single geometry without holes, a ring without its last; None of others."""
    kind, told = geometry.get("type"), geometry.get("coordinates")
    if kind == "Point":
        return [(told[0], told[1])]
    if kind == "LineString":
        return [(x, y) for x, y, *_ in told]
    if kind == "Polygon" and len(told) == 1:
        ring = told[0][:-1] if told[0][0] == told[0][-1] else told[0]
        return [(x, y) for x, y, *_ in ring]
    return None


def _geometry(geometry: Any, points: Sequence[XY], decimals: int) -> str:
    old = {(float(x), float(y)): (x, y) for x, y in plain_points(geometry) or []}
    near = 0.6 * 10.0**-decimals
    texts = [_pair(point, old, near, decimals) for point in points]
    kind = geometry["type"]
    if kind == "Point":
        told = texts[0]
    elif kind == "LineString":
        told = f"[{', '.join(texts)}]"
    else:
        told = f"[[{', '.join([*texts, texts[0]])}]]"
    return f'{{"type": "{kind}", "coordinates": {told}}}'


def _pair(point: XY, old: dict[XY, Any], near: float, decimals: int) -> str:
    for (x, y), told in old.items():
        if abs(x - point[0]) <= near and abs(y - point[1]) <= near:
            return f"[{', '.join(getattr(value, 'text', repr(value)) for value in told)}]"
    return f"[{round(point[0], decimals)!r}, {round(point[1], decimals)!r}]"
