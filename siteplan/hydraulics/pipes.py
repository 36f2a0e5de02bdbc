"""Sizes of polyethylene pipe, and what follows from them."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Final

from siteplan.units.lengths import FOOT, INCH
from siteplan.units.pressures import PSI

DESIGN_STRESS_PSI: Final = 1000.0
"""Hydrostatic design stress of PE4710 at 73 F: PPI, sample comparison, July 2015 [psi]."""
OCCASIONAL: Final = 2.0
"""Of the pressure class so much is borne for a short time: PPI, the same [-]."""
BEND: Final = 25
"""Smallest bend of DR 11 pipe, radius over outer diameter: PPI, sample comparison, July 2015."""


@dataclass(frozen=True, slots=True)
class Pipe:
    """A pipe of dimension ratio 11.

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
        return BEND * self.outer_m


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


def pressure_class(dimension_ratio: float) -> float:
    """Pressure that pipe of PE4710 bears for good at 73 F: PC = 2 HDS/(DR - 1) [Pa].

    Hydrostatic design stress 1,000 psi: PPI, sample comparison of PE4710 and PE3608, July 2015.

    Examples
    --------
    DR 11: 200 psi, as printed there.

    >>> round(pressure_class(11) / PSI)
    200
    """
    return 2 * DESIGN_STRESS_PSI * PSI / (dimension_ratio - 1)


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
