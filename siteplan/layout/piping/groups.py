"""Groups of circuits, each with run-outs of its own to a manifold."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import chain

from siteplan.layout.header.tree import HeaderTree
from siteplan.layout.piping.header_pipes import HeaderFlow


def even_sizes(count: int, most: int) -> tuple[int, ...]:
    """Sizes of the fewest groups of at most so many, as even as can be.

    Where there are more than ``most``, none is smaller than half of it.

    Examples
    --------
    >>> even_sizes(59, 12), even_sizes(13, 12), even_sizes(12, 12)
    ((12, 12, 12, 12, 11), (7, 6), (12,))
    """
    number = math.ceil(count / most)
    each, more = divmod(count, number)
    return tuple(each + (place < more) for place in range(number))


def grouped_circuits(
    tree: HeaderTree, nodes: Sequence[int], most: int
) -> tuple[tuple[int, ...], ...]:
    """Numbers of the circuits in each group, neighbours along the header in one; one: no division.

    Circuits are taken in the order in which a walk along the header passes them, side branches
    before what lies beyond them: so a row and the bore at its head come together. Where the header
    first branches, the walk comes in by one branch and goes out by the others, so that what lies
    beside the way from the entry comes together too; by that one which takes least header.

    Parameters
    ----------
    tree
        The header.
    nodes
        Point at which each circuit begins.
    most
        Circuits of a group at most.
    """
    sizes = even_sizes(len(nodes), most)
    if len(sizes) == 1:
        return (tuple(range(len(nodes))),)
    divisions = [_cut(order, sizes) for order in _walks(tree, nodes)]
    return min(divisions, key=lambda groups: round(_header_of(tree, nodes, groups), 2))


def _cut(order: Sequence[int], sizes: Sequence[int]) -> tuple[tuple[int, ...], ...]:
    groups, begin = [], 0
    for size in sizes:
        groups.append(tuple(sorted(order[begin : begin + size])))
        begin += size
    return tuple(groups)


def _header_of(tree: HeaderTree, nodes: Sequence[int], groups: Sequence[Sequence[int]]) -> float:
    """Length of header from the entry that each group takes, of all groups together [m]."""
    return sum(tree.span([0, *(nodes[number] for number in group)]) for group in groups)


def _walks(tree: HeaderTree, nodes: Sequence[int]) -> Iterator[list[int]]:
    """Circuits as walks along the header pass them."""
    flow = HeaderFlow(tree, tuple(nodes), "direct return")
    at: dict[int, list[int]] = {}
    for number, node in enumerate(nodes):
        at.setdefault(node, []).append(number)
    fork = 0
    while len(below := _below(flow, fork)) == 1 and fork not in at:
        fork = below[0]
    branches = [list(_passed(flow, child)) for child in below]
    for first in range(len(branches)):
        others = [branch for place, branch in enumerate(branches) if place != first]
        inward = reversed(branches[first]) if others else []
        points = chain(inward, [fork], *(others or branches))
        yield [number for node in points for number in at.get(node, [])]


def _below(flow: HeaderFlow, node: int) -> list[int]:
    """Points behind one through which flow passes, that of the shortest branch first."""
    carrying = (child for child in flow.tree.children[node] if flow.carried[child])
    return sorted(carrying, key=lambda child: (round(flow.beyond_m(child), 2), child))


def _passed(flow: HeaderFlow, start: int) -> Iterator[int]:
    """Points of a branch, short side branches walked to their ends before long ones."""
    waiting = [start]
    while waiting:
        node = waiting.pop()
        yield node
        # the last one waits on top: it is walked next
        waiting += reversed(_below(flow, node))
