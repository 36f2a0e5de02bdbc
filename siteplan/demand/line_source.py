"""Response of the ground to bores of finite length: how neighbours weigh on one another.

Source: J. Claesson and S. Javed, An Analytical Method to Calculate Borehole Fluid Temperatures for
Time-Scales from Minutes to Decades, ASHRAE Transactions 117(2), 2011. The paper was not seen; the
form is compared in tests with point sources and their mirror images integrated along both bores
(scipy's quad, 27 cases, to 1e-7), with the closed form of the steady state, and for a very long
line with table 5.1 of Abramowitz and Stegun.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.polynomial.legendre import leggauss
from numpy.typing import NDArray

Floats = NDArray[np.float64]

MOST_EXACT: Final = 64
"""Of more distances than this so many are integrated, and the others interpolated."""
FARTHEST: Final = 8.0
"""The integrand is nothing where the exponent's root is larger than this."""
PANEL: Final = 1.0
"""Width of a panel of integration, in the logarithm: with 16 points on each the integral is right
to 3e-15 (60 fields at random, against adaptive integration)."""
POINTS, WEIGHTS = leggauss(16)


@dataclass(frozen=True, slots=True)
class Line:
    """A vertical line source, and how long it has been at work.

    Parameters
    ----------
    length_m
        Length of the line [m].
    top_m
        Depth of its upper end below the ground [m].
    diffusivity_m2s
        Thermal diffusivity of the ground [m2/s].
    time_s
        Time since the heat flow began [s].
    """

    length_m: float
    top_m: float
    diffusivity_m2s: float
    time_s: float


def line_response(distance_m: Floats, line: Line) -> Floats:
    """Mean temperature rise along a line at a distance from an equal one, times 2 pi k / q [-].

    g = 1/2 Int exp(-r2 s2) Ils(H s, D s) / (H s2) ds from 1/sqrt(4 a t) to infinity, with
    Ils(h, d) = 2 ierf(h) + 2 ierf(h + 2d) - ierf(2h + 2d) - ierf(2d).

    Parameters
    ----------
    distance_m
        Distances, above 0, shape (n,) [m].
    line
        The line source; the ground's surface keeps its temperature.

    Examples
    --------
    >>> bore = Line(100.0, 4.0, 1e-6, 10 * 365 * 86_400.0)
    >>> line_response(np.array([0.05, 6.0]), bore).round(4).tolist()
    [6.0425, 1.3259]
    """
    distance = np.asarray(distance_m, dtype=np.float64)
    if distance.size == 0:
        return np.zeros(0)
    start = 1.0 / math.sqrt(4.0 * line.diffusivity_m2s * line.time_s)
    # the nearest distance sets the end for all: the integrand of the others is nothing long before
    end = max(FARTHEST / float(distance.min()), 2.0 * start)
    # in the logarithm, as it runs over many powers of ten: equal steps would miss one end
    logarithms, weights = _panels(math.log(start), math.log(end))
    s = np.exp(logarithms)
    images = _images(line.length_m * s, line.top_m * s) / (line.length_m * s)
    near = np.exp(-np.square(distance[:, None] * s))
    return np.asarray((near * (weights * images)).sum(axis=1) / 2.0)


def _panels(start: float, end: float) -> tuple[Floats, Floats]:
    """Points and weights of Gauss's rule on panels of at most `PANEL` between two ends."""
    count = math.ceil((end - start) / PANEL)
    half = (end - start) / (2 * count)
    middles = start + half * (2 * np.arange(count) + 1)
    return (middles[:, None] + half * POINTS).ravel(), np.tile(half * WEIGHTS, count)


def _images(h: Floats, d: Floats) -> Floats:
    return 2 * _ierf(h) + 2 * _ierf(h + 2 * d) - _ierf(2 * h + 2 * d) - _ierf(2 * d)


def _ierf(x: Floats) -> Floats:
    from scipy.special import erf  # noqa: PLC0415

    return np.asarray(x * erf(x) + np.expm1(-np.square(x)) / math.sqrt(math.pi))


def neighbours_response(distances_m: Floats, line: Line) -> float:
    """What all other bores of a field add to the response of one, averaged over the bores [-].

    Every bore gives off the same heat flow a metre. That is exact for two bores or a square, within
    1 % for up to six, and too high for large dense fields: on the safe side.

    Parameters
    ----------
    distances_m
        Distances of all pairs of bores in the order of ``scipy.spatial.distance.pdist`` [m].
    line
        A bore as a line source.

    Examples
    --------
    >>> bore = Line(100.0, 4.0, 1e-6, 10 * 365 * 86_400.0)
    >>> round(neighbours_response(np.array([6.0]), bore), 4)
    1.3259
    """
    from scipy.spatial.distance import squareform  # noqa: PLC0415

    if len(distances_m) == 0:
        return 0.0
    bores = len(squareform(distances_m))
    # on a grid most pairs have one of a few distances
    distinct, times = np.unique(np.round(distances_m, 6), return_counts=True)
    responses = _responses(np.maximum(distinct, 1e-3), line)
    return float(2.0 * (responses * times).sum() / bores)


def _responses(distance: Floats, line: Line) -> Floats:
    if distance.size <= MOST_EXACT:
        return line_response(distance, line)
    # loads slowly, and only a calculated length needs it
    from scipy.interpolate import PchipInterpolator  # noqa: PLC0415

    # in a free field all distances differ: an integral for each would be dear, and the response is
    # smooth
    knots = np.geomspace(distance[0], distance[-1], MOST_EXACT)
    values = line_response(knots, line)
    inner = np.log(np.clip(distance, knots[0], knots[-1]))
    return np.asarray(PchipInterpolator(np.log(knots), values)(inner))
