"""Courses of a deed with curves: a race track, by hand."""

from __future__ import annotations

import math

import pytest

from siteplan.geometry.traverse import CircularCurve, Leg, closure_of


@pytest.mark.parametrize("turn", [1.0, -1.0])
def test_a_half_circle_turns_back_and_a_race_track_closes(turn: float) -> None:
    # 100 m north, half a circle of radius 10 m, 100 m south, and half a circle to the beginning
    half = CircularCurve(10.0, 180.0 * turn)
    track = [
        Leg(0.0, 100.0),
        Leg(90.0 * turn, 20.0, half),
        Leg(180.0, 100.0),
        Leg(-90.0 * turn, 20.0, half),
    ]
    assert half.chord_m == pytest.approx(20.0)
    assert half.arc_m == pytest.approx(10.0 * math.pi)
    # each tangent goes on as the next line begins
    assert [leg.end_deg % 360.0 for leg in track] == pytest.approx([0.0, 180.0, 180.0, 0.0])
    closure = closure_of(track)
    assert closure.miss_m == pytest.approx(0.0, abs=1e-9)
    assert closure.perimeter_m == pytest.approx(200.0 + 20.0 * math.pi)


def test_the_chord_of_a_quarter_circle_leads_halfway_between_its_tangents() -> None:
    # from north to east: chord N 45 E, sqrt(2) radii long
    quarter = CircularCurve(50.0, 90.0)
    leg = Leg(45.0, quarter.chord_m, quarter)
    assert leg.end_deg == pytest.approx(90.0)
    assert leg.step == pytest.approx((50.0, 50.0))
