"""Rows of a layer, what a layer says of itself, and what rows are asked for."""

from __future__ import annotations

import warnings
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from shapely.geometry.base import BaseGeometry

from siteplan.errors import InputError
from siteplan.site.readers.vetted import refused

Bounds = tuple[float, float, float, float]
"""West, south, east, north."""


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows of a layer.

    Parameters
    ----------
    shapes
        One single shape each, in two dimensions: a shape in parts is as many rows.
    columns
        What the columns of each say.
    numbers
        Number of the row in its layer, from 1.
    crs
        Coordinate system; None where the file does not say.
    empty
        How many rows have no shape.
    broken
        Numbers of rows that are left out: a coordinate of theirs is no number, or beyond measure.
    closed
        Numbers of rows with an outline that was left open, which was closed.
    """

    shapes: tuple[BaseGeometry, ...]
    columns: tuple[Mapping[str, Any], ...]
    numbers: tuple[int, ...]
    crs: str | None
    empty: int = 0
    broken: tuple[int, ...] = ()
    closed: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class LayerInfo:
    """What a layer says of itself.

    Parameters
    ----------
    name
        Name of the layer.
    shape
        Kind of geometry, as the file says.
    rows
        How many rows it has.
    columns
        Names of its columns, with the type of each.
    crs
        Coordinate system; None where the file does not say.
    bounds
        West, south, east, north; None where it is empty.
    """

    name: str
    shape: str
    rows: int
    columns: tuple[tuple[str, str], ...]
    crs: str | None
    bounds: Bounds | None


@dataclass(frozen=True, slots=True)
class Near:
    """Rows near a shape alone: the shape, its coordinate system, and how far around it [m].

    ``cut``: what lies farther off is cut off, so that a county's river is not drawn to its end.
    """

    shape: BaseGeometry
    crs: str
    reach_m: float
    cut: bool = True


def is_number(dtype: str) -> bool:
    """Whether a column of such a type holds numbers."""
    return dtype.lower().startswith(("int", "uint", "float"))


def condition(where: str, path: Path) -> tuple[str, str]:
    """Column and value of ``COLUMN = value``; the value may stand in quotes.

    Examples
    --------
    >>> condition("APN = '12-034'", Path("lots.gpkg"))
    ('APN', '12-034')
    """
    column, sign, value = (part.strip() for part in where.partition("="))
    if not (column and sign and value):
        raise refused(
            path, f"cannot be asked for {where!r}.", 'Write the condition as "COLUMN = value".'
        )
    return column.strip("\"'"), value.strip("\"'")


class library_faults:  # noqa: N801
    """Faults of the library as faults of the file."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def __enter__(self) -> None:
        # what the library only remarks is judged here: the shapes themselves are looked at
        self._warnings = warnings.catch_warnings()
        self._warnings.__enter__()
        warnings.simplefilter("ignore")

    def __exit__(self, _kind: object, error: BaseException | None, _trace: object) -> None:
        self._warnings.__exit__(None, None, None)
        if isinstance(error, Exception) and not isinstance(error, InputError):
            words = " ".join(str(error).split())[:200]
            raise refused(self._path, f"cannot be read ({words}).", "Export it again.") from error
