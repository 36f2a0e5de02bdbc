"""Ink on paper: what a label or a leader pays for lying on it."""

from __future__ import annotations

from array import array
from collections.abc import Sequence, Set
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import STRtree
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.distinct import Numbers, distinct
from siteplan.preferences.table import count_of
from siteplan.sheet.place.pieces import PIECE_MM, lengths_within

MOST_NEW: Final = count_of("sheet.place.ink.most_new")

Shapes = npt.NDArray[np.object_]


class Ink:
    """Shapes on paper, and what a label or a leader pays for lying on each thing they make up."""

    def __init__(self) -> None:
        self.shapes: list[BaseGeometry] = []
        self._thing, self._cost, self._leader_cost = array("q"), array("d"), array("d")
        # whether a thing goes on where the one before it ends
        self._joins, self._long = array("b"), False
        # old ink in a tree that is kept, the newest in a small one that is made anew
        self._old = STRtree([])
        self._new: STRtree | None = None
        self._settled = 0

    def add(
        self, shapes: Sequence[BaseGeometry], cost: float, leader_cost: float, *,
        joins: bool = False,
    ) -> None:  # fmt: skip
        """Remember the pieces of one thing; ``joins``: it is one line with the thing before it."""
        self.shapes.extend(shapes)
        self._thing.extend([len(self._cost)] * len(shapes))
        self._cost.append(cost)
        self._leader_cost.append(leader_cost)
        self._joins.append(joins)
        self._long |= joins
        self._new = None

    def without(self, gone: Set[int]) -> Ink:
        """The same ink without shapes of those identities."""
        left = Ink()
        places = [place for place, one in enumerate(self.shapes) if id(one) not in gone]
        left.shapes = [self.shapes[place] for place in places]
        left._thing = array("q", [self._thing[place] for place in places])
        left._cost, left._leader_cost = self._cost[:], self._leader_cost[:]
        left._joins, left._long = self._joins[:], self._long
        return left

    def covered(self, shapes: Shapes, *, leader: bool = False) -> npt.NDArray[np.float64]:
        """Cost of the ink under each shape."""
        if not self.shapes:
            return np.zeros(len(shapes))
        which, ink = self.hits(shapes)
        # a line that passes under a label with several pieces counts once
        count = len(self._cost)
        covers = which * count + np.frombuffer(self._thing, int)[ink]
        pairs = distinct(covers)
        box, thing = np.divmod(pairs, count)
        costs = np.frombuffer(self._leader_cost if leader else self._cost)[thing]
        if self._long and len(pairs):
            goes_on = np.zeros(len(pairs), dtype=bool)
            goes_on[1:] = pairs[1:] - pairs[:-1] == 1
            goes_on &= np.frombuffer(self._joins, np.bool_)[thing]
            if leader:
                # it crosses a line in one place, where a label may lie along it
                costs = np.where(goes_on, 0.0, costs)
            elif goes_on.any():
                pair = np.searchsorted(pairs, covers)
                costs = costs * self._shares(shapes, which, ink, pair, goes_on)
        return np.asarray(np.bincount(box, weights=costs, minlength=len(shapes)), float)

    def _shares(
        self, boxes: Shapes, which: Numbers, ink: Numbers, pair: Numbers,
        goes_on: npt.NDArray[np.bool_],
    ) -> npt.NDArray[np.float64]:  # fmt: skip
        """What each pair of a box and a thing pays of its cost: by length where things are joined.

        ``pair``: number of the pair that each hit of a box, by number, and a piece of ink makes.
        """
        row = np.cumsum(~goes_on) - 1
        count = np.bincount(row)
        long = count[row[pair]] > 1
        pieces = [self.shapes[place] for place in ink[long].tolist()]
        ends = shapely.get_coordinates(pieces).reshape(-1, 2, 2)
        corners = shapely.get_coordinates(boxes).reshape(-1, 5, 2)[which[long], :4]
        lengths = lengths_within(corners, ends)
        length = np.bincount(row[pair[long]], weights=lengths, minlength=len(count))
        return np.asarray((np.maximum(length / PIECE_MM, 1.0) / count)[row])

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
            # of the ink near a shape the first piece mostly decides
            first = np.diff(which, prepend=-1) > 0
            for some in (first, ~first):
                asked = some & ~hit[which]
                of = which[asked]
                hit[of[shapely.intersects(shapes[of], tree.geometries[near[asked]])]] = True
        return hit

    def _trees(self) -> tuple[STRtree, STRtree]:
        if self._new is None:
            # a tree takes nothing more once it is made: to make it all anew after every label
            # would cost more with each of them
            if len(self.shapes) - self._settled > MOST_NEW:
                self._old, self._settled = STRtree(self.shapes), len(self.shapes)
            self._new = STRtree(self.shapes[self._settled :])
        return self._old, self._new
