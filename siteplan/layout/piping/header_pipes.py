"""Supply and return in the header trench: what lies in each piece, and the path of each circuit."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from siteplan.layout.header.tree import HeaderTree
from siteplan.layout.piping_model import Fittings, HeaderPiece, HeaderPipe, Role
from siteplan.site.piping import HeaderLayout

PAIRED: Final = ("home run", "header pit")
"""Ways of leading pipes in which each circuit has a pair of its own."""
Size = Callable[[int], str]
"""Gives the pipe size for a flow, counted in circuits."""


@dataclass(frozen=True)
class Run:
    """One pipe along the way from a point of the header to the next one towards the entry.

    ``circuits`` says how many circuits' flow it carries.
    """

    node: int
    role: Role
    circuits: int


@dataclass(frozen=True)
class HeaderFlow:
    """How the flow of all circuits divides along the header.

    Parameters
    ----------
    tree
        The header.
    nodes
        Point at which each circuit begins and ends.
    layout
        How supply and return are led.
    """

    tree: HeaderTree
    nodes: tuple[int, ...]
    layout: HeaderLayout

    @cached_property
    def passed(self) -> tuple[int, ...]:
        """Points from which flow passes to the next one towards the entry, those far out first."""
        # of many groups each takes but a few of the points
        found: set[int] = set()
        for begun in self.nodes:
            node = begun
            while node > 0 and node not in found:
                found.add(node)
                node = self.tree.parents[node]
        return tuple(sorted(found, reverse=True))

    @cached_property
    def carried(self) -> tuple[int, ...]:
        """Circuits whose flow passes between each point and the next one towards the entry."""
        count = [0] * len(self.tree.points)
        for node in self.nodes:
            count[node] += 1
        for node in self.passed:
            count[self.tree.parents[node]] += count[node]
        return tuple(count)

    @cached_property
    def leaving(self) -> tuple[int, ...]:
        """Branches and circuits that take flow from the header at each point."""
        count = [0] * len(self.tree.points)
        for node in self.nodes:
            count[node] += 1
        for node in self.passed:
            count[self.tree.parents[node]] += 1
        return tuple(count)

    @cached_property
    def depths_m(self) -> tuple[float, ...]:
        """Longest way from each point to a circuit beyond it [m]."""
        depth = [0.0] * len(self.tree.points)
        for node in self.passed:
            parent = self.tree.parents[node]
            depth[parent] = max(depth[parent], depth[node] + self.tree.lengths_m[node])
        return tuple(depth)

    def beyond_m(self, node: int) -> float:
        """Longest way from the point before one to a circuit beyond it [m]."""
        return self.depths_m[node] + self.tree.lengths_m[node]

    @cached_property
    def chains(self) -> tuple[tuple[int, ...], ...]:
        """Headers and sub-headers, each from its branch on along its longest way."""
        tops = [child for child in self.tree.children[0] if self.carried[child]]
        chains = []
        while tops:
            chain = [tops.pop(0)]
            while below := [c for c in self.tree.children[chain[-1]] if self.carried[c]]:
                # the longest way is the main, as a reverse return runs to its end and back:
                # branches as mains would make that way longer; of ways as long that towards one
                # side, whatever their last digits are, and in whichever order a drawing has them
                main = max(below, key=lambda c: (round(self.beyond_m(c), 2), *self._place(c)))
                tops += [child for child in below if child != main]
                chain.append(main)
            chains.append(tuple(chain))
        return tuple(chains)

    def _place(self, node: int) -> tuple[float, ...]:
        """Where a point lies, to the centimetre: south and west of others first [m]."""
        return tuple(-round(value, 2) for value in self.tree.points[node])

    def first_taking(self, chain: Sequence[int]) -> int:
        """Place in a chain at which the first flow leaves it."""
        return next(
            k for k, node in enumerate(chain) if self.leaving[node] > 1 or k + 1 == len(chain)
        )

    @cached_property
    def runs(self) -> tuple[Run, ...]:
        """All header pipes."""
        if self.layout in PAIRED:
            return tuple(
                run
                for node, count in enumerate(self.carried)
                if node
                for run in self._paired(node, count)
            )
        laid = []
        for chain in self.chains:
            first = self.first_taking(chain)
            whole = self.carried[chain[0]]
            for place, node in enumerate(chain):
                count = self.carried[node]
                laid.append(Run(node, "supply", count))
                # up to where the first flow leaves nothing is collected yet: the way home is the
                # only return
                if self.layout == "direct return" or place <= first:
                    laid.append(Run(node, "return", count))
                else:
                    # the return collects on its way out, then all of it runs home
                    laid.append(Run(node, "return", whole - count))
                    laid.append(Run(node, "return home", whole))
        return tuple(laid)

    def _paired(self, node: int, count: int) -> tuple[Run, ...]:
        """Pipes of so many circuits at a point: pairs of their own up to the pit or the entry."""
        if node in self.joined:
            return (Run(node, "supply", count), Run(node, "return", count)) if count else ()
        return (Run(node, "pair", 1),) * (2 * count)

    @cached_property
    def joined(self) -> frozenset[int]:
        """Points from the header pit to the entry, from which two pipes lead on; none without."""
        pit = self.layout == "header pit" and self.tree.pit
        return frozenset(self.tree.way(pit)[:-1]) if pit else frozenset()

    def path(self, node: int) -> list[Run]:
        """Header pipes through which a circuit at a point is fed, there and back."""
        way = [passed for passed in self.tree.way(node) if passed]
        if self.layout in PAIRED:
            count = self.carried
            return [
                run
                for node in way
                for run in self._paired(node, count[node] if node in self.joined else 1)
            ]
        there = [Run(node, "supply", self.carried[node]) for node in way]
        if self.layout == "direct return":
            return there + [Run(node, "return", self.carried[node]) for node in way]
        return there + self._back(node)

    def _back(self, node: int) -> list[Run]:
        """Reverse return: outward to the end of each chain, then home along it."""
        laid: list[Run] = []
        while node:
            chain = next(chain_nodes for chain_nodes in self.chains if node in chain_nodes)
            first, here = self.first_taking(chain), chain.index(node)
            whole = self.carried[chain[0]]
            for place, stop in enumerate(chain):
                if place <= first:
                    laid.append(Run(stop, "return", whole))
                else:
                    laid.append(Run(stop, "return home", whole))
                    if place > here:
                        laid.append(Run(stop, "return", whole - self.carried[stop]))
            node = self.tree.parents[chain[0]]
        return laid

    def fittings(self, size: Size, circuit_size: str) -> Fittings:
        """Fittings of all header pipes; a pair of a circuit is bent and not joined: it has none."""
        if self.layout in PAIRED:
            turns = sum(self.tree.bends[node] for node in self.joined)
            return Fittings(elbows=2 * turns)
        pipes = Counter(run.node for run in self.runs)
        turns = sum(self.tree.bends[node] * count for node, count in pipes.items())
        back = sum(self.first_taking(chain) + 1 < len(chain) for chain in self.chains)
        return Fittings(
            # in supply and return: one for each branch and circuit but the last
            tees=2 * sum(max(0, count - 1) for count in self.leaving),
            elbows=turns + (2 * back if self.layout == "reverse return" else 0),
            reducers=2 * self._changes(size, circuit_size),
        )

    def _changes(self, size: Size, circuit_size: str) -> int:
        """Changes of size along the supply and to the circuits; 0 where no size is known."""
        sizes = [size(count) if count else "" for count in self.carried]
        if not any(sizes):
            return 0
        parents = self.tree.parents
        along = [
            sizes[node] != sizes[parents[node]]
            for node in range(1, len(sizes))
            if sizes[node] and parents[node]
        ]
        return sum(along) + sum(sizes[node] != circuit_size for node in self.nodes)

    def pieces(self, size: Size) -> tuple[HeaderPiece, ...]:
        """Header trench piece by piece; the flow of its pipes is counted in circuits."""
        return pieces_of(self.tree, self.lying(size))

    def lying(self, size: Size) -> dict[int, list[HeaderPipe]]:
        """Pipes between points and the next one towards the entry, of points that have some."""
        lying: dict[int, list[HeaderPipe]] = {}
        for run in self.runs:
            pipe = HeaderPipe(run.role, size(run.circuits), float(run.circuits))
            lying.setdefault(run.node, []).append(pipe)
        return lying


def pieces_of(
    tree: HeaderTree, lying: Mapping[int, Sequence[HeaderPipe]]
) -> tuple[HeaderPiece, ...]:
    """Header trench piece by piece, one for each point but the entry, with pipes by point."""
    return tuple(
        HeaderPiece(
            tree.points[tree.parents[node]],
            tree.points[node],
            tree.lengths_m[node],
            tree.bends[node],
            tuple(lying.get(node, ())),
        )
        for node in range(1, len(tree.points))
    )
