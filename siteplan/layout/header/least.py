"""The least that any header needs, whatever way it takes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from scipy.sparse.csgraph import minimum_spanning_tree
from scipy.spatial.distance import cdist

STEINER: Final = 0.824
"""No tree through given points of the plane is shorter than this share of the shortest one that
branches only in them. F. R. K. Chung, R. L. Graham, "A new bound for Euclidean Steiner minimal
trees", Annals of the New York Academy of Sciences 440 (1985) 328-346: 0.82416."""


def least_header(spots: Sequence[tuple[float, float]]) -> float:
    """Length that no header falls below which joins all spots, the entry among them [m].

    Examples
    --------
    A square: its shortest tree, with two points of branching, is 1 + sqrt(3).

    >>> round(least_header([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]), 3)
    2.472
    """
    points = np.unique(np.asarray(spots, dtype=float), axis=0)
    return STEINER * float(minimum_spanning_tree(cdist(points, points)).sum())
