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
        self._line.append(self._line[-1] if goes_on and self._line else len(self._cost))
        self._cost.append(cost)
        self._leader_cost.append(leader_cost)
        self._new = None

    def without(self, gone: Set[int]) -> CoveredInk:
        """The same ink without shapes of those identities."""
        left = CoveredInk()
        places = [place for place, one in enumerate(self.shapes) if id(one) not in gone]
        left.shapes = [self.shapes[place] for place in places]
        left._thing = array("q", [self._thing[place] for place in places])
        left._cost, left._leader_cost = self._cost[:], self._leader_cost[:]
        left._line = self._line[:]
        return left

    def covered(self, shapes: Shapes, *, leader: bool = False) -> npt.NDArray[np.float64]:
        """Cost of the ink under each shape."""
        if not self.shapes:
            return np.zeros(len(shapes))
        which, ink = self.hits(shapes)
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
        return np.concatenate([old, new], axis=-1)

    def touched(self, shapes: Shapes) -> npt.NDArray[np.bool_]:
        """Whether there is ink under each shape."""
        hit = np.zeros(len(shapes), bool)
        for tree in self._trees():
            # by bounding boxes alone: exact tests are needed only until one piece hits
            which, near = tree.query(shapes)
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
