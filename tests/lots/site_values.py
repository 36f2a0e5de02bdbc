"""Values of a site file in memory, with one option set to what a test wants."""

from __future__ import annotations

import datetime
import tomllib
from collections.abc import Mapping
from copy import deepcopy
from functools import cache
from typing import Any

from small_lot import FIELD, GROUND

from siteplan.site.options.declared import Option, declared
from siteplan.vocabulary.kinds import kinds

DRAWN = {"point": "at", "line": "line", "polygon": "area"}
"""Key of the geometry of a feature that is drawn in one way."""
SHAPES = {
    "at": ("tree", [20, 30]),
    "line": ("sewer line", [[5, 5], [60, 5]]),
    "area": ("drainfield", [[120, 100], [180, 100], [180, 170], [120, 170]]),
}
"""Kind and geometry of a feature that is drawn in one way."""


def small_lot() -> dict[str, Any]:
    """The small lot as a site file holds it, with nothing wrong."""
    return deepcopy(_read())


@cache
def _read() -> dict[str, Any]:
    text = f'{GROUND}{FIELD}[exchanger]\ncapacity = "2 ton"\nentry = [[80, 70]]\n'
    return tomllib.loads(text)


def lot_with(option: Option, value: object) -> dict[str, Any]:
    """The small lot with an option set, and beside it all that its table requires."""
    values = small_lot()
    node: Any = values
    *tables, key = option.path.split(".")
    for depth in range(len(tables)):
        table = declared(".".join(tables[: depth + 1]))
        node = _entered(node, table)
    if option.path.startswith("feature."):
        _draw(node, option)
    node[key] = value
    return values


def _entered(node: Any, table: Option) -> Any:
    """A table within another, made where it is not there, with what it requires."""
    fresh: dict[str, Any] = {
        inner.key: plain_toml(inner.example) for inner in table.options.values() if inner.required
    }
    if table.path == "rules.own":
        fresh["distance"] = "10 ft"
    if table.kind == "tables":
        node.setdefault(table.key, []).append(fresh)
        return fresh
    inner = node.get(table.key)
    node[table.key] = fresh = {**fresh, **inner} if isinstance(inner, Mapping) else fresh
    return fresh


def _draw(feature: dict[str, Any], option: Option) -> None:
    """Make a feature of a kind that may have an option, in a shape that this kind may have."""
    shape = option.key if option.key in SHAPES else "area" if option.key == "kind" else "at"
    kind, points = SHAPES[shape]
    if option.key == "use":
        kind = "potable well"
    elif option.of:
        kind = option.of[0]
        drawn = kinds()[kind].shapes if kind in kinds() else ("polygon",)
        if not any(DRAWN[each] == shape for each in drawn):
            points = SHAPES[DRAWN[drawn[0]]][1]
            shape = DRAWN[drawn[0]]
    feature |= {"id": "new", "kind": kind, shape: points}
    if kind in ("pond", "depth contour"):
        feature["depth"] = "10 ft"


def plain_toml(value: Any) -> Any:
    """A value of a declaration as tomllib gives it: arrays are lists."""
    return [plain_toml(item) for item in value] if isinstance(value, tuple) else value


def plain_json(value: Any) -> Any:
    """A value of TOML as JSON has it: dates are text."""
    if isinstance(value, dict):
        return {key: plain_json(item) for key, item in value.items()}
    if isinstance(value, list):
        return [plain_json(item) for item in value]
    return value.isoformat() if isinstance(value, datetime.date) else value
