"""Resistance of the ground around pipes in trenches, by mirror images above the surface.

Source: line sources and their images, as H. S. Carslaw and J. C. Jaeger, Conduction of Heat in
Solids, 1959 (the text was not seen); shape factors of F. Incropera and others, Fundamentals of Heat
and Mass Transfer, and Y. Cengel, Heat and Mass Transfer, give the single and the double pipe. Tests
compare both, and the closed formula of an endless row of pipes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Place = tuple[float, float]
"""A pipe in a section: distance aside and depth of its centre [m]."""

NEIGHBOURS: Final = 12
"""Trenches on either side that are taken into account."""


def pipe_matrix(pipes: Sequence[Place], radius_m: float, conductivity: float) -> Floats:
    """Steady temperature rise of each pipe for a heat flow of one watt a metre in each [K m/W].

    M_ij = ln(d'_ij / d_ij) / (2 pi k), with d' to the mirror image and d_ii the radius.
    """
    places = np.array(pipes, dtype=np.float64).reshape(-1, 2)
    real, image = _distances(places, places, radius_m)
    return np.asarray(np.log(image / real) / (2 * math.pi * conductivity))


def _distances(places: Floats, others: Floats, radius_m: float) -> tuple[Floats, Floats]:
    """Distances to pipes and to their mirror images."""
    aside = places[:, None, 0] - others[None, :, 0]
    real = np.hypot(aside, places[:, None, 1] - others[None, :, 1])
    image = np.hypot(aside, places[:, None, 1] + others[None, :, 1])
    return np.where(real < radius_m, radius_m, real), image


def trench_resistance(
    pipes: Sequence[Place], radius_m: float, conductivity: float, *, even: bool = True
) -> float:
    """Steady resistance of one trench alone, from its pipes to the surface [m K/W].

    Parameters
    ----------
    pipes
        Places of the pipes in the section.
    radius_m
        Outer radius of a pipe [m].
    conductivity
        Of the ground [W/(m K)].
    even
        All pipes of one temperature; else all of one heat flow.

    Examples
    --------
    >>> round(trench_resistance([(0.0, 1.5)], 0.0167, 1.5), 4)
    0.5508
    """
    matrix = pipe_matrix(pipes, radius_m, conductivity)
    if not even:
        return float(matrix.sum() / len(matrix) ** 2)
    ones = np.ones(len(matrix))
    return float(1.0 / (ones @ np.linalg.solve(matrix, ones)))


def pulse_resistance(
    pipes: Sequence[Place],
    radius_m: float,
    ground: tuple[float, float],
    time_s: float,
    *,
    spacing_m: float | None = None,
) -> float:
    """Resistance of a trench for a steady flow that began some time ago [m K/W of trench].

    Line sources and sinks above the surface, every pipe with the same heat flow; neighbouring
    trenches at a spacing take part.

    Parameters
    ----------
    pipes
        Places of the pipes in the section.
    radius_m
        Outer radius of a pipe [m].
    ground
        Conductivity [W/(m K)] and diffusivity [m2/s].
    time_s
        Time since the flow began [s].
    spacing_m
        Distance of the neighbouring trenches [m]; None: there are none.

    Examples
    --------
    >>> month = 30 * 86_400.0
    >>> round(pulse_resistance([(0.0, 1.5)], 0.0167, (1.5, 0.6e-6), month), 4)
    0.4948
    """
    from scipy.special import exp1  # noqa: PLC0415

    conductivity, diffusivity = ground
    places = np.array(pipes, dtype=np.float64).reshape(-1, 2)
    shifts = (
        np.zeros(1) if spacing_m is None else spacing_m * np.arange(-NEIGHBOURS, NEIGHBOURS + 1)
    )
    others = np.concatenate([places + np.array([shift, 0.0]) for shift in shifts])
    real, image = _distances(places, others, radius_m)
    scale = 4 * diffusivity * time_s
    rise = exp1(real**2 / scale) - exp1(image**2 / scale)
    return float(rise.sum() / (4 * math.pi * conductivity) / len(places) ** 2)
