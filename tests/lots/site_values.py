"""Values of a site file in memory, with one option set to what a test wants."""

from __future__ import annotations

import datetime
import tomllib
from collections.abc import Mapping
from typing import Any

from small_lot import FIELD, GROUND

from siteplan.site.options.declared import Option, declared

KINDS = {
    "use": "potable well", "canopy": "tree", "depth": "pond", "pond": "depth contour",
    "side_slope": "pond", "drawdown": "pond", "inflow": "pond", "inflow_temperature": "pond",
}  # fmt: skip
"""Kind of feature that has an option which not every feature has."""
SHAPES = {
    "at": ("tree", [20, 30]),
    "line": ("sewer line", [[5, 5], [60, 5]]),
    "area": ("drainfield", [[120, 100], [180, 100], [180, 170], [120, 170]]),
}
"""Kind and geometry of a feature that is drawn in one way."""


def small_lot() -> dict[str, Any]:
    """The small lot as a site file holds it, with nothing wrong."""
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
        _draw(node, key)
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


def _draw(feature: dict[str, Any], key: str) -> None:
    shape = key if key in SHAPES else "at"
    if key == "kind" or KINDS.get(key) in ("pond", "depth contour"):
        shape = "area"
    kind, points = SHAPES[shape]
    feature |= {"id": "new", "kind": KINDS.get(key, kind), shape: points}
    if feature["kind"] in ("pond", "depth contour"):
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
