"""Values as they are written into a site file, and its tables where they are not there yet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

import tomlkit
from tomlkit.items import Array

Document = tomlkit.TOMLDocument
NEAR: Final = 1e-6


def row_of(point: Sequence[float]) -> Array:
    """A point as TOML, in one line."""
    row = tomlkit.array()
    row.extend(list(point))
    return row


def rows_of(points: Sequence[Sequence[float]]) -> Array:
    """Points as TOML."""
    rows = tomlkit.array()
    for point in points:
        rows.append(row_of(point))
    return rows


def short(value: float) -> float:
    """A coordinate as people write it.

    Examples
    --------
    >>> short(12.000000001), short(-0.0), short(4.1256)
    (12, 0, 4.1256)
    """
    rounded = round(float(value), 8)
    return int(rounded) if rounded == int(rounded) else rounded


def table_at(document: Document, path: Sequence[str]) -> Any:
    """The table at a path, made where it is missing."""
    table: Any = document
    for depth, step in enumerate(path):
        if not isinstance(table.get(step), Mapping):
            table[step] = tomlkit.table() if depth == 0 else tomlkit.inline_table()
        table = table[step]
    return table


def written(value: Any) -> Any:
    """A value as TOML, in one line."""
    if isinstance(value, Mapping):
        table = tomlkit.inline_table()
        for key, inner in value.items():
            table[key] = written(inner)
        return table
    if isinstance(value, list):
        row = tomlkit.array()
        for inner in value:
            row.append(written(inner))
        return row
    if isinstance(value, float) and not isinstance(value, bool):
        return short(value)
    return value


def is_at(old: Any, point: list[float]) -> bool:
    """Whether a point that is written lies at another."""
    return isinstance(old, list) and all(
        abs(float(a) - b) < NEAR for a, b in zip(old, point, strict=True)
    )


def move_to(old: Any, point: list[float]) -> None:
    """Put a point that is written elsewhere; an axis that stays keeps its spelling."""
    for axis in (0, 1):
        if abs(float(old[axis]) - point[axis]) >= NEAR:
            old[axis] = point[axis]
