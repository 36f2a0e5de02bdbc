"""What a way of joining circuits takes: trench, pipe and fittings, in metres of digging."""

from __future__ import annotations

from typing import Final

from shapely import MultiLineString

from siteplan.hydraulics.pipes import pipes
from siteplan.layout.header.section import outer, piece_width
from siteplan.layout.header.tree import HeaderTree
from siteplan.layout.model import Layout
from siteplan.layout.piping.circuits import Circuits
from siteplan.layout.piping.evening import BALANCED
from siteplan.preferences.table import figure_of

PIPE: Final = figure_of("layout.piping.work.pipe")
FITTING: Final = figure_of("layout.piping.work.fitting")
CLEARLY: Final = figure_of("layout.piping.work.clearly")
USUAL: Final = "1 in"
"""Pipe whose price is stated: that of others goes with their weight, the square of the diameter."""


def work_of(layout: Layout) -> float:
    """What header trench, pit, header pipe and fittings take, in metres of usual header trench."""
    piping, header = layout.piping, layout.header
    assert piping is not None
    assert header is not None
    dug = sum(piece.length_m * piece_width(piece, piping) for piece in piping.pieces)
    if header.pit is not None:
        trench = MultiLineString(list(header.runs)).buffer(piping.width_m / 2, cap_style="flat")
        dug += float(header.pit.outline.difference(trench).area)
    usual = pipes()[USUAL].outer_m
    pipe = sum(length * (outer(size) / usual) ** 2 for size, length in piping.lengths_m.items())
    return dug / piping.width_m + PIPE * pipe + FITTING * _fittings(layout)


def _fittings(layout: Layout) -> int:
    """Fittings of the header, and the ports of a manifold in a pit."""
    piping = layout.piping
    assert piping is not None
    joined = piping.fittings.tees + piping.fittings.elbows + piping.fittings.reducers
    return joined + (2 * len(layout.circuits) if piping.layout == "header pit" else 0)


def takes_less(pitted: Layout, led: Layout) -> bool:
    """Whether a layout with a pit takes clearly less than one without."""
    return work_of(pitted) < CLEARLY * work_of(led)


def may_be_even(tree: HeaderTree, made: Circuits) -> bool:
    """Whether circuits with their pairs may be within 5 %, if a pit lies as far off as can be."""
    return _apart(made, [tree.reaches_m[node] for node in made.nodes]) <= BALANCED


def is_even(tree: HeaderTree, made: Circuits) -> bool:
    """Whether circuits with their pairs from the pit are within 5 %."""
    pit = tree.reaches_m[tree.pit]
    return _apart(made, [tree.reaches_m[node] - pit for node in made.nodes]) <= BALANCED


def _apart(made: Circuits, leads_m: list[float]) -> float:
    """Longest less shortest, over the longest, of circuits with their pairs."""
    lengths = [
        circuit.length_m + 2 * lead for circuit, lead in zip(made.circuits, leads_m, strict=True)
    ]
    return (max(lengths) - min(lengths)) / max(lengths)
