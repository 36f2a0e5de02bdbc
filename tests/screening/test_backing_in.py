"""Ground on to which a machine backs straight from the street, beside the search of a plan."""

from __future__ import annotations

import pytest
import shapely
from county_lots import lot_on_street

from siteplan.available.access import machine_ground
from siteplan.screening.asked import Asked
from siteplan.screening.backing import backed_on_to
from siteplan.screening.chunk import Chunk
from siteplan.screening.frontages import sides_of
from siteplan.screening.full import site_of_lot
from siteplan.screening.terms import Terms, terms_of
from siteplan.site.loop_options import machine_of

KINDS = ("building", "potable well", "drainfield", "other keep-out", "street")
ASKED = Asked({"exchanger": {"capacity": "3 ton"}})
HOUSE = shapely.box(14, 18, 26, 28)


@pytest.fixture(scope="module")
def terms() -> Terms:
    return terms_of(ASKED, KINDS)


def lot(outline: shapely.Polygon, *things: tuple[str, shapely.Geometry]) -> Chunk:
    """One lot with a house; a street runs along y = -6."""
    return lot_on_street(outline, HOUSE, *things)


@pytest.mark.parametrize(
    "outline",
    [
        shapely.box(0, 0, 40, 60),
        shapely.Polygon([(0, 0), (22, -1), (41, 1), (52, 40), (20, 55), (-6, 30)]),
    ],
)
def test_a_search_of_poses_gets_to_all_of_it(outline: shapely.Polygon, terms: Terms) -> None:
    chunk = lot(outline)
    machine = machine_of(terms.exchanger, "vertical")
    assert machine is not None
    (ground,) = backed_on_to(chunk, sides_of(chunk), machine)
    searched = machine_ground(site_of_lot(chunk, 0, ASKED), "vertical")
    assert searched is not None
    assert ground.area > 100
    assert shapely.covers(searched.area.buffer(1e-6), ground)


def test_a_strip_is_as_wide_as_the_machine_and_ends_before_what_stands_there(terms: Terms) -> None:
    chunk = lot(shapely.box(0, 0, 40, 60))
    machine = machine_of(terms.exchanger, "vertical")
    assert machine is not None
    (ground,) = backed_on_to(chunk, sides_of(chunk), machine)
    # beside the house, 14 m to the left and to the right of it, in to the back of the lot
    assert [part.bounds[3] > 50 for part in shapely.get_parts(ground)] == [True]
    assert ground.distance(HOUSE) >= machine.width_m / 2
    assert ground.distance(shapely.box(0, 0, 40, 60).exterior.segmentize(1)) >= 0
    sides = [shapely.LineString([(x, 0), (x, 60)]) for x in (0, 40)]
    assert all(ground.distance(side) >= machine.width_m / 2 for side in sides)


def test_who_cannot_line_up_on_the_street_does_not_back_in(terms: Terms) -> None:
    # a house of a neighbor across the whole front, 3 m before the line: a rig of 25 ft does not
    # stand between
    wall = shapely.box(-30, -5, 70, -3)
    chunk = lot(shapely.box(0, 0, 40, 60), ("building", wall))
    machine = machine_of(terms.exchanger, "vertical")
    assert machine is not None
    (ground,) = backed_on_to(chunk, sides_of(chunk), machine)
    assert ground.is_empty
