"""Ink on paper, and what labels and leaders pay for lying on it."""

from __future__ import annotations

import sys
from array import array
from collections.abc import Sequence, Set
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import STRtree
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.distinct import distinct
from siteplan.preferences.table import count_of

MOST_NEW: Final = count_of("sheet.place.covered_ink.most_new")
ROUNDS: Final = (1, 6, 30, sys.maxsize)
"""So many pieces of the ink near a shape are looked at before the next."""

Shapes = npt.NDArray[np.object_]


class CoveredInk:
    """Shapes on paper, and what a label or a leader pays for lying on each thing they make up."""

    def __init__(self) -> None:
        self.shapes: list[BaseGeometry] = []
        self._thing, self._cost, self._leader_cost = array("q"), array("d"), array("d")
        # of which line each thing is a piece
        self._line = array("q")
        # of each shape its identity, and whether it was taken away again
        self._identity, self._gone = array("Q"), bytearray()
        # old ink in a tree that is kept, the newest in a small one that is made anew
        self._old = STRtree([])
        self._new: STRtree | None = None
        self._settled = 0

    def add(
        self, shapes: Sequence[BaseGeometry], cost: float, leader_cost: float, *,
        goes_on: bool = False,
    ) -> None:  # fmt: skip
        """Remember the pieces of one thing; ``goes_on``: it is the line of the last one farther."""
        self.shapes.extend(shapes)
        self._thing.extend([len(self._cost)] * len(shapes))
        self._identity.extend(map(id, shapes))
        self._gone.extend(bytes(len(shapes)))
        self._line.append(self._line[-1] if goes_on and self._line else len(self._cost))
        self._cost.append(cost)
        self._leader_cost.append(leader_cost)
        self._new = None

    def without(self, gone: Set[int]) -> CoveredInk:
        """The same ink without shapes of those identities.

        They keep their places, so that no tree is made anew; nothing is found to lie on them.
        """
        left = CoveredInk()
        left.shapes, left._identity = self.shapes[:], self._identity[:]
        left._thing, left._line = self._thing[:], self._line[:]
        left._cost, left._leader_cost = self._cost[:], self._leader_cost[:]
        left._old, left._new, left._settled = self._old, self._new, self._settled
        known = np.frombuffer(self._identity, np.uint64)
        taken = np.isin(known, np.fromiter(gone, np.uint64, len(gone)))
        left._gone = bytearray(taken | np.frombuffer(self._gone, bool))
        return left

    def covered(
        self, shapes: Shapes, *, leader: bool = False, since: int | None = None
    ) -> npt.NDArray[np.float64]:
        """Cost of the ink under each shape; ``since``: of what came after so many pieces alone."""
        if len(self.shapes) <= (since or 0):
            return np.zeros(len(shapes))
        which, ink = self.hits(shapes) if since is None else self._hits_since(shapes, since)
        # a line that passes under a label with several pieces counts once
        count = len(self._cost)
        which, thing = np.divmod(
            distinct(which * count + np.frombuffer(self._thing, int)[ink]), count
        )
        weights = np.frombuffer(self._leader_cost if leader else self._cost)[thing]
        # on the end of one piece of a line and on the next lies one line, not two
        line = np.frombuffer(self._line, int)[thing]
        same = (which[1:] == which[:-1]) & (line[1:] == line[:-1])
        first = np.append(same, False) & ~np.append(False, same)
        weights = np.where(first, 0.0, weights)
        return np.asarray(np.bincount(which, weights=weights, minlength=len(shapes)), float)

    def hits(self, shapes: BaseGeometry | Shapes) -> npt.NDArray[np.int64]:
        """Numbers of the ink under a shape; of many, pairs of the number of each and its ink."""
        old, new = (tree.query(shapes, predicate="intersects") for tree in self._trees())
        # of many shapes the last row numbers the ink, of a single one all numbers do
        if new.ndim == 1:
            new += self._settled
        else:
            new[-1] += self._settled
        pairs = np.concatenate([old, new], axis=-1)
        ink = pairs if pairs.ndim == 1 else pairs[-1]
        return pairs[..., ~np.frombuffer(self._gone, bool)[ink]]

    def _hits_since(self, shapes: Shapes, since: int) -> npt.NDArray[np.int64]:
        """The same among the last pieces, which are few: without a tree."""
        new = np.array(self.shapes[since:], dtype=object)
        near, boxes = shapely.bounds(new), shapely.bounds(shapes)
        meet = (boxes[:, None, :2] <= near[:, 2:]) & (boxes[:, None, 2:] >= near[:, :2])
        free = ~np.frombuffer(self._gone, bool)[since:]
        which, ink = np.nonzero(meet.all(axis=-1) & free)
        hit = shapely.intersects(shapes[which], new[ink])
        return np.stack([which[hit], ink[hit] + since])

    def touched(self, shapes: Shapes) -> npt.NDArray[np.bool_]:
        """Whether there is ink under each shape."""
        hit = np.zeros(len(shapes), bool)
        gone = np.frombuffer(self._gone, bool)
        for tree, first in zip(self._trees(), (0, self._settled), strict=True):
            # by bounding boxes alone: exact tests are needed only until one piece hits
            pairs = tree.query(shapes)
            which, near = pairs[:, ~gone[first:][pairs[1]]]
            # of the ink near a shape the first pieces mostly decide
            rank = np.arange(len(which)) - np.searchsorted(which, which)
            for most in ROUNDS:
                asked = (rank < most) & ~hit[which]
                of = which[asked]
                hit[of[shapely.intersects(shapes[of], tree.geometries[near[asked]])]] = True
                later = rank >= most
                which, near, rank = which[later], near[later], rank[later]
        return hit

    def _trees(self) -> tuple[STRtree, STRtree]:
        if self._new is None:
            # a tree takes nothing more once it is made: to make it all anew after every label
            # would cost more with each of them
            if len(self.shapes) - self._settled > MOST_NEW:
                self._old, self._settled = STRtree(self.shapes), len(self.shapes)
            self._new = STRtree(self.shapes[self._settled :])
        return self._old, self._new
