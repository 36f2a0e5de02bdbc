"""Lengths divided into groups whose totals differ least, proven where the search ends."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from siteplan.preferences.table import count_of

STEP: Final = 1e-3
"""Lengths are weighed in whole millimetres [m]."""
MOST_NODES: Final = count_of("hydraulics.balance.most_nodes")

MOST_EXCHANGES: Final = count_of("hydraulics.balance.most_exchanges")


@dataclass(frozen=True, slots=True)
class Division:
    """Lengths in groups.

    Parameters
    ----------
    groups
        Numbers of the lengths in each group, in rising order.
    spread_m
        Greatest total less the smallest, to the millimetre [m].
    proven
        Whether no other division into so many groups has a smaller spread.
    """

    groups: tuple[tuple[int, ...], ...]
    spread_m: float
    proven: bool


def divide(
    lengths_m: Sequence[float], count: int, most_m: float, *, nodes: int = MOST_NODES
) -> Division | None:
    """Division into so many groups with the least spread of totals, None where none was found.

    Depth-first branch and bound: long lengths first, each to the emptiest group first, beginning
    with what a few exchanges make of the first division. A branch is cut where a total passes
    ``most_m``, where what is left cannot lift the other groups up to the best spread found so
    far, and where the same totals were reached before.

    Parameters
    ----------
    lengths_m
        Lengths to divide [m].
    count
        Number of groups; none stays empty.
    most_m
        Greatest total of a group [m].
    nodes
        Most steps of the search.

    Examples
    --------
    >>> divide([3.0, 3.0, 2.0, 2.0, 2.0], 2, 10.0)
    Division(groups=((0, 1), (2, 3, 4)), spread_m=0.0, proven=True)
    >>> divide([3.0, 3.0], 1, 5.0) is None
    True
    """
    if not 1 <= count <= len(lengths_m):
        return None
    # whole numbers compare exactly: sums of floats would tell equal totals apart by their last
    # bits
    whole = [round(length / STEP) for length in lengths_m]
    if count == len(whole):
        fits = max(whole) <= most_m / STEP + 1
        alone = tuple((number,) for number in range(count))
        return Division(alone, (max(whole) - min(whole)) * STEP, proven=True) if fits else None
    search = _Search(whole, count, math.floor(most_m / STEP) + 1, nodes)
    search.run()
    if search.best is None:
        return None
    ordered = sorted(tuple(sorted(group)) for group in search.best)
    return Division(tuple(ordered), search.spread * STEP, proven=search.left >= 0)


class _Search:
    """State of one search over whole numbers."""

    def __init__(self, lengths: Sequence[int], count: int, most: int, nodes: int) -> None:
        # long lengths first: they decide, and a branch that cannot work out is cut early
        self.order = sorted(range(len(lengths)), key=lambda number: (-lengths[number], number))
        self.lengths = [lengths[number] for number in self.order]
        self.rest = [sum(self.lengths[place:]) for place in range(len(lengths) + 1)]
        self.most = most
        self.left = nodes
        self.mean = self.rest[0] / count
        self.loads = [0] * count
        self.groups: list[list[int]] = [[] for _ in range(count)]
        self.best: list[list[int]] | None = None
        self.spread = most + 1
        self.seen: set[tuple[int, ...]] = set()

    def run(self, place: int = 0) -> None:
        """Try every group for the length at a place of the order, and for all after it."""
        self.left -= 1
        if place == len(self.order):
            self._keep()
            return
        # counted in steps and not in time: the same input gives the same answer on a slow computer
        if self.left < 0 or self._is_known(place) or not self._can_improve(place):
            return
        for group in self._worth_trying(place):
            self.loads[group] += self.lengths[place]
            self.groups[group].append(self.order[place])
            self.run(place + 1)
            self.groups[group].pop()
            self.loads[group] -= self.lengths[place]
            if self.spread == 0 or self.left < 0:
                return

    def _keep(self) -> None:
        spread = max(self.loads) - min(self.loads)
        if spread >= self.spread or min(self.loads) == 0:
            return
        first = self.best is None
        self.spread, self.best = spread, [list(group) for group in self.groups]
        # exchanges make a bound that cuts most branches from the start
        if first:
            self._exchange(dict(zip(self.order, self.lengths, strict=True)))

    def _exchange(self, length: dict[int, int]) -> None:
        """Exchange lengths between two groups while that brings totals nearer to one another."""
        groups = [list(group) for group in self.best or []]
        for _ in range(MOST_EXCHANGES):
            loads = [sum(length[item] for item in group) for group in groups]
            if max(loads) - min(loads) < self.spread:
                self.spread, self.best = max(loads) - min(loads), [list(group) for group in groups]
            items = [(group, item) for group, held in enumerate(groups) for item in sorted(held)]
            load = np.array([loads[group] for group, _ in items])
            each = np.array([length[item] for _, item in items])
            gap = load[:, None] - load
            change = np.where(gap > 0, np.abs(gap - 2 * (each[:, None] - each)) - gap, 0)
            if change.min() >= 0:
                return
            # of equals the first by group, then by item
            ties = np.argwhere(change == change.min()).tolist()
            more, less, mine, other = min(
                (items[a][0], items[b][0], items[a][1], items[b][1]) for a, b in ties
            )
            groups[more][groups[more].index(mine)] = other
            groups[less][groups[less].index(other)] = mine

    def _worth_trying(self, place: int) -> list[int]:
        """Groups that still have room, the emptiest first, each total once."""
        length, by_load = self.lengths[place], dict[int, int]()
        # no group may end more than the best spread above the mean
        top = min(self.most, self.mean + self.spread - (0.0 if self.best is None else 1.0))
        for group, load in enumerate(self.loads):
            if load + length <= top:
                # groups of one total are the same choice: try one of them
                by_load.setdefault(load, group)
        return [by_load[load] for load in sorted(by_load)]

    def _can_improve(self, place: int) -> bool:
        """Whether what is left can lift all groups to within the best spread of the greatest."""
        floor = max(*self.loads, math.ceil(self.mean)) - self.spread + 1
        return sum(max(0, floor - load) for load in self.loads) <= self.rest[place]

    def _is_known(self, place: int) -> bool:
        state = (place, *sorted(self.loads))
        if state in self.seen:
            return True
        self.seen.add(state)
        return False
