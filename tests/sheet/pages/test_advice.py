from dataclasses import replace
from types import SimpleNamespace

from shapely import affinity
from sheet_lots import rural, suburban, thin_lot, well_pair

from siteplan.sheet.pages.advice import paper_advice
from siteplan.sheet.style.paper import paper
from siteplan.site.sheet_options import SheetOptions


def advice(content):
    # of the sheet it asks for no more than its paper and its unit: nothing has to be composed
    sheet = SimpleNamespace(paper=paper(content.site.sheet.size), unit=content.site.unit)
    return paper_advice(sheet, content)


def test_a_sheet_that_shows_all_at_a_readable_scale_needs_no_other_paper():
    assert advice(suburban()) == ""
    assert advice(well_pair()) == ""


def test_a_sheet_that_lists_part_of_the_trenches_names_the_paper_that_lists_all():
    words = advice(thin_lot())
    assert "The sheet lists 40 of 60 elements" in words
    assert 'size = "ANSI D" lists all' in words


def test_a_small_scale_names_the_paper_that_shows_the_lot_larger():
    lot = rural()
    far = replace(lot.site, parcel=affinity.scale(lot.site.parcel, 6, 6, origin=(0, 0)))
    words = advice(replace(lot, site=far))
    assert "The plan is drawn at 1:" in words
    assert 'size = "A1"' in words


def test_a_scale_that_was_asked_for_is_not_argued_with():
    assert advice(suburban(sheet=SheetOptions("ANSI B", 1200))) == ""
