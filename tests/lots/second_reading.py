"""The printed rows of the second reading, in the form in which books are compared with them."""

from __future__ import annotations

import tomllib
from itertools import product
from typing import Any

from places import REFERENCES

_PAGE = tomllib.loads((REFERENCES / "siting-rows-2.toml").read_text(encoding="utf-8"))
ROWS, SHOWN, BOUNDS, DUTIES = (_PAGE[key] for key in ("rows", "shown", "bound", "duty"))
_BOOKS = _PAGE["books"]
LETTERS = {
    "b": "bore", "t": "trench", "c": "coil", "h": "header", "s": "supply well", "r": "return well",
}  # fmt: skip
STAGES = {"b": "before", "w": "at the work", "a": "after"}
METRES = {"ft": 0.3048, "in": 0.0254, "m": 1.0}
"""Foot and inch of 1959, by hand."""

Key = tuple[Any, ...]


def metres(printed: str) -> float:
    """Distance of a printed one, by hand; 0 of none [m]."""
    if not printed:
        return 0.0
    number, unit = printed.split()
    return round(float(number.replace(",", "")) * METRES[unit], 9)


def parts(row: dict[str, Any]) -> tuple[str, ...]:
    """Parts that a row names by their letters."""
    return tuple(sorted(LETTERS[letter] for letter in row.get("p", "")))


def standing(book: str, row: dict[str, Any]) -> Key:
    """What a row is worth and how it was read: its own word, else that of its book."""
    advice = row.get("advice", book in _BOOKS["advice"])
    quoted = row.get("quoted", book in _BOOKS["quoted"])
    old = row.get("old", _BOOKS["old"].get(book))
    return "recommended" if advice else "required", "quoted" if quoted else "rule", old


def rules(book: str) -> list[Key]:
    """Rules that the printed rows of a book ask for."""
    return sorted(
        (
            subject, parts(row), row.get("says", "at least"), row.get("d", ""),
            metres(row.get("d", "")), row["s"], row.get("how", "nearest part"),
            row.get("when", ""), row.get("out", ""), row.get("within", ""),
            metres(row["least"]) if "least" in row else -1.0, *map(str, standing(book, row)),
        )
        for row in ROWS[book]
        for (subject,) in product(row["f"])
    )  # fmt: skip
