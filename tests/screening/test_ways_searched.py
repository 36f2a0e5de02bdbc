"""Ways in that only a search finds, and land near which an authority is asked: held to a plan."""

from __future__ import annotations

import math
from pathlib import Path

import county_lots
import numpy as np
import pytest
import shapely
from campaign import thorough
from scipy.spatial.distance import pdist

from siteplan.screening.asked import Asked
from siteplan.screening.assumed import Known, with_granted
from siteplan.screening.chunk import Chunk
from siteplan.screening.few import few_places
from siteplan.screening.full import planned, site_of_lot
from siteplan.screening.judge import DOES_NOT, FITS, LAID_OUT, UNDECIDED, judged
from siteplan.screening.machine import within_reach
from siteplan.screening.part import Task, chunk_of, localized
from siteplan.screening.room import sure_room
from siteplan.screening.sources import sources_of
from siteplan.screening.terms import ALWAYS, LOOPS, terms_of

ASKED = Asked({"exchanger": {"capacity": "3 ton"}})
LOT = shapely.box(0, 0, 40, 80)
HOUSE = shapely.box(14, 30, 26, 40)


def one_lot(*things: tuple[str, shapely.Geometry]) -> Chunk:
    kinds = np.array(["building", *(kind for kind, _ in things)], dtype="<U24")
    shapes = np.array([HOUSE, *(shape for _, shape in things)], dtype=object)
    outline = np.array([LOT], dtype=object)
    return Chunk(outline, shapes, np.zeros(len(shapes), np.int64), kinds, np.zeros(1, np.int64))


@pytest.mark.parametrize("system", ["vertical", "horizontal"])
def test_a_drive_that_leads_out_is_a_way_in_as_in_a_plan(system: str) -> None:
    # no street is drawn: a drive 4 m wide that leads 6 m beyond the line shows where a rig comes in
    chunk = one_lot(("driveway", shapely.box(30, -6, 34, 35)))
    terms = terms_of(ASKED, ("building", "driveway"))
    room = sure_room(chunk, terms.parts[LOOPS[system]]).areas
    # arithmetic knows of streets alone
    assert shapely.is_empty(within_reach(chunk, terms, system, room)).all()
    told = judged(chunk, terms)[system]
    assert told.verdict.tolist() == [FITS]
    assert planned(chunk, 0, ASKED, system)[0] is True


def test_a_lot_near_which_an_authority_is_asked_fits_and_says_so() -> None:
    # common practice asks whoever answers for the water: a plan warns, and fits
    zone = shapely.box(-50, 60, 90, 200)
    chunk = one_lot(("protection zone", zone))
    for system, told in judged(chunk, terms_of(ASKED, ("building", "protection zone"))).items():
        assert told.verdict.tolist() == [FITS]
        assert told.why[0].startswith(LAID_OUT)
        assert told.why[0].endswith("near protection zone: an authority must approve")
        assert planned(chunk, 0, ASKED, system)[0] is True


def test_a_depth_that_is_not_allowed_near_a_thing_is_left_to_a_plan() -> None:
    # a rule that lets bores go 40 ft within 100 ft of a spring; with one of 900 ft it never binds
    for limit, kinds in (("40 ft", ("spring",)), ("900 ft", ())):
        rule = {
            "id": "own", "from": "spring", "for": ["bore"], "says": "no deeper than",
            "distance": limit, "within": {"to": "100 ft"}, "source": "invented",
        }  # fmt: skip
        asked = Asked({**ASKED.tables, "rules": {"own": [rule]}})
        assert terms_of(asked, ("building", "spring")).particular["bore"] == kinds


def test_a_road_to_the_next_town_does_not_keep_a_lot_from_being_planned(tmp_path: Path) -> None:
    # a road of 30 km along the lot: a site file is refused whose features lie so far off
    east, north = county_lots.CORNER
    lots = [shapely.box(east, north, east + 50, north + 90)]
    road = [shapely.LineString([(east - 15_000, north - 8), (east + 15_000, north - 8)])]
    parcels = county_lots.write_lots(tmp_path / "lots.gpkg", lots)
    streets = county_lots.write_things(tmp_path / "roads.gpkg", "roads", road, "LineString")
    task = Task(
        sources_of(parcels, {"street": streets}), ASKED, terms_of(ASKED, (*ALWAYS, "street"))
    )
    frame, outlines = localized(np.array(lots, dtype=object), county_lots.CRS, (east, north))
    assert frame is not None
    chunk, _ = with_granted(chunk_of(outlines, frame, task), ASKED, Known())
    (street,) = site_of_lot(chunk, 0, ASKED).of_kind("street")
    # 330 ft to either side, as siteplan new takes in what is around a lot
    assert street.shape.length == pytest.approx(250.0, abs=1.5)
    assert street.shape.distance(chunk.outlines[0]) == pytest.approx(8.0, abs=0.5)


def test_a_header_has_one_entry_and_takes_the_side_that_a_machine_gets_to() -> None:
    # a house from line to line but for 3 ft: the yard before it is small and open to the street,
    # the larger yard behind it is one that no rig comes to
    lot, house = shapely.box(0, 0, 20, 70), shapely.box(1, 20, 19, 30)
    street = shapely.LineString([(-20, -5), (40, -5)])
    kinds = np.array(["building", "street"])
    shapes, owner = np.array([house, street], dtype=object), np.zeros(2, np.int64)
    outline, first = np.array([lot], dtype=object), np.zeros(1, np.int64)
    chunk = Chunk(outline, shapes, owner, kinds, first)
    asked = Asked({"exchanger": {"capacity": "3 ton"}})
    told = judged(chunk, terms_of(asked, ("building", "street")))["vertical"]
    assert told.verdict.tolist() == [FITS]
    assert told.areas[0].bounds[3] < 20
    assert planned(chunk, 0, asked, "vertical")[0] is True


@pytest.mark.parametrize("apart", [4.0, 5.0, 6.0])
def test_three_bores_stand_at_the_corners_of_a_triangle_that_holds_no_more(apart: float) -> None:
    # plane geometry: three places so far apart need a triangle of such a side, and fill it
    triangle = shapely.Polygon([(0, 0), (apart, 0), (apart / 2, apart * math.sqrt(0.75))])
    assert few_places(triangle, 3, apart * (1 + 1e-6)) is None
    assert few_places(triangle.buffer(-0.01), 3, apart) is None
    places = few_places(triangle.buffer(0.01, join_style="mitre"), 3, apart)
    assert places is not None
    assert pdist(places).min() >= apart
    assert few_places(shapely.Polygon(), 3, apart) is None


def test_a_lot_that_holds_its_bores_at_corners_alone_fits_as_a_plan_says() -> None:
    # a lot of which the line leaves a triangle of 7 m, where rows along its sides hold but two
    terms = terms_of(Asked({"exchanger": {"capacity": "3 ton"}}), ("building",))
    line, spacing = terms.parts["bore"].line_m, terms.exchanger.vertical.spacing_m
    inner = shapely.Polygon([(0, 0), (spacing, 0), (spacing / 2, spacing * math.sqrt(0.75))])
    yard = inner.buffer(0.3, join_style="mitre").buffer(line, join_style="mitre")
    lot = shapely.union_all([yard, shapely.box(-3, -26, spacing + 3, -line)])
    house = shapely.box(-0.5, -18, spacing + 0.5, -12)
    outline, shapes = np.array([lot], dtype=object), np.array([house], dtype=object)
    none = np.zeros(1, np.int64)
    chunk = Chunk(outline, shapes, none, np.array(["building"]), none)
    told = judged(chunk, terms)["vertical"]
    assert told.verdict.tolist() == [FITS]
    assert planned(chunk, 0, ASKED, "vertical")[0] is True


@pytest.mark.parametrize("share", ["15 %", thorough("30 %")])
def test_a_fluid_that_freezes_fits_on_no_lot_as_in_a_plan(share: str) -> None:
    # the fluid falls to some 24 F; propylene glycol of 15 % freezes near that, of 30 % near 8 F
    # (tables of the trade, from memory), and a plan wants 9 F between the two
    asked = Asked({
        "loads": {"heating": "12 MBH", "heating_hours": 2100, "cooling": "6 MBH",
                  "cooling_hours": 450},
        "ground": {"temperature": "49 F", "swing": "22 F", "coldest_day": "3 February",
                   "soil": "heavy sand, 15 % water"},
        "fluid": {"mixture": f"propylene glycol {share}", "coldest": "30 F"},
        "horizontal": {"kind": "four pipes"},
    })  # fmt: skip
    chunk = one_lot()
    freezes = share == "15 %"
    for system, told in judged(chunk, terms_of(asked, ("building",))).items():
        assert told.verdict[0] in ((DOES_NOT,) if freezes else (FITS, UNDECIDED))
        assert (planned(chunk, 0, asked, system)[0] is False) is freezes
        if freezes:
            assert told.why[0].startswith("propylene glycol 15 % ")
