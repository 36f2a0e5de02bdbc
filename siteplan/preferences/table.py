"""The preferences, read once from ``preferences.toml``; a module binds its own as it is loaded."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

Value = int | float | tuple[int, ...] | tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Preference:
    """A figure that tunes an engine.

    Parameters
    ----------
    name
        Module below ``siteplan`` and the constant's name in small letters, with dots between.
    value
        A number, or several of one type.
    purpose
        What it is for, in a line, with its unit.
    """

    name: str
    value: Value
    purpose: str


@cache
def preferences() -> Mapping[str, Preference]:
    """Every preference by its name, in the order of the table."""
    table = files("siteplan.preferences").joinpath("preferences.toml")
    return preferences_in(table.read_text(encoding="utf-8"))


def preferences_in(text: str) -> dict[str, Preference]:
    """Preferences of a table in TOML, by their names.

    Raises
    ------
    ValueError
        If a row has no number or does not say what it is for.

    Examples
    --------
    >>> preferences_in('"a.b".tries = { value = 2, for = "Tries." }')["a.b.tries"].value
    2
    """
    return {
        f"{module}.{name}": _preference(f"{module}.{name}", row)
        for module, rows in tomllib.loads(text).items()
        for name, row in rows.items()
    }


def _preference(name: str, row: Any) -> Preference:
    if not isinstance(row, dict) or set(row) != {"value", "for"}:
        raise ValueError(f'{name}: write {{ value = ..., for = "..." }} and nothing else.')
    value, purpose = row["value"], row["for"]
    if not isinstance(purpose, str) or not purpose.strip() or "\n" in purpose:
        raise ValueError(f"{name}: say in one line what it is for.")
    numbers = value if isinstance(value, list) else [value]
    # TOML's true is Python's True, which is an int; types are compared and not asked for
    if not numbers or {type(number) for number in numbers} not in ({int}, {float}):
        raise ValueError(f"{name}: {value!r} is no number, nor several of one type.")
    return Preference(name, tuple(value) if isinstance(value, list) else value, purpose)


def count_of(name: str) -> int:
    """A preference that counts something.

    Examples
    --------
    >>> count_of("layout.block.blocks_routed")
    3
    """
    value = preferences()[name].value
    if not isinstance(value, int):
        raise TypeError(f"{name}: {value!r} is no whole number.")
    return value


def figure_of(name: str) -> float:
    """A preference that is a quantity or a share.

    Examples
    --------
    >>> figure_of("layout.header.network.crossing_cost")
    3.0
    """
    value = preferences()[name].value
    if not isinstance(value, float):
        raise TypeError(f"{name}: {value!r} is no number with a decimal point.")
    return value


def figures_of(name: str) -> tuple[float, ...]:
    """A preference of several quantities or shares.

    Examples
    --------
    >>> figures_of("layout.bores.inclined.spreads")
    (1.0, 1.5, 2.0, 3.0)
    """
    values = _several(name)
    figures = tuple(value for value in values if isinstance(value, float))
    if len(figures) < len(values):
        raise TypeError(f"{name}: numbers of {values!r} have no decimal point.")
    return figures


def counts_of(name: str) -> tuple[int, ...]:
    """A preference of several counts.

    Examples
    --------
    >>> counts_of("layout.windows.spare_columns")
    (0, 1, 2, 4, 8, 1000)
    """
    values = _several(name)
    counts = tuple(value for value in values if isinstance(value, int))
    if len(counts) < len(values):
        raise TypeError(f"{name}: {values!r} are no whole numbers.")
    return counts


def _several(name: str) -> tuple[int, ...] | tuple[float, ...]:
    value = preferences()[name].value
    if not isinstance(value, tuple):
        raise TypeError(f"{name}: {value!r} is one number where several are meant.")
    return value
