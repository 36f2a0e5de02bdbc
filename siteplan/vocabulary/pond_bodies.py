"""What may be laid in a pond, and what it is called, read once from ``pond_bodies.toml``."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True, slots=True)
class PondBody:
    """What one kind of exchanger in a pond is called.

    Parameters
    ----------
    name
        As written in a site file.
    letter
        First letter of its ids.
    noun, edge, symbol, layer, legend, measure
        As of a loop type, in the place of what holds for coils.
    """

    name: str
    letter: str
    noun: str
    edge: str
    symbol: str
    layer: str
    legend: str
    measure: str

    @property
    def short(self) -> str:
        """The same within a sentence about a pond."""
        return self.noun.removeprefix("pond ")

    @property
    def several(self) -> str:
        """Noun of more than one."""
        return f"{self.noun}s"


@cache
def pond_bodies() -> dict[str, PondBody]:
    """All that may be laid in a pond, by name; coils first."""
    text = files("siteplan.vocabulary").joinpath("pond_bodies.toml").read_text(encoding="utf-8")
    return {name: PondBody(name, **table) for name, table in tomllib.loads(text).items()}


def pond_body(name: str) -> PondBody:
    """What one kind of exchanger in a pond is called.

    Examples
    --------
    >>> pond_body("plate frame").letter
    'F'
    """
    return pond_bodies()[name]
