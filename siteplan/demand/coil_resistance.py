"""Resistance of the ground around a coil of pipe in a trench, by ring sources and their images.

A coil is a row of rings, each giving its heat evenly; the surface stays at its temperature, so that
each ring has a mirror image above it. Source: ring sources as H. S. Carslaw and J. C. Jaeger,
Conduction of Heat in Solids, 1959, section 10.3, put together for coils as by Z. Xiong, D. Fisher
and J. Spitler, Applied Energy 141 (2015). Neither text was seen. The figures are compared in tests
with rings of point sources integrated step by step, with a thin torus, with a strip of pipe, and
for a short pulse with a straight pipe; not with anything measured, nor with figures of the paper.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from siteplan.site.trench_kinds import CoilShape

Floats = NDArray[np.float64]

FINE: Final = 192
"""Points on a ring where two rings overlap and nothing smooths how near they come."""
COARSE: Final = 24
"""Points on a ring where rings lie apart, or where what is summed is smooth."""
FAR: Final = 8
"""Points on a ring for rings far off."""
FAR_OFF: Final = 3.0
"""Rings farther off than so many diameters are far [-]."""
FARTHEST: Final = 200
"""Rings on either side that are taken into account."""
KNOWN: Final = 256
"""Resistances kept, of the coils and times asked for last."""


@dataclass(frozen=True, slots=True)
class BuriedCoil:
    """A coil in the ground.

    Parameters
    ----------
    shape
        Rings, and how they lie.
    depth_m
        Depth of the middle of a ring [m].
    radius_m
        Outer radius of the pipe [m].
    """

    shape: CoilShape
    depth_m: float
    radius_m: float

    def points(self, count: int) -> Floats:
        """Places on a ring: along the trench, aside, and depth [m]."""
        turn = 2 * math.pi * (np.arange(count) + 0.5) / count
        along, across = (self.shape.diameter_m / 2 * wave(turn) for wave in (np.cos, np.sin))
        if self.shape.lies == "flat":
            return np.stack([along, across, np.full(count, self.depth_m)], axis=1)
        return np.stack([along, np.zeros(count), self.depth_m + across], axis=1)


def coil_resistance(coil: BuriedCoil, conductivity: float) -> float:
    """Steady resistance of a coil from its pipe to the surface, for a metre of trench [m K/W].

    Parameters
    ----------
    coil
        The coil.
    conductivity
        Of the ground [W/(m K)].
    """
    return _scale(coil, conductivity) * _nearness(coil, None)


def coil_pulse(coil: BuriedCoil, conductivity: float, reach_m: float) -> float:
    """Resistance of a coil for a steady flow that began some time ago, a metre of trench [m K/W].

    Parameters
    ----------
    coil
        The coil.
    conductivity
        Of the ground [W/(m K)].
    reach_m
        How far the heat has come: the root of four times diffusivity times time [m].
    """
    return _scale(coil, conductivity) * _nearness(coil, reach_m)


def _scale(coil: BuriedCoil, conductivity: float) -> float:
    return coil.shape.pitch_m / (4 * math.pi * conductivity)


# the same for all grounds that the heat has come as far in
@lru_cache(maxsize=KNOWN)
def _nearness(coil: BuriedCoil, reach_m: float | None) -> float:
    """Means of one over the distance from a ring to all rings, less those to their images [1/m]."""
    overlapping = _overlapping(coil)
    rings = max(_rings(coil, reach_m), overlapping)
    far = max(overlapping, math.ceil(FAR_OFF * coil.shape.diameter_m / coil.shape.pitch_m))
    real, image = _apart(coil, COARSE)
    others = _upon(coil, reach_m) - _summed(image[:overlapping], reach_m, _rise)
    others += _between(real, image, slice(overlapping, min(rings, far)), reach_m)
    others += _between(*_apart(coil, FAR), slice(far, rings), reach_m)
    return _own(coil, reach_m) + 2 * others


def _rings(coil: BuriedCoil, reach_m: float | None) -> int:
    """How many rings on one side matter: of a pulse those it has reached."""
    if reach_m is None:
        return FARTHEST
    far = (coil.shape.diameter_m + 4 * reach_m) / coil.shape.pitch_m
    return min(FARTHEST, math.ceil(far))


def _overlapping(coil: BuriedCoil) -> int:
    """How many rings on one side lie upon a ring, or within two pipes of it."""
    over = coil.shape.diameter_m + 4 * coil.radius_m
    return min(FARTHEST, math.ceil(over / coil.shape.pitch_m) - 1)


def _own(coil: BuriedCoil, reach_m: float | None) -> float:
    """Mean of one over the distance, from a ring to its own pipe's surface and its image [1/m]."""
    from scipy.special import ellipk  # noqa: PLC0415

    across, radius = coil.shape.diameter_m, coil.radius_m
    share = across**2 / (across**2 + radius**2)
    steady = 2 / math.pi * float(ellipk(share)) / math.hypot(across, radius)
    points = coil.points(_points(coil, reach_m))
    if reach_m is not None:
        # what has not come so far yet: smooth, so that few points do
        steady -= float(np.mean(_late(np.hypot(_distances(points, points), radius), reach_m)))
    return steady - float(np.mean(_rise(_distances(points, _mirrored(points)), reach_m)))


def _upon(coil: BuriedCoil, reach_m: float | None) -> float:
    """Means of one over the distance, from a ring to those that overlap it, summed [1/m]."""
    if reach_m is None:
        return _steadily_upon(coil)
    ring = coil.points(_points(coil, reach_m))
    others = ring + _shifts(coil, _overlapping(coil))[:, None, :]
    real = np.hypot(_distances(ring, others), 2 * coil.radius_m)
    return _steadily_upon(coil) - _summed(real, reach_m, _late)


def _points(coil: BuriedCoil, reach_m: float | None) -> int:
    """Points on a ring that a sum of what has not come yet needs: two for its reach."""
    if reach_m is None or COARSE * reach_m > 2 * math.pi * coil.shape.diameter_m:
        return COARSE
    return FINE


# rings that overlap have points close to one another, where a coarse sum is far off
@lru_cache(maxsize=KNOWN)
def _steadily_upon(coil: BuriedCoil) -> float:
    ring = coil.points(FINE)
    shifts = _shifts(coil, _overlapping(coil))
    return sum(
        float(np.mean(1.0 / np.hypot(_distances(ring, ring + shift), 2 * coil.radius_m)))
        for shift in shifts
    )


def _between(real: Floats, image: Floats, rings: slice, reach_m: float | None) -> float:
    """Means of one over the distance, from a ring to others less their images, summed [1/m]."""
    return _summed(real[rings], reach_m, _rise) - _summed(image[rings], reach_m, _rise)


def _summed(
    distances: Floats, reach_m: float | None, of: Callable[[Floats, float | None], Floats]
) -> float:
    """Mean for each ring of a function of the distances, summed over the rings [1/m]."""
    return float(of(distances, reach_m).mean(axis=(1, 2)).sum())


# a coil is asked for at many times in a row, and its rings stay where they are
@lru_cache(maxsize=8)
def _apart(coil: BuriedCoil, points: int) -> tuple[Floats, Floats]:
    """Distances from a ring to the next ones and to their images, shape (rings, n, n) [m]."""
    ring = coil.points(points)
    others = ring + _shifts(coil, FARTHEST)[:, None, :]
    # pipes that cross lie one upon the other
    real = np.hypot(_distances(ring, others), 2 * coil.radius_m)
    return real, _distances(ring, _mirrored(others))


def _shifts(coil: BuriedCoil, rings: int) -> Floats:
    """How far the next rings lie along the trench, shape (rings, 3) [m]."""
    along = coil.shape.pitch_m * np.arange(1, rings + 1, dtype=np.float64)
    return np.asarray(along[:, None] * np.array([1.0, 0.0, 0.0]))


def _mirrored(points: Floats) -> Floats:
    return np.asarray(points * np.array([1.0, 1.0, -1.0]), dtype=np.float64)


def _distances(points: Floats, others: Floats) -> Floats:
    between = points[:, None, :] - others[..., None, :, :]
    return np.asarray(np.sqrt(np.einsum("...k,...k", between, between)), dtype=np.float64)


def _rise(distance: Floats, reach_m: float | None) -> Floats:
    """One over the distance, as far as the heat has come by now."""
    from scipy.special import erf  # noqa: PLC0415

    come = 1.0 if reach_m is None else 1.0 - erf(distance / reach_m)
    return np.asarray(come / distance, dtype=np.float64)


def _late(distance: Floats, reach_m: float | None) -> Floats:
    """What of one over the distance has not come yet."""
    from scipy.special import erf  # noqa: PLC0415

    assert reach_m is not None
    return np.asarray(erf(distance / reach_m) / distance, dtype=np.float64)
