"""The feature kinds, read once from ``kinds.toml``."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal

ShapeName = Literal["point", "line", "polygon"]
HeaderCrossing = Literal["free", "mark", "never"]


@dataclass(frozen=True, slots=True)
class Kind:
    """What depends on a feature's kind alone.

    Parameters
    ----------
    name
        As written in a site file.
    label
        Text on the drawing where the feature has none of its own.
    shapes
        Geometry a site file may give it.
    crossing
        What the header may do there.
    group
        How the drawing treats it.
    letter
        Letter in the line, for line kinds.
    layer
        Layer in the drawing.
    """

    name: str
    label: str
    shapes: tuple[ShapeName, ...]
    crossing: HeaderCrossing
    group: str
    layer: str
    letter: str = ""


@cache
def kinds() -> dict[str, Kind]:
    """All kinds by name, in the order of the file."""
    text = files("siteplan.site").joinpath("kinds.toml").read_text(encoding="utf-8")
    return {
        name: Kind(**{**table, "name": name, "shapes": tuple(table["shapes"])})
        for name, table in tomllib.loads(text).items()
    }
