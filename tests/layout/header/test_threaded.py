"""A header through all coils one after another: runs to all of them are equal."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, Point, box

from siteplan.layout.elements import Coil
from siteplan.layout.header.router import route_header
from siteplan.layout.header.threaded import threaded
from siteplan.layout.header.tree import header_tree
from siteplan.layout.model import Ground, Header
from siteplan.layout.piping.header_pipes import HeaderFlow
from siteplan.site.model import Entry, Feature

ROWS = np.array(
    [(3.0 * (k if row % 2 == 0 else 3 - k), 20.0 + 3.0 * row) for row in range(3) for k in range(4)]
)
"""Three rows of four, 3 m apart, to and fro."""


def ground(**changes: object) -> Ground:
    lot = Ground(box(-50, -20, 50, 60), box(-50, -20, 50, 60), (Entry("E1", Point(0, 0)),))
    return replace(lot, **changes)  # type: ignore[arg-type]


def routed(lot: Ground, places: np.ndarray = ROWS) -> Header:
    header = route_header(lot, [[(float(x), float(y))] for x, y in places], along_deg=0.0)
    assert header is not None
    return header


def runs_of(header: Header, places: np.ndarray = ROWS) -> list[float]:
    """Length of header there and back for each coil, by reverse return [m]."""
    coils = tuple(
        Coil(f"C{k}", float(x), float(y), 2.0, 90.0, 3.0, "pond")
        for k, (x, y) in enumerate(places, 1)
    )
    tree = header_tree(header, coils)
    flow = HeaderFlow(tree, tree.stops, "reverse return")
    return [sum(tree.lengths_m[run.node] for run in flow.path(stop)) for stop in tree.stops]


def test_runs_to_all_coils_are_equal_and_little_longer() -> None:
    lot = ground()
    branched = routed(lot)
    header = threaded(lot, ROWS, branched, step_m=3.0)
    assert header is not None
    # 20 m to the first of twelve, then 11 steps of 3 m; out and home along all of it
    assert header.length_m == pytest.approx(20.0 + 33.0)
    assert runs_of(header) == pytest.approx([2 * (20.0 + 33.0)] * 12)
    assert header.length_m <= 1.25 * branched.length_m
    assert np.ptp(runs_of(branched)) > 1.0


def test_it_branches_where_something_lies_between_coils() -> None:
    wall = Feature("dam", "dam", LineString([(-1, 21.5), (4, 21.5), (4, 28)]))
    kept = ground(marked=(wall,))
    branched = routed(ground())
    assert threaded(kept, ROWS, branched, step_m=3.0) is branched
    dry = ground(passable=box(-50, -20, 50, 60).difference(Point(0, 21.5).buffer(0.5)))
    through = threaded(dry, ROWS[::-1], branched, step_m=3.0)
    assert through is not None
    assert all(dry.passable.buffer(1e-6).covers(run) for run in through.runs)


def test_rows_that_lie_apart_and_few_coils_keep_their_header() -> None:
    lot = ground()
    apart = ROWS + np.array([0.0, 9.0]) * (ROWS[:, 1:] > 21.0)
    for places in (apart, ROWS[:2]):
        header = routed(lot, places)
        assert threaded(lot, places, header, step_m=3.0) is header
    assert threaded(lot, ROWS, None, step_m=3.0) is None
