"""Fittings on the path of a circuit through the header, for what they lose."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from siteplan.hydraulics.fittings import Fitting
from siteplan.layout.piping.header_pipes import HeaderFlow, Size


@dataclass(frozen=True, slots=True)
class Joint:
    """A fitting, and the number of circuits whose flow passes it.

    ``circuits`` is 0 where it is of the circuit's own pipe.
    """

    fitting: Fitting
    circuits: int


def joints_to(flow: HeaderFlow, node: int, size: Size, circuit_size: str) -> list[Joint]:
    """Fittings that the flow of a circuit at a point passes in the header, there and back.

    A tee is charged to the pipe that carries less, where the loss is. Home runs have none: they
    are bent and not joined.
    """
    if flow.layout == "home run":
        return []
    if flow.layout == "header pit":
        return [*_from_pit(flow)] * 2
    there = [*_there(flow, node), *_changes(flow, node, size, circuit_size)]
    if flow.layout == "direct return":
        return there * 2
    # the return changes size as often as the supply, but in its own order
    return [*there, *_changes(flow, node, size, circuit_size), *_back(flow, node)]


def _from_pit(flow: HeaderFlow) -> Iterator[Joint]:
    """From the entry to the manifold in the pit, and into the pair of a circuit."""
    for at in sorted(flow.joined):
        yield from [Joint("elbow", flow.carried[at])] * flow.tree.bends[at]
    # at the manifold the loss is that of the pipe which carries less
    yield Joint("tee branch", 0)


def _there(flow: HeaderFlow, node: int) -> Iterator[Joint]:
    """From the manifold or the entry into the circuit."""
    tree = flow.tree
    for at in tree.way(node)[:-1]:
        yield from [Joint("elbow", flow.carried[at])] * tree.bends[at]
        if flow.leaving[tree.parents[at]] > 1:
            through = _goes_on(flow, at)
            yield Joint("tee run" if through else "tee branch", flow.carried[at])
    yield Joint("tee branch" if flow.leaving[node] > 1 else "elbow", 0)


def _goes_on(flow: HeaderFlow, node: int) -> bool:
    """Whether the header goes straight on to a point from the one before it."""
    before = flow.tree.parents[node]
    return any(node in chain and before in chain for chain in flow.chains)


def _changes(flow: HeaderFlow, node: int, size: Size, circuit_size: str) -> Iterator[Joint]:
    """Changes of size on the way to a circuit."""
    way = flow.tree.way(node)[:-1]
    for at in way:
        before = flow.tree.parents[at]
        if before and size(flow.carried[before]) != size(flow.carried[at]):
            yield Joint("reducer", flow.carried[at])
    if way and size(flow.carried[node]) != circuit_size:
        yield Joint("reducer", 0)


def _back(flow: HeaderFlow, node: int) -> Iterator[Joint]:
    """Reverse return: outward to the end of each chain, then home along it."""
    joining = 0
    while node:
        chain = next(nodes for nodes in flow.chains if node in nodes)
        first, here = flow.first_taking(chain), chain.index(node)
        whole = flow.carried[chain[0]]
        last = len(chain) - 1
        # what comes together here: circuits and branches, and the return that has begun before
        together = flow.leaving[node] - (here < last) + (here > first)
        yield Joint("tee branch" if together > 1 else "elbow", joining)
        for place, stop in enumerate(chain):
            elbow = flow.tree.bends[stop]
            if place > here and place > first:
                collected = whole - flow.carried[stop]
                yield from [Joint("elbow", collected)] * elbow
                yield Joint("tee run", collected)
            yield from [Joint("elbow", whole)] * elbow
        if first < last:
            # where it turns to run home
            yield from [Joint("elbow", whole)] * 2
        joining, node = whole, flow.tree.parents[chain[0]]
