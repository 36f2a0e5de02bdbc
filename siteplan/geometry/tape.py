"""Places as a tape finds them: where two tapes cross, and along and off a line."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Point = tuple[float, float]
Floats = NDArray[np.float64]


def crossings(first: Point, first_m: float, second: Point, second_m: float) -> list[Point]:
    """The two places that lie so far from two points, one where the tapes are just straight.

    Empty where the tapes do not meet: see `miss`. Of the two the one to the left of the way from
    the first point to the second comes first.

    Examples
    --------
    >>> crossings((0.0, 0.0), 3.0, (5.0, 0.0), 4.0)
    [(1.8, 2.4), (1.8, -2.4)]
    """
    step = np.subtract(second, first)
    apart = float(np.hypot(*step))
    if apart == 0.0:
        return []
    along = (apart**2 + first_m**2 - second_m**2) / (2 * apart)
    square = first_m**2 - along**2
    if square < 0.0:
        return []
    off = math.sqrt(square)
    unit = step / apart
    foot = np.add(first, along * unit)
    left = np.array([-unit[1], unit[0]])
    places = [foot + off * left, foot - off * left]
    return [(float(x), float(y)) for x, y in (places if off > 0.0 else places[:1])]


def miss(first: Point, first_m: float, second: Point, second_m: float) -> float:
    """By how much two tapes miss each other [m]; zero where they cross.

    Examples
    --------
    >>> miss((0.0, 0.0), 3.0, (10.0, 0.0), 4.0), miss((0.0, 0.0), 20.0, (10.0, 0.0), 4.0)
    (3.0, 6.0)
    """
    apart = math.dist(first, second)
    return max(0.0, apart - first_m - second_m, abs(first_m - second_m) - apart)


def best_place(points: Sequence[Point], lengths_m: Sequence[float]) -> tuple[Point, float]:
    """The place that three or more tapes agree on best, and by how much the worst is off [m].

    Least squares over the lengths, begun at every crossing of the first two tapes.

    Examples
    --------
    >>> place, worst = best_place([(0.0, 0.0), (5.0, 0.0), (1.8, 7.4)], [3.0, 4.0, 5.0])
    >>> [round(value, 6) for value in (*place, worst)]
    [1.8, 2.4, 0.0]
    """
    at, lengths = np.array(points, dtype=np.float64), np.array(lengths_m, dtype=np.float64)

    def off(place: Floats) -> Floats:
        return np.asarray(np.hypot(*(at - place).T) - lengths, dtype=np.float64)

    begins = crossings(points[0], lengths_m[0], points[1], lengths_m[1])
    begins = begins or [tuple(at.mean(axis=0))]
    # what only a tape's ties need takes half as long to load as all that is read else
    from scipy.optimize import least_squares  # noqa: PLC0415

    found = [least_squares(off, begin) for begin in begins]
    best = min(found, key=lambda fit: float(fit.cost))
    return (float(best.x[0]), float(best.x[1])), float(np.abs(off(best.x)).max())


def along_and_off(start: Point, end: Point, along_m: float, off_m: float) -> Point:
    """The place so far along a line from its start, and so far to the left of it.

    Examples
    --------
    >>> along_and_off((0.0, 0.0), (10.0, 0.0), 4.0, 3.0)
    (4.0, 3.0)
    """
    step = np.subtract(end, start) / math.dist(start, end)
    place = np.add(start, along_m * step + off_m * np.array([-step[1], step[0]]))
    return float(place[0]), float(place[1])
