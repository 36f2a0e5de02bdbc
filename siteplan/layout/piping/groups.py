"""Groups of circuits, each with run-outs of its own to a manifold."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

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
    before what lies beyond them or after it: whichever takes less header pipe.

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
    divisions = [_cut(_walk(tree, nodes, first), sizes) for first in (1, -1)]
    return min(divisions, key=lambda groups: round(_pipe(tree, nodes, groups), 2))


def _cut(order: Sequence[int], sizes: Sequence[int]) -> tuple[tuple[int, ...], ...]:
    groups, begin = [], 0
    for size in sizes:
        groups.append(tuple(sorted(order[begin : begin + size])))
        begin += size
    return tuple(groups)


def _pipe(tree: HeaderTree, nodes: Sequence[int], groups: Sequence[Sequence[int]]) -> float:
    """Length of the header that each group's pipes take, of all groups together [m]."""
    return sum(tree.span([0, *(nodes[number] for number in group)]) for group in groups)


def _walk(tree: HeaderTree, nodes: Sequence[int], first: int) -> list[int]:
    """Circuits as a walk along the header passes them; ``first``: 1 short branches, -1 long."""
    flow = HeaderFlow(tree, tuple(nodes), "direct return")
    at: dict[int, list[int]] = {}
    for number, node in enumerate(nodes):
        at.setdefault(node, []).append(number)
    return [number for node in _passed(flow, first) for number in at.get(node, [])]


def _passed(flow: HeaderFlow, first: int) -> Iterator[int]:
    """Points of the header, every branch walked to its end before the next one."""
    waiting = [0]
    while waiting:
        node = waiting.pop()
        yield node
        below = [child for child in flow.tree.children[node] if flow.carried[child]]
        # the last one waits on top: it is walked next
        below.sort(key=lambda c: (-first * round(flow.beyond_m(c), 2), c))
        waiting += below
