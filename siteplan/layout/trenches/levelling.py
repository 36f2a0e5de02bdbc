"""Circuits made even by cutting the trenches of the long ones, down to the length required."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from shapely import LineString

from siteplan.geometry.tolerance import TOLERANCE
from siteplan.hydraulics.pipes import pipes
from siteplan.layout.elements import Trench
from siteplan.layout.header.tree import header_tree
from siteplan.layout.model import Layout
from siteplan.layout.piping.circuits import loops_of
from siteplan.layout.piping.evening import Bench, Group, Loop, beyond_of, brought_near
from siteplan.layout.piping_model import Circuit
from siteplan.layout.trenches.cutting import level, start_of
from siteplan.site.piping import CircuitOptions
from siteplan.vocabulary.loop_types import made_of


def levelled(
    layout: Layout, options: CircuitOptions, required_m: float, shortest_m: float
) -> Layout | None:
    """The layout cut to the length required so that its circuits are even.

    Trenches are put together in as few circuits as keep the longest length of their pipe. All
    circuits longer than some length are cut to that one, and within a circuit the longest
    trenches, at their far ends. None where no number of circuits comes out even, trenches are
    joined at far ends or closed, or several loops lie in one trench.

    Parameters
    ----------
    layout
        Trenches and the header that joins them at one end.
    options
        What the site file says of circuits.
    required_m
        Total of trench to be kept [m].
    shortest_m
        Least length of a trench [m].
    """
    trenches = layout.of(Trench)
    if layout.header is None or any(trench.is_ring for trench in trenches):
        return None
    loops, left = loops_of(layout, header_tree(layout.header, layout.elements))
    # only where a trench is a loop of its own can it be cut without another loop changing too
    if not loops or left or len(loops) != len(trenches):
        return None
    bench, least = _bench(layout, loops, options), _Least(required_m, shortest_m)
    rate = trenches[0].pipe_m / trenches[0].length_m
    fewest = max(1, math.ceil(required_m * rate / bench.most_m - 1e-6))
    numbers = range(fewest, len(loops) + 1) if options.count is None else [options.count]
    # fewest circuits first: each more is a valve and a tee
    for number in numbers:
        # long circuits can be cut, short ones not made longer: so divide for the longest shortest
        # one
        groups = brought_near(bench, number) if number <= len(loops) else []
        lengths = _cut(trenches, groups, bench=bench, least=least) if groups else None
        if lengths is not None:
            cut = [
                replace(trench, line=_kept(trench, length))
                for trench, length in zip(trenches, lengths, strict=True)
            ]
            known = tuple(_named(groups, cut, _size(options)))
            return replace(layout, elements=tuple(cut), circuits=known)
    return None


@dataclass(frozen=True, slots=True)
class _Least:
    """Total of all trenches that must be left, and length of each [m]."""

    total_m: float
    trench_m: float


def _bench(layout: Layout, loops: Sequence[Loop], options: CircuitOptions) -> Bench:
    assert layout.header is not None
    # a loop that is longer now is cut, so that no larger pipe is needed
    limit = options.longest_m or pipes()[_size(options)].circuit_m
    return Bench(tuple(loops), header_tree(layout.header, layout.elements), limit)


def _size(options: CircuitOptions) -> str:
    return options.pipe or made_of(Trench.kind).usual_pipe


def _cut(
    trenches: Sequence[Trench], groups: Sequence[Group], *, bench: Bench, least: _Least
) -> list[float] | None:
    """Lengths of all trenches in even circuits; None where these hold too little [m]."""
    rate = trenches[0].pipe_m / trenches[0].length_m
    whole, alone = (
        [part / rate for part in parts] for parts in zip(*map(bench.lengths, groups), strict=True)
    )
    total = sum(trench.length_m for trench in trenches)
    even = level(whole, total - least.total_m, 0.0)
    left = [min(length, even) for length in whole]
    loops = [
        part - (before - after) for part, before, after in zip(alone, whole, left, strict=True)
    ]
    # cutting evens the whole circuits; their loops alone may still be too far apart, or cut away
    if even > bench.most_m / rate + TOLERANCE or min(loops) <= 0 or beyond_of(left, loops) > 0:
        return None
    lengths = [trench.length_m for trench in trenches]
    for group, length in zip(groups, whole, strict=True):
        excess, mine = max(0.0, length - even), [lengths[number] for number in group]
        # within a circuit the longest trench is cut first, so that no stub is left
        most = level(mine, excess, least.trench_m)
        for number in group:
            lengths[number] = min(lengths[number], most)
        if sum(mine) - sum(lengths[number] for number in group) < excess - TOLERANCE:
            return None
    return lengths


def _kept(trench: Trench, length_m: float) -> LineString:
    whole = length_m >= trench.length_m - TOLERANCE
    return trench.line if whole else start_of(trench.line, length_m)


def _named(groups: Sequence[Group], trenches: Sequence[Trench], size: str) -> Iterator[Circuit]:
    """The division as circuits, their lengths still without what lies along the header."""
    for number, group in enumerate(groups, start=1):
        mine = [trenches[index] for index in group]
        pipe = sum(trench.pipe_m for trench in mine)
        yield Circuit(
            f"CIR-{number}", tuple(trench.id for trench in mine), size, pipe, 2 * len(mine), 0
        )
