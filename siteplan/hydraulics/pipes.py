"""Sizes of polyethylene pipe, and what follows from them."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Final

from siteplan.units.lengths import FOOT, INCH
from siteplan.units.pressures import PSI

USUAL: Final = "PE4710"
"""Of what pipe is made where nobody says."""
ROUNDED: Final = 1.02
"""By how much a wall rounded to thousandths of an inch may change the ratio of a pipe [-]."""


@dataclass(frozen=True, slots=True)
class Pipe:
    """A pipe.

    Parameters
    ----------
    size
        Nominal size, iron pipe size.
    outer_m, inner_m
        Diameters [m].
    circuit_m
        Longest circuit of it [m]; 0: it serves headers only.
    u_bend
        Whether the U-bends of bores are made of it.
    """

    size: str
    outer_m: float
    inner_m: float
    circuit_m: float
    u_bend: bool = False

    @property
    def area_m2(self) -> float:
        """Free area of its section [m2]."""
        return math.pi * self.inner_m**2 / 4

    @property
    def bend_radius_m(self) -> float:
        """Smallest radius it may be bent to [m]."""
        return self.least_bend * self.outer_m

    @property
    def dimension_ratio(self) -> float:
        """Outer diameter over wall thickness [-]."""
        return 2 * self.outer_m / (self.outer_m - self.inner_m)

    @property
    def least_bend(self) -> float:
        """Smallest radius of a bend over the outer diameter [-]."""
        return least_bend(self.dimension_ratio)


@cache
def pipes() -> dict[str, Pipe]:
    """All pipe sizes by name, small to large: ASTM D3035, dimension ratio 11.

    Examples
    --------
    >>> round(pipes()["3/4 in"].bend_radius_m, 3)
    0.667
    """
    text = files("siteplan.hydraulics").joinpath("pipes.toml").read_text(encoding="utf-8")
    return {
        size: Pipe(
            size,
            row["outer"] * INCH,
            row["inner"] * INCH,
            row["circuit"] * FOOT,
            u_bend=row.get("u_bend", False),
        )
        for size, row in tomllib.loads(text).items()
    }


def least_bend(dimension_ratio: float) -> float:
    """Smallest radius of a bend in an open cut over the outer diameter [-].

    PPI, table of bend radii by dimension ratio; infinite where it has none, beyond a ratio of 41.

    Examples
    --------
    >>> least_bend(9), least_bend(11), least_bend(17)
    (20.0, 25.0, 27.0)
    """
    rows = _polyethylene()["bend"]
    thick = (float(row["times"]) for row in rows if dimension_ratio <= row["up_to"] * ROUNDED)
    return next(thick, math.inf)


def pressure_class(dimension_ratio: float, material: str = USUAL) -> float:
    """Pressure that polyethylene pipe bears for good at 73 F: PC = 2 HDS/(DR - 1) [Pa].

    Hydrostatic design stress of PE4710 1,000 psi, of PE3608 800 psi: PPI, sample comparison of
    both, July 2015.

    Examples
    --------
    DR 11: 200 psi and 160 psi, as printed there.

    >>> [round(pressure_class(11, material) / PSI) for material in ("PE4710", "PE3608")]
    [200, 160]
    """
    stress_psi = float(_polyethylene()["design_stress"][material])
    return 2 * stress_psi * PSI / (dimension_ratio - 1)


def borne_with_surge(dimension_ratio: float, surge: str, material: str = USUAL) -> float:
    """Pressure that polyethylene pipe bears with surges that are recurring, or occasional [Pa].

    1.5 and 2 times its pressure class: PPI, the same.

    Examples
    --------
    >>> round(borne_with_surge(11, "recurring") / PSI)
    300
    """
    return float(_polyethylene()["surge"][surge] * pressure_class(dimension_ratio, material))


@cache
def _polyethylene() -> dict[str, Any]:
    text = files("siteplan.hydraulics").joinpath("polyethylene.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def circuit_sizes() -> tuple[str, ...]:
    """Sizes in which a circuit may be laid, small to large.

    Examples
    --------
    >>> circuit_sizes()[:2]
    ('3/4 in', '1 in')
    """
    return tuple(size for size, pipe in pipes().items() if pipe.circuit_m > 0.0)


def u_bend_sizes() -> tuple[str, ...]:
    """Sizes of which U-bends are made, small to large.

    Examples
    --------
    >>> u_bend_sizes()[-1]
    '2 in'
    """
    return tuple(size for size, pipe in pipes().items() if pipe.u_bend)


def u_bend_for(circuit_m: float, least: str) -> str:
    """Smallest size of U-bends of which a circuit may be so long, else the largest there is.

    Examples
    --------
    >>> u_bend_for(250.0, "1 in")
    '1-1/4 in'
    """
    larger = u_bend_sizes()[u_bend_sizes().index(least) :]
    enough = (size for size in larger if pipes()[size].circuit_m >= circuit_m - 1e-6)
    return next(enough, larger[-1])


def u_bend_size(outer_m: float) -> str:
    """Size of the U-bends with an outer diameter [m].

    Examples
    --------
    >>> u_bend_size(0.033401)
    '1 in'
    """
    return min(u_bend_sizes(), key=lambda size: abs(pipes()[size].outer_m - outer_m))


def fill_volume(pipe: Pipe, length_m: float) -> float:
    """Fluid in a length of pipe [m3].

    Examples
    --------
    100 ft of 1 in pipe: 4.7 US gallons.

    >>> round(fill_volume(pipes()["1 in"], 30.48) / 0.003785411784, 1)
    4.7
    """
    return pipe.area_m2 * length_m
