"""Directions of edges: a lot that is turned, and its corners rounded, has the same ones."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely import affinity

from siteplan.geometry.frame import DRAWN_M
from siteplan.geometry.points.lattice import SCAN_STEP, edge_directions, row_directions

CUT = shapely.Polygon([(0, 0), (30, 0), (30, 22), (12, 40), (0, 40)])
"""Sides of 30, 22, 25.5, 12 and 40 m: two upright ones are 62 together, two level ones 42."""


def test_sides_that_are_parallel_count_together() -> None:
    assert np.degrees(edge_directions(CUT)) == pytest.approx([90, 0, 135])


@pytest.mark.parametrize("turn_deg", [0.01, 17.3, 33.0, 90.0, 151.7])
def test_rounding_parts_no_parallel_sides(turn_deg: float) -> None:
    turned = affinity.rotate(CUT, turn_deg, origin=(0, 0))
    rounded = shapely.transform(turned, lambda points: np.round(points, 2))
    found = (edge_directions(rounded) - math.radians(turn_deg)) % math.pi
    assert len(found) == 3
    apart = np.abs(found - np.radians([90, 0, 135]))
    assert np.minimum(apart, math.pi - apart).max() < 0.001


def test_sides_that_were_drawn_askew_stay_two() -> None:
    askew = shapely.Polygon([(0, 0), (30, 0), (30, 20), (0, 20.6)])
    assert np.degrees(edge_directions(askew))[:3] == pytest.approx([90, 178.854, 0], abs=1e-3)


@pytest.mark.parametrize("turn_deg", [0.0, 1.7, 4.0, 8.3])
def test_chords_of_an_arc_are_no_sides(turn_deg: float) -> None:
    # a disc of 6 m in pieces of 11.25 degrees has chords of 1.2 m, wherever these begin
    disc = affinity.rotate(shapely.Point(30, 22).buffer(6.0, quad_segs=8), turn_deg)
    found = edge_directions(CUT.difference(disc), least_m=DRAWN_M)
    assert np.degrees(found) == pytest.approx([90, 0, 135])


def test_of_a_disc_every_chord_counts() -> None:
    disc = shapely.Point(0, 0).buffer(6.0, quad_segs=8)
    assert len(edge_directions(disc, least_m=DRAWN_M)) == 16


@pytest.mark.parametrize("turn_deg", [0.0, 17.0, 100.0])
def test_of_all_directions_none_is_farther_than_a_step_from_one_that_is_tried(
    turn_deg: float,
) -> None:
    lot = affinity.rotate(shapely.box(0, 0, 60, 25), turn_deg)
    tried = np.sort(np.mod(row_directions(lot), math.pi))
    gaps = np.diff(np.append(tried, tried[0] + math.pi))
    assert gaps.max() <= SCAN_STEP + 1e-9
    # and hardly more of them than that takes: the edges are among them
    assert len(tried) <= math.ceil(math.pi / SCAN_STEP) + 4
