"""Circuits: which elements one pipe runs through, solved for equal lengths."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

from siteplan.flow.balance import STEP, Division, divide
from siteplan.flow.pipes import circuit_sizes, pipes
from siteplan.layout.header_tree import HeaderTree
from siteplan.layout.model import Bore, Coil, Element, Trench
from siteplan.layout.piping_model import Balance, Circuit
from siteplan.site.piping import CircuitOptions

BALANCED: Final = 0.05
"""Share by which a circuit may be shorter than the longest; common practice, no source."""
USUAL: Final = {"trench": "3/4 in", "coil": "3/4 in", "bore": "1 in"}
"""Pipe where the site file names none; common practice, no source."""
ROUND_TRIP: Final = 2.0
"""A trench whose ends lie closer than this many widths leads round to its beginning."""
SWEEPS: Final = 4
"""How often loops of equal length are exchanged for shorter ways between trenches."""
MANY: Final = 12
"""From so many loops on the search has fewer steps for each number of circuits."""
FEW_NODES: Final = 10_000


@dataclass(frozen=True, slots=True)
class Loop:
    """Pipe that leaves the header end and comes back to it: what a circuit is made of.

    Parameters
    ----------
    elements
        Numbers of its elements.
    node
        Point of the header at which it begins and ends.
    pipe_m
        All of its pipe [m].
    passes
        How often it runs along an element.
    joints_m
        Of its pipe, what lies in no element [m].
    """

    elements: tuple[int, ...]
    node: int
    pipe_m: float
    passes: int
    joints_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Circuits:
    """All circuits, the point of the header at which each begins, and how they are balanced."""

    circuits: tuple[Circuit, ...]
    nodes: tuple[int, ...]
    balance: Balance


def make_circuits(
    elements: Sequence[Element], tree: HeaderTree, options: CircuitOptions, *, bore_pipe: str = ""
) -> Circuits | None:
    """Circuits through all elements, None where there is nothing to join to circuits.

    Each loop (a U-bend, a coil, two pipes of a trench) belongs to one circuit. Loops of trenches
    are joined to the fewest circuits that keep the limit of the pipe and differ by no more than
    5 % in length; where no number does, to those that differ least. Bores make one circuit each,
    or ``options.bores`` in series, coils one each.

    Parameters
    ----------
    elements
        In staking order.
    tree
        The header that joins them.
    options
        What the site file says of circuits.
    bore_pipe
        Size of the U-bends where it is known otherwise.
    """
    loops, left_over = loops_of(elements, tree)
    if not loops:
        return None
    kind = elements[0].kind
    size = options.pipe or (bore_pipe if kind == "bore" else "")
    size = size or _size_for(max(loop.pipe_m for loop in loops), USUAL[kind])
    limit = options.longest_m or pipes()[size].circuit_m
    proven = True
    if kind == "trench":
        groups, proven = _balanced(loops, limit, tree)
    else:
        step = options.bores if kind == "bore" else 1
        groups = [loops[place : place + step] for place in range(0, len(loops), step)]
    groups.sort(key=lambda group: min(group[0].elements))
    lengths = [_length(group, tree) for group in groups]
    balance = Balance(_share(lengths), proven, limit, tuple(elements[k].id for k in left_over))
    made = tuple(
        _circuit(f"CIR-{number}", group, length, size=size, elements=elements)
        for number, (group, length) in enumerate(zip(groups, lengths, strict=True), start=1)
    )
    return Circuits(made, tuple(_node(group, tree) for group in groups), balance)


def _size_for(loop_m: float, usual: str) -> str:
    """The usual size, or the next one in which a circuit may be so long."""
    sizes = circuit_sizes()
    for size in sizes[sizes.index(usual) :]:
        if pipes()[size].circuit_m >= loop_m:
            return size
    return usual


def _circuit(
    name: str, group: Sequence[Loop], length: float, *, size: str, elements: Sequence[Element]
) -> Circuit:
    through = tuple(elements[number].id for loop in group for number in loop.elements)
    in_elements = sum(loop.pipe_m - loop.joints_m for loop in group)
    passes = sum(loop.passes for loop in group)
    return Circuit(name, through, size, length, passes, max(0.0, length - in_elements))


def loops_of(elements: Sequence[Element], tree: HeaderTree) -> tuple[list[Loop], list[int]]:
    """Loops of all elements in their order, and numbers of those with a pipe left over."""
    loops: list[Loop] = []
    single: list[int] = []
    for number, element in enumerate(elements):
        lead, node = 2 * tree.leads_m[number], tree.stops[number]
        match element:
            case Bore():
                loops.append(Loop((number,), node, 2 * element.depth_m + lead, 2, lead))
            case Coil():
                loops.append(Loop((number,), node, element.pipe_m + lead, 2, lead))
            case Trench():
                each = element.pipe_m / max(element.pipes, 1)
                runs = 1 if _leads_round(element) else 2
                loop = Loop((number,), node, runs * each + lead, runs, lead)
                loops += [loop] * (element.pipes // runs)
                single += [number] * (element.pipes % runs)
    paired, left_over = _paired(single, elements, tree)
    return [*loops, *paired], left_over


def _leads_round(trench: Trench) -> bool:
    """Whether a trench comes back to where it begins, so that every pipe does."""
    first, last = trench.line.coords[0], trench.line.coords[-1]
    near = math.dist(first[:2], last[:2]) <= ROUND_TRIP * trench.width_m
    return near and trench.length_m > 4 * ROUND_TRIP * trench.width_m


def _paired(
    single: Sequence[int], elements: Sequence[Element], tree: HeaderTree
) -> tuple[list[Loop], list[int]]:
    """Neighbours with one pipe each, joined at their far ends; of an odd number one is left over.

    Neighbours in staking order are paired; the one left over is where that takes least pipe.
    """
    count = len(single)
    if count < 2:
        return [], list(single)
    pairs = [_pair(single[k], single[k + 1], elements, tree) for k in range(count - 1)]
    skips = range(0, count, 2) if count % 2 else [count]

    def chosen(skip: int) -> list[Loop]:
        return [pairs[k] for k in (*range(0, skip - 1, 2), *range(skip + 1, count - 1, 2))]

    best = min(skips, key=lambda skip: round(sum(loop.joints_m for loop in chosen(skip)), 4))
    return chosen(best), [single[best]] if best < count else []


def _pair(first: int, second: int, elements: Sequence[Element], tree: HeaderTree) -> Loop:
    """Loop out through one trench, across, and back through the next."""
    one, other = elements[first], elements[second]
    assert isinstance(one, Trench)
    assert isinstance(other, Trench)
    nodes = (tree.stops[first], tree.stops[second])
    across = math.dist(one.line.coords[-1][:2], other.line.coords[-1][:2])
    joints = across + tree.span(nodes) + tree.leads_m[first] + tree.leads_m[second]
    pipe = sum(trench.pipe_m / max(trench.pipes, 1) for trench in (one, other))
    return Loop((first, second), tree.meeting(nodes), pipe + joints, 2, joints)


def _balanced(
    loops: Sequence[Loop], limit: float, tree: HeaderTree
) -> tuple[list[list[Loop]], bool]:
    """Loops joined to circuits, and whether the division is proven to be the most even one."""
    lengths = [loop.pipe_m for loop in loops]
    most = max(limit, *lengths)
    fewest = max(1, math.ceil(sum(lengths) / most - STEP))
    nodes = {} if len(loops) <= MANY else {"nodes": FEW_NODES}
    found: list[tuple[tuple[bool, float, int], list[list[Loop]], bool]] = []
    for count in range(fewest, len(loops) + 1):
        division = divide(lengths, count, most, **nodes)
        if division is None:
            continue
        groups = _neighbourly(division, loops, tree)
        totals = [_length(group, tree) for group in groups]
        share, over = _share(totals), max(totals) > most + STEP
        if share <= BALANCED and not over:
            return groups, division.proven
        found.append(((over, round(share, 6), count), groups, division.proven))
    _, groups, proven = min(found, key=lambda one: one[0])
    return groups, proven


def _share(lengths: Sequence[float]) -> float:
    """Longest less shortest, over the longest."""
    return (max(lengths) - min(lengths)) / max(lengths)


def _node(group: Sequence[Loop], tree: HeaderTree) -> int:
    """Point of the header at which a circuit begins and ends."""
    return tree.meeting([loop.node for loop in group])


def _length(group: Sequence[Loop], tree: HeaderTree) -> float:
    """All pipe of a circuit: its loops, and out and back along the header between them [m]."""
    return sum(loop.pipe_m for loop in group) + _between(group, tree)


def _between(group: Sequence[Loop], tree: HeaderTree) -> float:
    if len(group) == 1:
        return 0.0
    return 2 * tree.span(sorted({loop.node for loop in group}))


def _neighbourly(division: Division, loops: Sequence[Loop], tree: HeaderTree) -> list[list[Loop]]:
    """Groups after exchanges that bring trenches of a circuit together and keep the spread."""
    groups = [[loops[number] for number in group] for group in division.groups]
    if len(groups) == len(loops):
        return groups
    for _ in range(SWEEPS):
        changed = False
        for one, other in combinations(range(len(groups)), 2):
            changed |= _exchange(groups, one, other, tree=tree, spread=division.spread_m)
        if not changed:
            break
    return groups


def _exchange(
    groups: list[list[Loop]], one: int, other: int, *, tree: HeaderTree, spread: float
) -> bool:
    """Whether two loops of two groups changed places."""
    totals = [sum(loop.pipe_m for loop in group) for group in groups]
    before = _between(groups[one], tree) + _between(groups[other], tree)
    for here, there in ((h, t) for h in range(len(groups[one])) for t in range(len(groups[other]))):
        give, take = groups[one][here], groups[other][there]
        new = list(totals)
        new[one] += take.pipe_m - give.pipe_m
        new[other] += give.pipe_m - take.pipe_m
        if max(new) - min(new) > spread + STEP:
            continue
        tried = [list(groups[one]), list(groups[other])]
        tried[0][here], tried[1][there] = take, give
        if sum(_between(group, tree) for group in tried) < before - STEP:
            groups[one], groups[other] = (
                sorted(group, key=lambda loop: loop.elements) for group in tried
            )
            return True
    return False
