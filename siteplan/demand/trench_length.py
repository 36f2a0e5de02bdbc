"""Length of trench that a load requires: what a metre of trench draws from the ground.

Pipes in parallel have one fluid temperature; each meets the ground of its own depth on its hardest
day. The heat pump runs for a share ``F`` of the hardest month, the run fraction. Its mean flow is
taken as steady, in all trenches of the field; what the design hours ask above it lasts a few hours:

    (Rp I + F M + (1 - F) H) q = dT    for the flows q of the pipes in a metre of trench [W/m]

with ``M`` the steady and ``H`` the pulse resistances between the pipes. With H = 0 and one pipe
this is L = Q (Rp + F Rs)/dT, the equation of common practice (J. E. Bose; from memory: no text of
it was seen and no printed example compared, a test does its arithmetic), which leaves out that in a
cold spell the heat pump runs for hours on end.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import exp1

from siteplan.demand.coil_resistance import BuriedCoil, coil_pulse, coil_resistance
from siteplan.demand.trench_resistance import NEIGHBOURS
from siteplan.site.trench_kinds import TrenchKind

Floats = NDArray[np.float64]

PEAK_S: Final = 6 * 3600.0
"""How long the design hours last: as for bores [s]."""


@dataclass(frozen=True, slots=True)
class Soil:
    """Ground around the trenches: conductivity [W/(m K)] and diffusivity [m2/s]."""

    conductivity: float
    diffusivity_m2s: float


@dataclass(frozen=True, slots=True)
class PipedTrench:
    """A trench of a field, as heat sees it.

    Parameters
    ----------
    kind
        How the pipe lies in it.
    depth_m
        Of its bottom [m].
    spacing_m
        From trench to trench, centre to centre [m].
    radius_m
        Outer radius of the pipe [m].
    pipe_resistance
        From the fluid to the outside of a metre of pipe [m K/W].
    """

    kind: TrenchKind
    depth_m: float
    spacing_m: float
    radius_m: float
    pipe_resistance: float

    @property
    def places(self) -> tuple[tuple[float, float], ...]:
        """Middle of each pipe, or of the rings of a coil: aside, and depth [m].

        Raises
        ------
        ValueError
            A pipe would lie above the ground.
        """
        coil = self.kind.coil
        raised = coil.diameter_m / 2 if coil is not None and coil.lies == "upright" else 0.0
        places = tuple((aside, self.depth_m - above - raised) for aside, above in self.kind.at)
        if min(depth for _, depth in places) - raised <= self.radius_m:
            raise ValueError(f"a {self.kind.words} trench so shallow leaves its pipe uncovered.")
        return places


def steady_matrix(trench: PipedTrench, soil: Soil) -> Floats:
    """Steady rise of each pipe for a watt a metre in each, here and in all neighbours [m K/W].

    Images above a surface of steady temperature; 12 trenches on either side.
    """
    places, radius = np.array(trench.places), trench.radius_m
    shifts = trench.spacing_m * np.arange(-NEIGHBOURS, NEIGHBOURS + 1, dtype=np.float64)
    real, image = _distances(places, shifts, radius)
    return np.asarray(np.log(image / real).sum(axis=2) / (2 * math.pi * soil.conductivity))


def pulse_matrix(trench: PipedTrench, soil: Soil, time_s: float = PEAK_S) -> Floats:
    """Rise of each pipe for a watt a metre in each, some hours after it began [m K/W]."""
    places = np.array(trench.places)
    real, image = _distances(places, np.zeros(1), trench.radius_m)
    scale = 4 * soil.diffusivity_m2s * time_s
    rise = (exp1(real**2 / scale) - exp1(image**2 / scale)).sum(axis=2)
    return np.asarray(rise / (4 * math.pi * soil.conductivity))


def _distances(places: Floats, shifts: Floats, radius_m: float) -> tuple[Floats, Floats]:
    """Distances from each pipe to each pipe of each trench, and to their images [m]."""
    aside = places[:, None, None, 0] - places[None, :, None, 0] - shifts[None, None, :]
    depths = places[:, None, None, 1], places[None, :, None, 1]
    real = np.hypot(aside, depths[0] - depths[1])
    return np.maximum(real, radius_m), np.hypot(aside, depths[0] + depths[1])


def drawn_per_metre(
    trench: PipedTrench, soil: Soil, differences_k: Floats, run_fraction: float
) -> float:
    """Heat flow between a metre of trench and the ground in the design hours [W/m].

    Parameters
    ----------
    trench, soil
        Trench and ground.
    differences_k
        Ground less mean fluid at each of the trench's places, in the direction sized for [K].
    run_fraction
        Mean flow of the hardest month over that of the design hours [-].

    Examples
    --------
    One pipe, its neighbours far off, running all month: 10 K over Rp + Rs = 0.09 + 0.5508.

    >>> from siteplan.site.trench_kinds import TrenchKind
    >>> one = PipedTrench(TrenchKind("", "", 0.3, 1.5, ((0.0, 0.0),)), 1.5, 900.0, 0.0167, 0.09)
    >>> round(10 / drawn_per_metre(one, Soil(1.5, 6e-7), np.array([10.0]), 1.0), 4)
    0.6408
    """
    if trench.kind.coil is not None:
        resistance = _coil(trench, soil, run_fraction)
        return float(np.mean(differences_k)) / resistance
    count = len(trench.places)
    matrix = trench.pipe_resistance * np.eye(count)
    matrix += run_fraction * steady_matrix(trench, soil)
    matrix += (1 - run_fraction) * pulse_matrix(trench, soil)
    # one fluid temperature in pipes in parallel: solved together, as the deeper one draws more
    return float(np.linalg.solve(matrix, differences_k).sum())


def _coil(trench: PipedTrench, soil: Soil, run_fraction: float) -> float:
    """Resistance of a metre of trench with coiled pipe [m K/W]."""
    shape = trench.kind.coil
    assert shape is not None
    depth = trench.places[0][1]
    coil = BuriedCoil(shape, depth, trench.radius_m)
    steps = trench.spacing_m * np.arange(1, NEIGHBOURS + 1)
    beside = (
        2 * np.log(np.hypot(steps, 2 * depth) / steps).sum() / (2 * math.pi * soil.conductivity)
    )
    reach = math.sqrt(4 * soil.diffusivity_m2s * PEAK_S)
    return float(
        trench.pipe_resistance / trench.kind.pipe_per_m
        + run_fraction * (coil_resistance(coil, soil.conductivity) + beside)
        + (1 - run_fraction) * coil_pulse(coil, soil.conductivity, reach)
    )


def trench_length(
    peak_w: float, trench: PipedTrench, soil: Soil, differences_k: Floats, *, run_fraction: float
) -> float:
    """Length of trench that draws a heat flow in the design hours [m].

    Raises
    ------
    ValueError
        The ground is nowhere warmer (colder) than the fluid, or a pipe lies above the ground.
    """
    if np.mean(differences_k) <= 0:
        raise ValueError("the fluid must be colder than the ground to draw heat, or warmer.")
    drawn = drawn_per_metre(trench, soil, differences_k, run_fraction)
    if drawn <= 0:
        raise ValueError("the pipes nearest to the surface lose what the others draw.")
    return peak_w / drawn
