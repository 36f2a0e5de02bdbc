"""Letters of tie points: none that stands for something else on the same sheet."""

from siteplan.sheet.content.ties import LETTERS


def test_no_letter_is_read_as_a_figure_a_side_an_offset_or_a_point_of_the_header():
    # common practice, no source: I and O are left out in drafting; the others are on the sheets
    assert not set("IO" + "NSEW" + "LR" + "HT") & set(LETTERS)
    assert len(set(LETTERS)) == len(LETTERS) > 24
