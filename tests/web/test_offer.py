"""The picture for the owner: in whole sentences, with its cautions, and nothing off the paper."""

from __future__ import annotations

import tomllib

import pytest

pytest.importorskip("starlette", reason="the extra edit is not installed")

from places import SAMPLES
from planned import planned

from siteplan.plan import plan_site
from siteplan.sheet.model import Text
from siteplan.site.readers.site_file import site_from
from siteplan.web.offer import CAUTIONS, FITS, FITS_NOT, ROOM_ALONE, offer_page

# papers of an office: US letter is 8.5 by 11 in, A4 of ISO 216 is 210 by 297 mm
LETTER_MM, A4_MM = (279.4, 215.9), (297.0, 210.0)


@pytest.mark.parametrize(
    ("sample", "paper_mm"),
    [("small-suburban", LETTER_MM), ("tight-lot", LETTER_MM), ("good-aquifer", A4_MM)],
)
def test_the_offer_says_in_sentences_whether_there_is_room(sample, paper_mm):
    plan = planned(sample)
    sheet = offer_page(plan)
    texts = [item for item in sheet.primitives if isinstance(item, Text)]
    told = " ".join(item.text for item in texts)
    assert (FITS if plan.fits else FITS_NOT) in told
    assert ("WHAT IS BUILT" in told) == plan.fits
    assert ("WHAT WOULD HELP" in told) != plan.fits
    for caution in CAUTIONS:
        assert caution.split()[-1] in told
    # words of programs and of the file are none of an owner's
    assert "(drawn)" not in told
    assert "[" not in told
    assert (sheet.paper.width_mm, sheet.paper.height_mm) == pytest.approx(paper_mm)
    on_paper = [item.at for item in texts if item.space == "paper"]
    assert all(0 < x < sheet.paper.width_mm and 0 < y < sheet.paper.height_mm for x, y in on_paper)
    # the last line ends above the frame, and the whole lot is in its window
    assert min(y for _, y in on_paper) > sheet.paper.margin_mm
    west, south, east, north = plan.site.parcel.bounds
    assert (east - west) * 1000 / sheet.view.ratio < sheet.view.width_mm
    assert (north - south) * 1000 / sheet.view.ratio < sheet.view.height_mm


def test_a_fluid_that_would_freeze_is_not_told_as_a_want_of_room():
    # water freezes at 0 C, and what comes from a bore field in winter is colder: antifreeze
    # is what is wanting, no ground
    values = tomllib.loads((SAMPLES / "small-suburban" / "site.toml").read_text(encoding="utf-8"))
    values["fluid"]["mixture"] = "water"
    plan = plan_site(site_from(values, folder=SAMPLES / "small-suburban"))
    assert not plan.fits
    texts = [item.text for item in offer_page(plan).primitives if isinstance(item, Text)]
    told = " ".join(texts)
    assert ROOM_ALONE in told
    assert FITS_NOT not in told
