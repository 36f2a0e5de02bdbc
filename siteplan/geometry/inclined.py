"""Distances between straight lines in space that begin at the ground and run down."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

STEADY: Final = 1e-14
"""Lines whose directions differ by less, squared, part evenly by 0.1 mm in a kilometre."""
PARALLEL: Final = 1e-12
"""Directions that differ by less, squared, are taken for parallel."""


def downward(tilt_deg: ArrayLike, azimuth_deg: ArrayLike) -> Floats:
    """Unit vectors east, north, up of lines that lean from the vertical, shape (..., 3).

    Parameters
    ----------
    tilt_deg
        Lean from the vertical [deg].
    azimuth_deg
        Towards where, clockwise from the y axis [deg].

    Examples
    --------
    >>> downward(30.0, 90.0).round(3).tolist()
    [0.5, 0.0, -0.866]
    """
    tilt, turn = np.radians(tilt_deg), np.radians(azimuth_deg)
    out = np.sin(tilt)
    return np.stack(
        np.broadcast_arrays(out * np.sin(turn), out * np.cos(turn), -np.cos(tilt)), axis=-1
    )


def mean_gap(between: Floats, apart: Floats, length: float) -> Floats:
    """Distance between two lines at equal drilled depth, averaged over the depth, shape (...) [m].

    The distance at drilled depth s is |between + s apart|; its integral is taken in closed form.

    Parameters
    ----------
    between
        Step from the upper end of one line to that of the other, shape (..., 3) [m].
    apart
        Difference of their unit directions, shape (..., 3).
    length
        Drilled depth over which the mean is taken [m].

    Examples
    --------
    Two lines from one point, one upright and one leaning by 60 degrees, part by a metre a metre.

    >>> step = downward(60.0, 0.0) - downward(0.0, 0.0)
    >>> float(mean_gap(np.zeros(3), step, 10.0).round(9))
    5.0
    """
    growth = np.sum(apart * apart, axis=-1)
    start = np.sum(between * between, axis=-1)
    steady = growth < STEADY
    # two bores that lean alike part so little that half way down they are as far apart as in the
    # mean: the formula would divide by nothing
    halfway = np.linalg.norm(between + apart * (length / 2), axis=-1)
    safe = np.where(steady, 1.0, growth)
    nearest = np.sum(between * apart, axis=-1) / safe
    least = np.maximum(start / safe - nearest**2, 0.0)
    total = np.sqrt(safe) * (_integral(nearest + length, least) - _integral(nearest, least))
    return np.where(steady, halfway, total / length)


def _integral(place: Floats, least: Floats) -> Floats:
    """Antiderivative of sqrt(t2 + least)."""
    root = np.sqrt(place**2 + least)
    scale = np.where(least > 0, np.sqrt(np.where(least > 0, least, 1.0)), 1.0)
    bow = np.where(least > 0, least * np.arcsinh(place / scale), 0.0)
    return (place * root + bow) / 2


def least_gap(between: Floats, first: Floats, second: Floats, length: float) -> Floats:
    """Least distance between two lines of one length anywhere along them, shape (...) [m].

    The squared distance is a convex quadratic of the two depths: its least value lies inside the
    square of depths, or on one of its four sides.

    Parameters
    ----------
    between
        Step from the upper end of the first line to that of the second, shape (..., 3) [m].
    first, second
        Their unit directions, shape (..., 3).
    length
        Length of both [m].

    Examples
    --------
    >>> aside = np.array([2.0, 0.0, 0.0])
    >>> float(least_gap(aside, downward(0.0, 0.0), downward(0.0, 0.0), 50.0))
    2.0
    """
    cosine = np.sum(first * second, axis=-1)
    along_first = np.sum(between * first, axis=-1)
    along_second = np.sum(between * second, axis=-1)
    bend = 1.0 - cosine**2
    safe = np.where(bend < PARALLEL, 1.0, bend)
    inner = np.clip((along_first - cosine * along_second) / safe, 0.0, length)
    # parallel lines are nearest all along: any depth serves, and the sides below find the rest
    inner = np.where(bend < PARALLEL, 0.0, inner)
    squares = [
        _square(between, first, second, (s, np.clip(s * cosine - along_second, 0.0, length)))
        for s in (inner, np.zeros_like(inner), np.full_like(inner, length))
    ]
    squares += [
        _square(between, first, second, (np.clip(t * cosine + along_first, 0.0, length), t))
        for t in (np.zeros_like(inner), np.full_like(inner, length))
    ]
    return np.asarray(np.sqrt(np.min(squares, axis=0)))


def _square(
    between: Floats, first: Floats, second: Floats, depths: tuple[Floats, Floats]
) -> Floats:
    gap = between + depths[1][..., None] * second - depths[0][..., None] * first
    return np.asarray(np.sum(gap * gap, axis=-1))
