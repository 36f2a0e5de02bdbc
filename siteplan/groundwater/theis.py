"""Drawdown around wells in an aquifer without end, by the equation of Theis."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

LEAST_U: Final = 1e-30
"""Argument below which the well function is not asked; it grows by 2.3 a decade [-]."""


def well_function(u: Floats | float) -> Floats:
    """Well function of Theis, W(u), the exponential integral E1 [-].

    C. V. Theis, Transactions of the American Geophysical Union 16 (1935) 519-524.

    Examples
    --------
    >>> round(float(well_function(1.0)), 4), round(float(well_function(1e-10)), 4)
    (0.2194, 22.4486)
    """
    # loads slowly, and only well pairs need it
    from scipy.special import exp1  # noqa: PLC0415

    return np.asarray(exp1(np.maximum(u, LEAST_U)))


@dataclass(frozen=True, slots=True)
class Storage:
    """What an aquifer lets through, and what it gives out of store.

    Parameters
    ----------
    transmissivity
        Flow through a metre of width at a gradient of one [m2/s].
    storativity
        Water given from a square metre where the level falls by a metre [-].
    """

    transmissivity: float
    storativity: float


def drawdown(flow_m3s: float, distance_m: float, time_s: float, aquifer: Storage) -> float:
    """Fall of the level at a distance from a well that has been pumped for a time [m].

    ``s = Q/(4 pi T) W(u)``, ``u = r^2 S/(4 T t)``; the well itself loses nothing.

    Examples
    --------
    >>> round(drawdown(500 / 86400, 100.0, 10 * 86400.0, Storage(200 / 86400, 1e-4)), 5)
    1.67314
    """
    u = distance_m**2 * aquifer.storativity / (4 * aquifer.transmissivity * time_s)
    return float(flow_m3s / (4 * math.pi * aquifer.transmissivity) * well_function(u))


@dataclass(frozen=True, slots=True)
class Pumping:
    """Flow of a well in steps that follow one another; negative where water goes in.

    Parameters
    ----------
    flows_m3s
        Flow of each step [m3/s].
    step_s
        How long each lasts [s].
    """

    flows_m3s: tuple[float, ...]
    step_s: float


def drawdowns(pumping: Pumping, distances_m: Sequence[float], aquifer: Storage) -> Floats:
    """Fall of the level at distances, a column each, at the end of each step [m].

    Every change of the flow is a well of its own that begins then: their drawdowns add up.

    Examples
    --------
    >>> steps = Pumping((1e-3, 1e-3), 86400.0)
    >>> whole = drawdown(1e-3, 50.0, 2 * 86400.0, Storage(1e-3, 1e-3))
    >>> bool(abs(drawdowns(steps, [50.0], Storage(1e-3, 1e-3))[1, 0] - whole) < 1e-12)
    True
    """
    flows = np.asarray(pumping.flows_m3s)
    changes = np.diff(flows, prepend=0.0)
    squares = np.square(np.asarray(distances_m, dtype=float))
    ages = np.arange(1, len(flows) + 1) * pumping.step_s
    arguments = (
        squares[None, :] * aquifer.storativity / (4 * aquifer.transmissivity * ages[:, None])
    )
    answers = well_function(arguments) / (4 * math.pi * aquifer.transmissivity)
    fallen = np.zeros((len(flows), len(squares)))
    for start, change in enumerate(changes):
        if change:
            fallen[start:] += change * answers[: len(flows) - start]
    return fallen
