"""A flow that the site file does not state, and that would let the lot fit."""

import pytest
from wording import in_words

from siteplan.alternatives.remedies import remedies_of
from siteplan.alternatives.stating import statements
from siteplan.available.prepared import lot_of
from siteplan.design.evaluate import try_system
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
def tried(write_site):
    """Function that gives a prepared lot and its bores as laid out on it."""

    def laid_out(flow="", book="maine"):
        text = LOT.replace("maine", book).format(flow=flow)
        lot = lot_of(read_site(write_site(text)))
        return lot, try_system(lot, "vertical")

    return laid_out


def stated(lot, trial):
    """What may be stated so that the lot fits; nothing else that would help is looked for."""
    assert not trial.fits
    return list(statements(lot, "vertical", trial.required.length_m))


def test_stating_a_small_flow_is_the_first_remedy_and_fits(tried, monkeypatch):
    # the rule book of Maine, ch. 6 s. 600: 100 ft from a field of 2,000 gpd and more, 50 ft below;
    # not stated, the greater holds
    monkeypatch.setattr("siteplan.alternatives.remedies.MOST", 1)
    lot, trial = tried()
    (remedy,) = remedies_of(lot, trial)
    assert remedy.kind == "statement"
    assert [remedy.change] == stated(lot, trial)
    sentence = in_words(remedy.change)
    assert "state daily_flow of field next door (drainfield)" in sentence
    assert "below 2,000 gpd" in sentence
    assert "50 ft instead of 100 ft" in sentence
    assert tried('daily_flow = "1,900 gpd"\n')[1].fits


def test_a_flow_that_is_stated_is_no_remedy(tried):
    assert stated(*tried('daily_flow = "2500 gpd"\n')) == []


def test_what_is_left_open_and_is_no_flow_is_no_remedy(tried):
    # Nebraska tells storm drains by their pipe, which has no bound that a figure could lie below
    drain = '[[feature]]\nid = "storm"\nkind = "storm drain"\nline = [[0, 90], [40, 90]]\n'
    assert stated(*tried(drain, "nebraska")) == []
