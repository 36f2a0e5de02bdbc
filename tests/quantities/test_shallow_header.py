"""Header pipe that ice may reach, by a bottom that falls evenly from the shore."""

import math
from dataclasses import replace
from datetime import date
from itertools import pairwise
from types import SimpleNamespace

import pytest
from wording import in_words

import siteplan
from siteplan.design.choose import with_room
from siteplan.layout.header.section import highest_pipe
from siteplan.plan import lay_out
from siteplan.quantities.shallow import ICE_M, shallow_header
from siteplan.quantities.take_off import take_off
from siteplan.specification.clauses import specification

SLOPE = 3
"""Metres from the shore for each metre of depth."""
SHORE = 60.0


def pond_site(**more):
    return siteplan.site_from({
        "project": {"title": "Pond", "owner": "A. Owner", "date": date(2026, 1, 31), "units": "m"},
        "geometry": {"parcel": [[0, 0], [160, 0], [160, 120], [0, 120]]},
        "feature": [
            {"id": "house", "kind": "building", "area": [[10, 50], [20, 50], [20, 70], [10, 70]]},
            {
                "id": "pond", "kind": "pond", "depth": 5, "side_slope": SLOPE,
                "area": [[SHORE, 10], [150, 10], [150, 110], [SHORE, 110]],
            },
        ],
        "exchanger": {"system": "pond", "entry": [[20, 60]], "capacity": "3 ton"},
    } | more)  # fmt: skip


@pytest.fixture(scope="module")
def laid():
    site = pond_site()
    trial = lay_out(site, "pond")
    assert with_room([trial]) == [trial]
    return site, trial.layout


def test_the_header_is_insulated_from_the_shore_to_where_ice_ends(laid):
    # nothing says how thick ice grows: 2 ft, common practice, no source
    site, layout = laid
    shallow = shallow_header(site, layout)
    first = layout.header.runs[0]
    (x, y), (far_x, far_y) = next(pair for pair in pairwise(first.coords) if pair[1][0] > SHORE)
    along = math.hypot(far_x - x, far_y - y) / (far_x - x)
    assert pytest.approx(0.6096) == ICE_M
    assert shallow.assumed
    assert shallow.run_m == pytest.approx(SLOPE * 0.6096 * along, abs=1e-3)


def test_frost_that_is_stated_is_taken_for_the_ice_and_is_no_assumption(laid):
    _, layout = laid
    shallow = shallow_header(pond_site(ground={"frost": "0.9 m"}), layout)
    assert (shallow.assumed, shallow.reach_m) == (False, pytest.approx(0.9))
    # what goes to a coil lies in the water, whatever is known of the frost
    assert shallow.wet


def test_of_a_year_that_was_worked_out_the_thickest_ice_is_taken(laid):
    site, layout = laid
    wanted = site.exchanger
    pond = replace(wanted.pond, year=SimpleNamespace(ice_m=(0.0, 0.7, 0.2)))
    shallow = shallow_header(replace(site, exchanger=replace(wanted, pond=pond)), layout)
    assert (shallow.assumed, shallow.reach_m) == (False, 0.7)


def test_without_a_header_or_its_pipes_nothing_is_shallow(laid):
    site, layout = laid
    assert shallow_header(site, replace(layout, piping=None)) is None
    assert shallow_header(site, replace(layout, header=None)) is None


def test_each_pipe_there_is_an_item_and_a_clause_asks_for_it(laid):
    site, layout = laid
    items = [item for item in take_off(site, layout) if item.ware == "insulation"]
    assert sum(item.amount for item in items) == pytest.approx(
        2 * shallow_header(site, layout).run_m
    )
    assert all("assumed" in item.basis for item in items)
    # sleeves are bought by the size of the pipe; without a flow nobody knows it yet
    assert {item.size for item in items} == {
        size or "by flow" for size, m in shallow_header(site, layout).pipes_m.items() if m > 0
    }
    clauses = [
        clause for clause in specification(site, layout, ()) if clause.code == "spec-insulated"
    ]
    assert len(clauses) == 1
    assert "2.0 ft" in in_words(clauses[0]), in_words(clauses[0])


@pytest.mark.parametrize(("frost", "above"), [(0.3, False), (1.1, False), (1.2, True), (3.0, True)])
def test_a_header_above_frost_is_insulated_all_along(frost, above):
    """The header is dug 4 ft deep, its pipes lie some inches higher; no pond is near."""
    site = siteplan.site_from({
        "project": {"title": "Yard", "owner": "A. Owner", "date": date(2026, 1, 31), "units": "m"},
        "geometry": {"parcel": [[0, 0], [80, 0], [80, 60], [0, 60]]},
        "feature": [
            {"id": "house", "kind": "building", "area": [[10, 25], [20, 25], [20, 35], [10, 35]]},
        ],
        "exchanger": {"system": "vertical", "entry": [[20, 30]], "capacity": "2 ton",
                      "length": {"given": "120 m", "by": "test"}},
        "ground": {"frost": f"{frost} m"},
        "header": {"depth": "4 ft", "shallow": {"by": "test"}},
        "rig": {"access": "anywhere"},
    })  # fmt: skip
    layout = lay_out(site, "vertical").layout
    shallow = shallow_header(site, layout)
    assert (shallow is not None) is above
    if above:
        assert shallow.run_m == pytest.approx(layout.header.length_m)
        # nothing of it lies in water, and nothing is said of any
        assert not shallow.wet
        (told,) = (c for c in specification(site, layout, ()) if c.code == "spec-insulated-dry")
        assert "float" not in in_words(told)
    # a pipe that lies just as deep as frost reaches is not in it
    year, top = site.exchanger.ground_year, layout.piping.depth_m - highest_pipe(layout.piping)
    wanted = replace(site.exchanger, ground_year=replace(year, frost_m=top))
    assert shallow_header(replace(site, exchanger=wanted), layout) is None
