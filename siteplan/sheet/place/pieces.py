"""Lines on paper in pieces: what lies along one pays for more of it than what crosses it."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import numpy.typing as npt

PIECE_MM: Final = 15.0
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
