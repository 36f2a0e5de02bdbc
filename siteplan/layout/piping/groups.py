"""Groups of circuits, each with run-outs of its own to a manifold."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence
from itertools import accumulate, chain, product

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
    tree: HeaderTree,
    nodes: Sequence[int],
    most: int,
    elements: Sequence[Collection[str]] = (),
) -> tuple[tuple[int, ...], ...]:
    """Numbers of the circuits in each group, neighbours along the header in one; one: no division.

    Circuits are taken in the order in which a walk along the header passes them, side branches
    before what lies beyond them: so a row and the bore at its head come together. Where the header
    first branches, the walk comes in by one branch and goes out by the others, so that what lies
    beside the way from the entry comes together too; by that one which takes least header.
    Circuits of one trench come into one group, so that a trench is isolated by one pair of valves:
    for that groups may be less even, and one more of them, as long as none is too small.

    Parameters
    ----------
    tree
        The header.
    nodes
        Point at which each circuit begins.
    most
        Circuits of a group at most.
    elements
        Elements through which each circuit runs; none: no two circuits share one.
    """
    if len(even_sizes(len(nodes), most)) == 1:
        return (tuple(range(len(nodes))),)
    runs = [frozenset(each) for each in elements] or [frozenset()] * len(nodes)
    divisions = []
    for walk in _walks(tree, nodes):
        order = _together(walk, runs)
        parted = _parted(order, runs)
        sizes = _sizes(parted, most)
        cost = sum(parted[end] for end in accumulate(sizes[:-1]))
        groups = _cut(order, sizes)
        divisions.append(((cost, round(_header_of(tree, nodes, groups), 2)), groups))
    return min(divisions, key=lambda division: division[0])[1]


def _together(walk: Sequence[int], runs: Sequence[frozenset[str]]) -> list[int]:
    """A walk with what shares an element with a circuit right behind it."""
    waiting, order = dict.fromkeys(walk), []
    while waiting:
        first = next(iter(waiting))
        beside = [number for number in waiting if number == first or runs[number] & runs[first]]
        order += beside
        for number in beside:
            del waiting[number]
    return order


def _parted(order: Sequence[int], runs: Sequence[frozenset[str]]) -> list[int]:
    """Elements that a cut before each place of an order would leave in two groups."""
    first: dict[str, int] = {}
    last: dict[str, int] = {}
    for place, number in enumerate(order):
        for name in runs[number]:
            first.setdefault(name, place)
            last[name] = place
    return [sum(first[name] < place <= last[name] for name in first) for place in range(len(order))]


def _sizes(parted: Sequence[int], most: int) -> tuple[int, ...]:
    """Sizes of groups in their order that part fewest elements, then the fewest and most even.

    One group more than is needed is looked at, and no group of less than half of ``most``.

    Examples
    --------
    Seven trenches of two circuits each: none is parted by 8 and 6, or one by 7 and 7.

    >>> _sizes([0, 1] * 7, 12), _sizes([0] * 14, 12)
    ((8, 6), (7, 7))
    """
    count, needed = len(parted), math.ceil(len(parted) / most)
    if not any(parted):
        return even_sizes(count, most)
    # by number of groups and circuits in them: elements parted, squares of the sizes, and the
    # sizes less than zero, so that larger groups come first where nothing else decides
    best: dict[tuple[int, int], tuple[int, int, tuple[int, ...]]] = {(0, 0): (0, 0, ())}
    for number, end in product(range(1, needed + 2), range(1, count + 1)):
        before = (
            (size, best[number - 1, end - size])
            for size in range(max(most // 2, 1), most + 1)
            if (number - 1, end - size) in best
        )
        here = parted[end] if end < count else 0
        ways = [
            (cost + here, uneven + size**2, (*sizes, -size))
            for size, (cost, uneven, sizes) in before
        ]
        if ways:
            best[number, end] = min(ways)
    numbers = [number for number in (needed, needed + 1) if (number, count) in best]
    chosen = min(numbers, key=lambda number: (best[number, count][0], number))
    return tuple(-size for size in best[chosen, count][2])


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
