"""The header comes through the shore where the site says so, else where its trench is short."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from typing import Any

import pytest
import shapely
from shapely import LineString
from test_header_kept_off import lot
from wording import in_words

import siteplan
from siteplan.checks.shore_entry import BESIDE_M, shore_entry_findings
from siteplan.design.evaluate import Trial
from siteplan.sheet.content.header_points import header_points, points_note
from siteplan.units.lengths import FOOT

EAST = (300.0, 250.0)
"""On the shore of the pond far from the entry of the house [ft]."""


def metres(at: tuple[float, float]) -> tuple[float, float]:
    return at[0] * FOOT, at[1] * FOOT


@cache
def laid(*at: float, outlet: bool = False) -> Trial:
    """Coils of the lot with a shore entry there, or none."""
    more: list[dict[str, Any]] = (
        [{"kind": "shore entry", "id": "landing", "at": [*at]}] if at else []
    )
    more += [{"kind": "pond outlet", "id": "weir", "at": [*at]}] if outlet else []
    return siteplan.lay_out(lot(more=more), "pond")


def test_the_header_comes_in_at_its_shore_entry_and_nowhere_else() -> None:
    layout = laid(*EAST).layout
    assert layout is not None
    assert layout.header is not None
    (landing,) = layout.header.landings
    assert landing.stated
    assert math.dist(landing.at, metres(EAST)) <= 1 * FOOT
    assert layout.header.length_m > laid().layout.header.length_m  # type: ignore[union-attr]
    (point,) = [each for each in header_points(layout) if each.landing]
    assert (point.name, point.said) == ("HS", "SHORE ENTRY")
    assert points_note(header_points(layout)).endswith("as stated.")


def test_a_shore_entry_drawn_beside_the_outline_is_moved_onto_it() -> None:
    # 2 ft off: nearer than two surveys agree
    layout = laid(302.0, 250.0).layout
    assert layout is not None
    assert layout.header is not None
    assert math.dist(layout.header.landings[0].at, metres(EAST)) <= 1 * FOOT


def test_without_one_the_place_is_chosen_and_told_as_assumed() -> None:
    trial = laid()
    assert trial.layout is not None
    assert trial.layout.header is not None
    (landing,) = trial.layout.header.landings
    assert not landing.stated
    # north of the entry at (200, 40), on the shore along y = 150, towards the nearest of coils at
    # an end of their rows, which are 8 ft apart
    across, north = metres((200.0, 150.0))
    assert landing.at[0] == pytest.approx(across, abs=8 * FOOT)
    assert landing.at[1] == pytest.approx(north, abs=0.01)
    assert [one.subject for one in trial.findings if one.code == "shore-entry-assumed"] == ["pond"]
    (point,) = [each for each in header_points(trial.layout) if each.landing]
    assert point.said == "SHORE ENTRY, ASSUMED"
    assert "nobody states it" in points_note(header_points(trial.layout))


def test_a_shore_entry_where_the_header_may_not_lie_is_refused() -> None:
    trial = laid(*EAST, outlet=True)
    assert not trial.fits
    assert trial.layout is not None
    assert trial.layout.obstacle is not None
    assert trial.layout.obstacle.code == "shore-entry-kept-off"
    assert "shore entry landing: it keeps off weir" in in_words(trial.why)


def test_the_check_measures_a_header_that_comes_in_elsewhere() -> None:
    elsewhere, site = laid().layout, lot(more=[{"kind": "shore entry", "at": [*EAST]}])
    assert elsewhere is not None
    (found,) = shore_entry_findings(site, elsewhere)
    assert (found.code, found.severity, found.subject) == (
        "header-off-shore-entry",
        "error",
        "pond",
    )
    # from where it comes in to (300, 250)
    away = math.dist(elsewhere.header.landings[0].at, metres(EAST))  # type: ignore[union-attr]
    assert found.measured_m == pytest.approx(away, abs=0.01)
    assert away == pytest.approx(100 * math.sqrt(2) * FOOT, abs=8 * FOOT)
    own = laid(*EAST).layout
    assert own is not None
    assert BESIDE_M == 1 * FOOT
    assert list(shore_entry_findings(site, own)) == []


def test_of_several_places_where_a_header_crosses_the_shore_the_farthest_is_told() -> None:
    laid_once, site = laid(*EAST).layout, lot(more=[{"kind": "shore entry", "at": [*EAST]}])
    assert laid_once is not None
    assert laid_once.header is not None
    (pond,) = site.of_kind("pond")
    # another pipe through the shore, opposite to the entry
    x, y = metres(EAST)
    shore = pond.shape.boundary
    far = max(shapely.get_coordinates(shore), key=lambda at: math.dist(at, (x, y)))
    middle = pond.shape.centroid
    beyond = (2 * far[0] - middle.x, 2 * far[1] - middle.y)
    runs = (*laid_once.header.runs, LineString([(middle.x, middle.y), beyond]))
    both = replace(laid_once, header=replace(laid_once.header, runs=runs))
    (found,) = shore_entry_findings(site, both)
    assert found.measured_m == pytest.approx(math.dist(far, (x, y)), abs=1e-6)
