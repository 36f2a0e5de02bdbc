"""Styles, linetypes, layers and the treatment of feature groups, read from ``styles.toml``."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from siteplan.vocabulary.kinds import Kind


@dataclass(frozen=True, slots=True)
class Style:
    """How a primitive looks.

    Parameters
    ----------
    color
        ``#rrggbb``.
    stage
        Drawing order: a higher stage lies over a lower one.
    weight
        Line weight [mm].
    linetype
        Name of a linetype.
    fill
        Whether it fills an area.
    """

    name: str
    color: str
    stage: int
    weight: float = 0.18
    linetype: str = "continuous"
    fill: bool = False


@dataclass(frozen=True, slots=True)
class Treatment:
    """How a feature kind is drawn; an empty style is not drawn.

    Parameters
    ----------
    gap, angle
        Of the hatch lines: distance on the plotted sheet [mm] and direction [deg].
    """

    line: str
    fill: str = ""
    hatch: str = ""
    symbol: str = ""
    size: float = 0.0
    symbol_style: str = ""
    bold: bool = False
    gap: float = 2.6
    angle: float = -45.0


@cache
def _data() -> dict[str, Any]:
    text = files("siteplan.sheet.style").joinpath("styles.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


@cache
def styles() -> dict[str, Style]:
    """All styles by name."""
    return {name: Style(name, **row) for name, row in _data()["style"].items()}


@cache
def linetypes() -> dict[str, tuple[float, ...]]:
    """Dash, gap, dash, gap ... on paper [mm] by linetype; empty for a continuous line."""
    return {name: tuple(map(float, row)) for name, row in _data()["linetype"].items()}


def layer(role: str) -> str:
    """Layer of something that is no feature.

    Examples
    --------
    >>> layer("bore")
    'M-GHEX-BORE-N'
    """
    return str(_data()["layer"][role])


def treatment(kind: Kind) -> Treatment:
    """How a feature kind is drawn."""
    if kind.letter:
        return Treatment(line=f"utility-{kind.letter}")
    return Treatment(**{**_data()["group"][kind.group], **_data()["kind"].get(kind.name, {})})
