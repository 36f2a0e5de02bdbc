"""Ways in that only a search finds, and land near which an authority is asked: held to a plan."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from siteplan.screening.asked import Asked
from siteplan.screening.chunk import Chunk
from siteplan.screening.full import planned
from siteplan.screening.judge import FITS, LAID_OUT, judged
from siteplan.screening.machine import within_reach
from siteplan.screening.room import sure_room
from siteplan.screening.terms import LOOPS, terms_of

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
