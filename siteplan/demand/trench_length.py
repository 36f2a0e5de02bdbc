"""Length of trench that a load requires: what a metre of trench draws from the ground.

Pipes in parallel have one fluid temperature; each meets the ground of its own depth on the day of
the design hours. Steps of the heat flow add up, each as it has spread by then in the ground between
the trenches and their images above the surface: months up to the hardest, and on top of it the
design hours:

    (Rp I + sum of s G(t)) q = dT    for the flows q of the pipes in a metre of trench [W/m]

with ``s`` the step as a share of the design flow, ``t`` its age and ``G`` the rise of each pipe for
a watt a metre in each. Beside it stands the steady form L = Q (Rp + F Rs)/dT of common practice
(J. E. Bose; no text of it was seen, a test does its arithmetic), with the run fraction ``F`` of the
hardest month as if it had lasted for ever, and without the hours of a cold spell.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from siteplan.demand.coil_resistance import BuriedCoil, coil_pulse, coil_resistance
from siteplan.demand.model import DemandError
from siteplan.demand.trench_resistance import NEIGHBOURS
from siteplan.findings.model import reason
from siteplan.site.trench_kinds import TrenchKind

Floats = NDArray[np.float64]

PEAK_S: Final = 6 * 3600.0
"""How long the design hours last: as for bores [s]."""
COIL_AGES: Final = 1.5
"""From one time to the next at which the response of coils is worked out [-].

A spline between them is within 0.002 % of the response itself, as a test measures.
"""
COIL_REACH_M: Final = 1.0
"""Those times are counted from the one when the heat has come so far [m]."""
BEYOND: Final = 2
"""Times on either side of those asked for: a spline is at its best between others."""
KNOWN: Final = 512
"""Answers of the ground kept, of the trenches and steps asked for last."""
UNFELT: Final = 40.0
"""Farther out the exponential integral is below 1e-18, nothing beside a pipe's own rise."""


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
            raise DemandError(reason("pipes-uncovered", trench=self.kind.words))
        return places


def steady_matrix(trench: PipedTrench, soil: Soil) -> Floats:
    """Steady rise of each pipe for a watt a metre in each, here and in all neighbours [m K/W].

    Images above a surface of steady temperature; 12 trenches on either side.
    """
    places, radius = np.array(trench.places), trench.radius_m
    shifts = trench.spacing_m * np.arange(-NEIGHBOURS, NEIGHBOURS + 1, dtype=np.float64)
    real, image = _distances(places, shifts, radius)
    return np.asarray(np.log(image / real).sum(axis=2) / (2 * math.pi * soil.conductivity))


class OutweighedError(ValueError):
    """What was left in the ground before helps more than the hour takes: it needs no length."""


@dataclass(frozen=True, slots=True)
class Steps:
    """Steps of a heat flow up to the design hours.

    Parameters
    ----------
    shares
        Each step as a share of the design flow; together 1 [-].
    ages_s
        How long before the end of the design hours each began [s].
    """

    shares: tuple[float, ...]
    ages_s: tuple[float, ...]


def rise_matrix(trench: PipedTrench, soil: Soil, age_s: float) -> Floats:
    """Rise of each pipe for a watt a metre in each pipe of all trenches since a time [m K/W]."""
    since = Steps((1.0,), (age_s,))
    return _answer_to_pipes(trench.places, trench.spacing_m, trench.radius_m, soil, since)


# the ground answers alike however fast the fluid runs, which is asked for most often
@lru_cache(maxsize=KNOWN)
def _answer_to_pipes(
    at: tuple[tuple[float, float], ...], spacing_m: float, radius_m: float, soil: Soil, steps: Steps
) -> Floats:
    """Rise of each pipe for a watt a metre of design flow in each, after all steps [m K/W]."""
    rises = _pipe_rises(at, spacing_m, radius_m, soil, steps.ages_s)
    answer = np.asarray(np.tensordot(steps.shares, rises, axes=1))
    answer.flags.writeable = False
    return answer


# heating and cooling ask for the same times
@lru_cache(maxsize=KNOWN)
def _pipe_rises(
    at: tuple[tuple[float, float], ...],
    spacing_m: float,
    radius_m: float,
    soil: Soil,
    ages_s: tuple[float, ...],
) -> Floats:
    """Rises of each pipe for a watt a metre in each, since each age; of their shape [m K/W]."""
    shifts = spacing_m * np.arange(-NEIGHBOURS, NEIGHBOURS + 1, dtype=np.float64)
    real, image = _distances(np.array(at), shifts, radius_m)
    return _line_rises(real, image, soil, ages_s)


def _line_rises(
    real: Floats, image: Floats, soil: Soil, ages_s: Sequence[float] | Floats
) -> Floats:
    """Rises for a watt a metre in lines so far off and in their images, for each age [m K/W].

    Distances of the lines stand along the last axis, over which they are summed.
    """
    # pipes in rows are as far from one another again and again
    apart, places = np.unique(np.stack([real, image]), return_inverse=True)
    scale = 4 * soil.diffusivity_m2s * np.array(ages_s)[:, None]
    each = np.moveaxis(_exp1(apart**2 / scale)[:, places.reshape(2, *real.shape)], 1, 0)
    rise = np.ascontiguousarray(each[0] - each[1]).sum(axis=-1)
    return np.asarray(rise / (4 * math.pi * soil.conductivity))


def _exp1(x: Floats) -> Floats:
    """Exponential integral, 0 where it is nothing beside what is added to it [-]."""
    from scipy.special import exp1  # noqa: PLC0415

    # most neighbours feel nothing of a pulse of hours or weeks, and scipy's is slow far out
    near = x < UNFELT
    integral = np.zeros_like(x)
    integral[near] = exp1(x[near])
    return integral


def _distances(places: Floats, shifts: Floats, radius_m: float) -> tuple[Floats, Floats]:
    """Distances from each pipe to each pipe of each trench, and to their images [m]."""
    aside = places[:, None, None, 0] - places[None, :, None, 0] - shifts[None, None, :]
    depths = places[:, None, None, 1], places[None, :, None, 1]
    real = np.hypot(aside, depths[0] - depths[1])
    return np.maximum(real, radius_m), np.hypot(aside, depths[0] + depths[1])


def drawn_per_metre(trench: PipedTrench, soil: Soil, differences_k: Floats, steps: Steps) -> float:
    """Heat flow between a metre of trench and the ground at the end of the design hours [W/m].

    Parameters
    ----------
    trench, soil
        Trench and ground.
    differences_k
        Ground less mean fluid at each of the trench's places, in the direction sized for [K].
    steps
        Of the heat flow up to then.

    Raises
    ------
    OutweighedError
        The steps before help more than the hour takes; never where each step is upwards.

    Examples
    --------
    One pipe, its neighbours far off, running since 30 days: 10 K over Rp + Rs = 0.09 + 0.4948.

    >>> from siteplan.site.trench_kinds import TrenchKind
    >>> one = PipedTrench(TrenchKind("", "", 0.3, 1.5, ((0.0, 0.0),)), 1.5, 900.0, 0.0167, 0.09)
    >>> since = Steps((1.0,), (30 * 86400.0,))
    >>> round(10 / drawn_per_metre(one, Soil(1.5, 6e-7), np.array([10.0]), since), 4)
    0.5848
    """
    if trench.kind.coil is not None:
        resistance = trench.pipe_resistance / trench.kind.pipe_per_m
        resistance += _answer_to_coil(_buried(trench), trench.spacing_m, soil, steps)
        if resistance <= 0:
            raise OutweighedError
        return float(np.mean(differences_k)) / resistance
    matrix = trench.pipe_resistance * np.eye(len(trench.places))
    matrix += _answer_to_pipes(trench.places, trench.spacing_m, trench.radius_m, soil, steps)
    if np.linalg.eigvalsh(matrix).min() <= 0:
        raise OutweighedError
    return float(np.linalg.solve(matrix, differences_k).sum())


def steady_per_metre(
    trench: PipedTrench, soil: Soil, differences_k: Floats, run_fraction: float
) -> float:
    """The same by the steady form, a share of the design flow having run for ever [W/m].

    Examples
    --------
    One pipe, its neighbours far off, running all the time: 10 K over Rp + Rs = 0.09 + 0.5508.

    >>> from siteplan.site.trench_kinds import TrenchKind
    >>> one = PipedTrench(TrenchKind("", "", 0.3, 1.5, ((0.0, 0.0),)), 1.5, 900.0, 0.0167, 0.09)
    >>> round(10 / steady_per_metre(one, Soil(1.5, 6e-7), np.array([10.0]), 1.0), 4)
    0.6408
    """
    if trench.kind.coil is not None:
        steady = coil_resistance(_buried(trench), soil.conductivity) + _beside(trench, soil)
        resistance = trench.pipe_resistance / trench.kind.pipe_per_m + run_fraction * steady
        return float(np.mean(differences_k)) / resistance
    matrix = trench.pipe_resistance * np.eye(len(trench.places))
    matrix += run_fraction * steady_matrix(trench, soil)
    return float(np.linalg.solve(matrix, differences_k).sum())


def _buried(trench: PipedTrench) -> BuriedCoil:
    shape = trench.kind.coil
    assert shape is not None
    return BuriedCoil(shape, trench.places[0][1], trench.radius_m)


def _beside(trench: PipedTrench, soil: Soil) -> float:
    """What the neighbouring trenches add to the steady rise of a coil, as lines [m K/W]."""
    real, image = _off_coil(trench.places[0][1], trench.spacing_m)
    return float(2 * np.log(image / real).sum() / (2 * math.pi * soil.conductivity))


def _off_coil(depth_m: float, spacing_m: float) -> tuple[Floats, Floats]:
    """Distances from a coil to the trenches on one side, and to their images [m]."""
    real = spacing_m * np.arange(1, NEIGHBOURS + 1, dtype=np.float64)
    return real, np.hypot(real, 2 * depth_m)


@lru_cache(maxsize=KNOWN)
def _answer_to_coil(coil: BuriedCoil, spacing_m: float, soil: Soil, steps: Steps) -> float:
    """Rise of a metre of trench with coiled pipe for a watt in it, after all steps [m K/W]."""
    ages = np.array(steps.ages_s)
    beside = 2 * _line_rises(*_off_coil(coil.depth_m, spacing_m), soil, ages)
    return float(np.dot(steps.shares, pulses(coil, soil, ages) + beside))


def pulses(coil: BuriedCoil, soil: Soil, ages_s: Floats) -> Floats:
    """Resistance of a coil for steady flows that began at some times, a metre of trench [m K/W]."""
    # the library of splines loads slowly, and only coils need it
    from scipy.interpolate import CubicSpline  # noqa: PLC0415

    # rings are summed slowly, and their response is smooth in the logarithm of time; how far the
    # heat has come is counted in one measure, so that all months and grounds ask for the same
    reached = 4 * soil.diffusivity_m2s * ages_s / COIL_REACH_M**2
    steps = np.log(reached) / math.log(COIL_AGES)
    first = math.floor(steps.min())
    known = np.arange(first - BEYOND, math.ceil(steps.max()) + BEYOND + 1)
    reaches = COIL_REACH_M * np.sqrt(COIL_AGES**known)
    rises = [coil_pulse(coil, soil.conductivity, float(reach)) for reach in reaches]
    return np.asarray(CubicSpline(known, rises)(steps), dtype=np.float64)


def trench_length(
    peak_w: float, trench: PipedTrench, soil: Soil, differences_k: Floats, steps: Steps
) -> float:
    """Length of trench that draws a heat flow in the design hours [m].

    Raises
    ------
    ValueError
        The ground is nowhere warmer (colder) than the fluid, or a pipe lies above the ground.
    """
    if np.mean(differences_k) <= 0:
        raise ValueError("the fluid must be colder than the ground to draw heat, or warmer.")
    drawn = drawn_per_metre(trench, soil, differences_k, steps)
    if drawn <= 0:
        raise DemandError(reason("upper-pipes-lose"))
    return peak_w / drawn
