"""Lines on paper in pieces: what lies along one pays for more of it than what crosses it."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import numpy.typing as npt

PIECE_MM: Final = 8.0
"""A line under a label counts once for each piece of this length [mm]."""


def in_pieces(points: npt.NDArray[np.float64]) -> list[npt.NDArray[np.float64]]:
    """A line on paper in pieces of one length.

    Examples
    --------
    >>> [piece.tolist() for piece in in_pieces(np.array([[0.0, 0.0], [30.0, 0.0]]))]
    [[[0.0, 0.0], [15.0, 0.0]], [[15.0, 0.0], [30.0, 0.0]]]
    """
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    count = math.ceil(along[-1] / PIECE_MM)
    if count < 2:
        return [points]
    ends = np.linspace(0.0, along[-1], count + 1)
    cuts = np.stack([np.interp(ends, along, points[:, axis]) for axis in (0, 1)], axis=1)
    # a corner at a cut is that end already
    inner = np.searchsorted(along, ends, side="right")
    last = np.searchsorted(along, ends, side="left")
    return [
        np.concatenate([cuts[k : k + 1], points[inner[k] : last[k + 1]], cuts[k + 1 : k + 2]])
        for k in range(count)
    ]


def lengths_within(
    boxes: npt.NDArray[np.float64], lines: npt.NDArray[np.float64]
) -> npt.NDArray[np.float64]:
    """How much of each straight line lies in its box [mm].

    ``boxes``: corners of rectangles in turn, shape (n, 4, 2); ``lines``: ends, shape (n, 2, 2).

    Examples
    --------
    >>> square = [[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [0.0, 2.0]]
    >>> lengths_within(np.array([square]), np.array([[[1.0, 1.0], [1.0, 5.0]]])).tolist()
    [1.0]
    """
    start, way = lines[:, 0], lines[:, 1] - lines[:, 0]
    first, last = np.zeros(len(lines)), np.ones(len(lines))
    for corner, following in ((0, 1), (1, 2)):
        # between two opposite sides: by how far along the side between them
        side = boxes[:, following] - boxes[:, corner]
        reach = (side**2).sum(axis=1)
        at = ((start - boxes[:, corner]) * side).sum(axis=1)
        step = (way * side).sum(axis=1)
        step = np.where(np.abs(step) < 1e-12, 1e-12, step)
        shares = np.sort(np.stack([-at / step, (reach - at) / step]), axis=0)
        first, last = np.maximum(first, shares[0]), np.minimum(last, shares[1])
    return np.asarray(np.maximum(last - first, 0.0) * np.hypot(way[:, 0], way[:, 1]))
