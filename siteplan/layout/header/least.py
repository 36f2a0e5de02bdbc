"""The least that any header needs, whatever way it takes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
import numpy.typing as npt
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import minimum_spanning_tree
from scipy.spatial import Delaunay, QhullError
from scipy.spatial.distance import cdist

FEW: Final = 100
"""Of so few spots all distances are looked at, of more those between neighbours."""

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
    table = cdist(points, points) if len(points) <= FEW else _between_neighbours(points)
    return STEINER * float(minimum_spanning_tree(table).sum())


def _between_neighbours(points: npt.NDArray[np.float64]) -> Any:
    """Distances along the triangles of Delaunay, which hold a shortest tree; all, if on a line."""
    try:
        triangles = Delaunay(points).simplices
    except QhullError:
        return cdist(points, points)
    sides = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    sides = np.unique(np.sort(sides, axis=1), axis=0).astype(np.int32)
    apart = np.hypot(*(points[sides[:, 0]] - points[sides[:, 1]]).T)
    size = len(points)
    return coo_matrix((apart, (sides[:, 0], sides[:, 1])), shape=(size, size)).tocsr()
