"""A flow that the site file does not state, and that would let the lot fit."""

import pytest
from wording import in_words

from siteplan.plan import plan_site
from siteplan.site.readers.site_file import read_site

# invented lot, 40 ft wide: behind the house 80 ft of ground, the drainfield of the neighbour 60 ft
# from its end
LOT = """
[project]
title = "Loop field"
owner = "A. Owner"
date = 2026-03-14
units = "ft"

[geometry]
parcel = [[0, 0], [40, 0], [40, 130], [0, 130]]

[rules]
books = ["maine"]

[[feature]]
id = "house"
kind = "building"
area = [[12, 20], [30, 20], [30, 50], [12, 50]]

[[feature]]
id = "field next door"
kind = "drainfield"
area = [[0, 190], [40, 190], [40, 220], [0, 220]]
{flow}
[exchanger]
system = "vertical"
length = {{ given = "1800 ft", by = "A. Designer" }}
entry = [[20, 50]]

[vertical]
depth = "300 ft"
arrangement = "rows"
"""


@pytest.fixture
def plan_of(write_site):
    return lambda flow="": plan_site(read_site(write_site(LOT.format(flow=flow))))


def test_stating_a_small_flow_is_a_remedy_and_fits(plan_of):
    # the rule book of Maine, ch. 6 s. 600: 100 ft from a field of 2,000 gpd and more, 50 ft below;
    # not stated, the greater holds
    plan = plan_of()
    assert not plan.fits
    (remedy,) = (each for each in plan.weighing.remedies if each.kind == "statement")
    sentence = in_words(remedy.change)
    assert "state daily_flow of field next door (drainfield)" in sentence
    assert "below 2,000 gpd" in sentence
    assert "50 ft instead of 100 ft" in sentence
    assert plan_of('daily_flow = "1,900 gpd"\n').fits


def test_a_flow_that_is_stated_is_no_remedy(plan_of):
    plan = plan_of('daily_flow = "2500 gpd"\n')
    assert not plan.fits
    assert not [each for each in plan.weighing.remedies if each.kind == "statement"]


def test_what_is_left_open_and_is_no_flow_is_no_remedy(write_site):
    # Nebraska tells storm drains by their pipe, which has no bound that a figure could lie below
    drain = '[[feature]]\nid = "storm"\nkind = "storm drain"\nline = [[0, 90], [40, 90]]\n'
    text = LOT.replace('books = ["maine"]', 'books = ["nebraska"]').format(flow=drain)
    plan = plan_site(read_site(write_site(text)))
    assert not plan.fits
    told = [in_words(each.change) for each in plan.weighing.remedies]
    assert not any("storm" in sentence for sentence in told)
