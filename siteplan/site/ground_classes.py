"""Soils and rocks with their published conductivity and diffusivity, read from grounds.toml."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Final

from siteplan.units.heat import parse_conductivity, parse_diffusivity

TABLE: Final = "ASHRAE Handbook, Fundamentals"
"""Whose table of soils and rocks it is."""
ABROAD: Final = "VDI 4640-1:2000-12"
"""Whose table has ground that it has not."""
MEGA: Final = 1e6


@dataclass(frozen=True, slots=True)
class Published:
    """A row of the published table.

    Parameters
    ----------
    name
        As printed, in short.
    span
        Lowest and highest conductivity [W/(m K)].
    design
        Recommended for design, low and high; the low one is for loops. None: of rocks [W/(m K)].
    table
        Whose table it is.
    """

    name: str
    span: tuple[float, float]
    design: tuple[float, float] | None = None
    table: str = TABLE


@dataclass(frozen=True, slots=True)
class GroundClass:
    """A soil or rock, and between what its properties lie.

    Parameters
    ----------
    name
        As written in a site file.
    published
        Its row of the published table.
    conductivities
        Low and high by density and moisture; None: neither is named [W/(m K)].
    diffusivities
        Low and high [m2/s].
    loose
        Whether it is soil, in which a trench is dug, and no rock.
    """

    name: str
    published: Published
    conductivities: tuple[float, float] | None
    diffusivities: tuple[float, float]
    loose: bool = False

    @property
    def conductivity(self) -> float:
        """What is reckoned with where nobody has measured: the low one [W/(m K)].

        Of a soil that is named without density and moisture, its low value for design.
        """
        low, _ = self.conductivities or self.published.design or self.published.span
        return low

    @property
    def most_conductivity(self) -> float:
        """The highest that such ground may have [W/(m K)].

        Examples
        --------
        Of a sand of which no more is known: 15.6 Btu in/h ft2 F.

        >>> round(ground_classes()["sand"].most_conductivity / 1.730735, 2)
        1.3
        """
        _, high = self.conductivities or self.published.design or self.published.span
        return high

    @property
    def basis(self) -> str:
        """Where that comes from."""
        if self.published.table != TABLE:
            return f"{self.name}, low value of {self.published.table}"
        if self.conductivities is None:
            return f"{self.name}, low design value of {self.published.name} in {TABLE}"
        if self.published.design is None:
            return f"{self.name}, low by common practice, in the range of {TABLE}"
        return f"{self.name}, low by common practice for its density and moisture"

    @property
    def diffusivity_basis(self) -> str:
        """Where the diffusivity comes from."""
        whose = "common practice" if self.published.table == TABLE else self.published.table
        return f"{self.name}, middle of {whose}"

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
    tables = tomllib.loads(text)
    printed = {name: _published(name, row) for name, row in tables["published"].items()}
    classes = {
        name: GroundClass(
            name,
            printed[row["published"]],
            _conductivities(row["conductivity"]) if "conductivity" in row else None,
            _diffusivities(row["diffusivity"]),
            # rocks have no values for design there
            loose=printed[row["published"]].design is not None,
        )
        for name, row in tables["class"].items()
    }
    return classes | {name: _of_abroad(name, row) for name, row in tables["vdi"].items()}


def _of_abroad(name: str, row: dict[str, Any]) -> GroundClass:
    """Ground by conductivity [W/(m K)] and heat capacity [MJ/(m3 K)]."""
    low, high = (float(value) for value in row["conductivity"])
    capacity = MEGA * sum(row["heat_capacity"]) / 2
    span = (low, high)
    return GroundClass(
        name,
        Published(name, span, table=ABROAD),
        span,
        (low / capacity, high / capacity),
        loose=row.get("loose", False),
    )


def _published(name: str, row: dict[str, Any]) -> Published:
    """A row of the published table, which is printed for an inch of ground."""
    span, design = (
        _conductivities([value / 12 for value in row[key]]) if key in row else None
        for key in ("range", "design")
    )
    assert span is not None
    return Published(name, span, design)


def _conductivities(values: Sequence[float]) -> tuple[float, float]:
    low, high = (parse_conductivity(f"{value} Btu/h.ft.F") for value in values)
    return low, high


def _diffusivities(values: Sequence[float]) -> tuple[float, float]:
    slow, fast = (parse_diffusivity(f"{value} ft2/day") for value in values)
    return slow, fast
