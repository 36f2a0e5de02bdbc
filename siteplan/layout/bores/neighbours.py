"""By how much bores have to be longer because they take heat from one another."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.distance import cdist

Floats = NDArray[np.float64]

MOST_WEIGHED: Final = 200
"""Of more bores than this so many stand for all: an even choice of them in staking order."""


@dataclass(frozen=True, slots=True)
class Neighbours:
    """What one bore adds to the length that another needs, by the distance between them.

    Parameters
    ----------
    distances_m
        Distances, rising [m].
    longer_m
        Length added to the field for each bore and each neighbour at that distance, shared by all
        bores [m].
    """

    distances_m: tuple[float, ...]
    longer_m: tuple[float, ...]

    def of(self, points: Floats) -> float:
        """Length that bores at these places need beyond that of bores far from one another [m].

        Examples
        --------
        Two bores: each adds to the other, and the mean of both counts.

        >>> near = Neighbours((5.0, 10.0), (20.0, 10.0))
        >>> near.of(np.array([[0.0, 0.0], [7.5, 0.0]]))
        15.0
        """
        if len(points) < 2:
            return 0.0
        some = np.linspace(0, len(points) - 1, min(len(points), MOST_WEIGHED)).round().astype(int)
        apart = cdist(points[some], points)
        apart[np.arange(len(some)), some] = np.inf
        # farther out than it was worked out a bore is not felt
        felt = np.interp(apart, self.distances_m, self.longer_m, right=0.0)
        return float(felt.sum() / len(some))
