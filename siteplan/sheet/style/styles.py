"""Styles, linetypes, layers and the treatment of feature groups, read from ``styles.toml``."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from siteplan.units.lengths import INCH
from siteplan.vocabulary.kinds import Kind, kinds


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


@dataclass(frozen=True, slots=True)
class Linetype:
    """A linetype by its standard name, so many times as large; no name is a continuous line."""

    like: str = ""
    scale: float = 1.0


@cache
def standard_linetypes() -> dict[str, tuple[float, ...]]:
    """Dash, gap, dash, gap ... [in] by the name that every CAD program knows."""
    return {name: tuple(map(float, row)) for name, row in _data()["standard"].items()}


@cache
def linetype(name: str) -> Linetype:
    """The linetype of a name."""
    return Linetype(**_data()["linetype"][name])


@cache
def linetypes() -> dict[str, tuple[float, ...]]:
    """Dash, gap, dash, gap ... on paper [mm] by linetype; empty for a continuous line."""
    return {name: _dashes(linetype(name)) for name in _data()["linetype"]}


def _dashes(drawn: Linetype) -> tuple[float, ...]:
    if not drawn.like:
        return ()
    return tuple(dash * drawn.scale * INCH * 1000.0 for dash in standard_linetypes()[drawn.like])


def layer(role: str) -> str:
    """Layer of something that is no feature.

    Examples
    --------
    >>> layer("bore")
    'M-GHEX-BORE-N'
    """
    return str(_data()["layer"][role])


@cache
def layer_descriptions() -> dict[str, str]:
    """What each layer holds, by its name.

    Examples
    --------
    >>> layer_descriptions()["M-GHEX-BORE-N"], layer_descriptions()["C-NGAS-PIPE-E"]
    ('bores', 'existing: gas line')
    """
    named: dict[str, list[str]] = {}
    for kind in kinds().values():
        named.setdefault(kind.layer, []).append(kind.name)
    of_kinds = {name: f"existing: {', '.join(held)}" for name, held in named.items()}
    return of_kinds | {layer(role): words for role, words in _data()["description"].items()}


def treatment(kind: Kind) -> Treatment:
    """How a feature kind is drawn."""
    if kind.letter:
        return Treatment(line=f"utility-{kind.letter}")
    return Treatment(**{**_data()["group"][kind.group], **_data()["kind"].get(kind.name, {})})
