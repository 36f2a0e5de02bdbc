"""Soils and rocks with their published conductivity and diffusivity, read from grounds.toml."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from siteplan.units.heat import parse_conductivity, parse_diffusivity


@dataclass(frozen=True, slots=True)
class GroundClass:
    """A soil or rock, and between what its properties lie.

    Parameters
    ----------
    name
        As written in a site file.
    conductivities
        Low and high [W/(m K)].
    diffusivities
        Low and high [m2/s].
    """

    name: str
    conductivities: tuple[float, float]
    diffusivities: tuple[float, float]

    @property
    def conductivity(self) -> float:
        """What is reckoned with where nobody has measured: the low one [W/(m K)]."""
        return self.conductivities[0]

    @property
    def diffusivity_m2s(self) -> float:
        """What is reckoned with where nobody has measured: the middle [m2/s]."""
        return sum(self.diffusivities) / 2


@cache
def ground_classes() -> dict[str, GroundClass]:
    """All soils and rocks by name, in the order of the file.

    Examples
    --------
    >>> round(ground_classes()["limestone"].conductivity, 2)
    2.42
    """
    text = files("siteplan.site").joinpath("grounds.toml").read_text(encoding="utf-8")
    classes = {}
    for name, row in tomllib.loads(text).items():
        low, high = (parse_conductivity(f"{value} Btu/h.ft.F") for value in row["conductivity"])
        slow, fast = (parse_diffusivity(f"{value} ft2/day") for value in row["diffusivity"])
        classes[name] = GroundClass(name, (low, high), (slow, fast))
    return classes
