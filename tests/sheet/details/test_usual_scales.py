"""Details are drawn at scales that rules have, say so under their title, and are read in inches."""

import re
from dataclasses import replace
from fractions import Fraction

import pytest
from campaign import thorough
from drawn_once import compose_set
from sheet_lots import FT, pond_farm, rural, suburban, well_pair

from siteplan.sheet.details.trench import scale_words
from siteplan.sheet.model import Text
from siteplan.sheet.style.formats import detail_mark
from siteplan.sheet.style.styles import layer
from siteplan.units.systems import METRIC, US

# the scales on an architect's scale, and those of ISO 5455 for reduction: both from memory
ARCHITECT = ("3", "1 1/2", "1", "3/4", "1/2", "3/8", "1/4", "3/16", "1/8", "3/32", "1/16")
ISO_5455 = ("1:2", "1:5", "1:10", "1:20", "1:50", "1:100", "1:200", "1:500")
# of an engineer's scale, for wide sloped openings alone; from memory
ENGINEER = ("1\" = 20'", "1\" = 30'")


def details_of(lot):
    content = lot()
    site = replace(content.site, sheet=replace(content.site.sheet, sheets="full"), books=())
    sheets = compose_set(replace(content, site=site))
    return next(sheet for sheet in sheets if sheet.name == "DETAILS")


@pytest.mark.parametrize("lot", [thorough(suburban), rural, thorough(pond_farm), well_pair])
def test_every_detail_names_a_usual_scale_under_its_title(lot):
    texts = [item.text for item in details_of(lot).of_type(Text)]
    titled = [
        (texts[number + 1], title)
        for number, title in enumerate(texts)
        if re.fullmatch(r"[A-Z ]+(SECTION|ENTRY|PIT)", title)
    ]
    assert titled
    for scale, title in titled:
        named = scale.removeprefix("SCALE ").partition(",")[0]
        usual = [*(f'{size}" = 1\'-0"' for size in ARCHITECT), *ENGINEER, *ISO_5455]
        assert scale.startswith("SCALE "), title
        assert named in usual, title


def test_the_scales_of_details_are_those_of_a_scale_or_of_the_standard():
    named = {scale_words(ratio, US) for ratio in US.drawing.detail_ratios}
    assert named == {*(f'{size}" = 1\'-0"' for size in ARCHITECT), *ENGINEER}
    assert {scale_words(ratio, METRIC) for ratio in METRIC.drawing.detail_ratios} <= set(ISO_5455)


@pytest.mark.parametrize("ratio", [one for one in US.drawing.detail_ratios if one < 200])
def test_the_words_of_a_scale_are_its_ratio(ratio):
    inches = sum(map(Fraction, scale_words(ratio, US).partition('"')[0].split()))
    assert 12 / inches == ratio


@pytest.mark.parametrize("lot", [suburban, pond_farm], ids=lambda lot: lot.__name__)
def test_no_size_of_a_detail_is_in_tenths_of_a_foot(lot):
    sheet = details_of(lot)
    sizes = [
        item.text
        for item in sheet.of_type(Text)
        if item.layer == layer("sheet-text")
        and (item.mark is None or item.mark.block != "location")
        and re.search(r"\d['\"]", item.text)
        # of a section through a pond, at an engineer's scale, the words of the scale are no size
        and not re.fullmatch(r"SCALE 1\" = \d+', HEIGHTS x \d+", item.text)
    ]
    assert sizes
    assert not [size for size in sizes if re.search(r"\d\.\d+'|\d'(?!-\d)", size)]


@pytest.mark.parametrize(
    ("feet", "rounding", "said"),
    # by hand: 3.68 ft are 44.16 in, 3 ft 8 1/8 in and a little; 2 ft 11.97 in is not yet 3 ft
    [
        (3.68, "down", "3'-8 1/8\""), (3.68, "up", "3'-8 1/4\""), (5.0, "up", "5'-0\""),
        (2.5, "nearest", '30"'), (0.25, "up", '3"'), (296.0, "down", "296'-0\""),
    ],
)  # fmt: skip
def test_lengths_of_details_are_in_feet_and_inches(feet, rounding, said):
    assert detail_mark(feet * FT, US, rounding=rounding) == said
