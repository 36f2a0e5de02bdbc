"""One side for the names of a series: a row of names is read at a glance where all stand alike."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
import shapely
from shapely import STRtree

from siteplan.sheet.model import XY
from siteplan.sheet.place.candidates import Candidate
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.label import Label
from siteplan.sheet.place.placer import corners_of

MOST: Final = 30.0
"""A name that would disturb more than this on the side of its series stands on another."""
ASIDE: Final = 2.0
"""What a name pays for another side than that of its series."""


def best_side(canvas: Canvas, series: Sequence[tuple[Label, Sequence[Candidate]]]) -> int:
    """Which of the like-numbered places of each name disturbs least, if all take it."""
    if not series:
        return 0
    sizes = [(label.width, label.height) for label, places in series for _ in places]
    costs = canvas.placer.beside([place for _, places in series for place in places], sizes)
    costs = np.minimum(costs, MOST).reshape(len(series), -1)
    for side in range(costs.shape[1]):
        costs[_meeting([(label, places[side]) for label, places in series]), side] = MOST
    # the place that is best by itself wins among equals
    return int(np.argmin(costs.sum(axis=0)))


def _meeting(placed: Sequence[tuple[Label, Candidate]]) -> list[int]:
    """Which labels, all standing in those places, would lie on another of them."""
    sizes = [(label.width, label.height) for label, _ in placed]
    boxes = np.asarray(shapely.polygons(corners_of([place for _, place in placed], sizes)))
    pairs = STRtree(boxes).query(boxes, predicate="intersects").T.tolist()
    return sorted({each for each, other in pairs if each != other})


def preferring(places: Sequence[Candidate], side: int, *, aside: float = ASIDE) -> list[Candidate]:
    """The places, all but that of the series at a price.

    Examples
    --------
    >>> spots = [Candidate((1.0, 0.0)), Candidate((2.0, 0.0), cost=0.7)]
    >>> [place.cost for place in preferring(spots, 1)]
    [2.0, 0.0]
    """
    return [
        replace(place, cost=0.0 if number == side else place.cost + aside)
        for number, place in enumerate(places)
    ]


def ends_along(paths: Sequence[Sequence[XY]]) -> list[bool]:
    """Whether each path runs the way the first one does, from its first point to its last.

    Examples
    --------
    >>> ends_along([((0, 0), (9, 0)), ((9, 2), (0, 2))])
    [True, False]
    """
    (x, y), *_, (far_x, far_y) = paths[0]
    along = (far_x - x, far_y - y)
    return [
        math.fsum(((path[-1][0] - path[0][0]) * along[0], (path[-1][1] - path[0][1]) * along[1]))
        >= 0.0
        for path in paths
    ]
