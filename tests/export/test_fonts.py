"""The fonts of print and picture, beside the widths that text is measured by."""

from io import BytesIO

import pytest
from fontTools.ttLib import TTFont
from pypdf import PdfReader

from siteplan.export.about import About
from siteplan.export.fonts import CAPITAL, font_file
from siteplan.export.ink import Ink, Letters
from siteplan.export.pdf import write_pages
from siteplan.sheet.style.text import known, text_width

WORDS = "Größe 30° – BORE ½ Ж,;"


@pytest.mark.parametrize("bold", [False, True])
def test_the_font_has_the_widths_that_text_is_measured_by(bold):
    reader = TTFont(font_file(bold=bold))
    names, widths = reader.getBestCmap(), reader["hmtx"].metrics
    for character in filter(known, map(chr, range(32, 0x2500))):
        em = widths[names[ord(character)]][0] / reader["head"].unitsPerEm
        assert text_width(character, CAPITAL, bold=bold) == pytest.approx(em), character


@pytest.mark.parametrize("bold", [False, True])
def test_a_capital_is_as_high_as_it_is_said_to_be(bold):
    reader = TTFont(font_file(bold=bold))
    high = reader["glyf"]["H"].yMax / reader["head"].unitsPerEm
    assert high == pytest.approx(CAPITAL)


@pytest.fixture(scope="module", params=[False, True])
def embedded(request, tmp_path_factory):
    """The font of a page that says ``WORDS``."""
    path = tmp_path_factory.mktemp("font") / "a.pdf"
    words = Letters(WORDS, (10.0, 10.0), 3.0, 0.0, request.param, "#000000")
    page = Ink(100.0, 50.0, (0.0, 0.0, 100.0, 50.0), (), (words,))
    write_pages([page], path, about=About(""), names=["L1"])
    (font,) = PdfReader(path).pages[0]["/Resources"]["/Font"].values()
    return request.param, font.get_object()


def test_letters_of_the_print_are_as_wide_as_they_are_measured(embedded):
    bold, font = embedded
    widths = sorted({round(float(one), 3) for one in font["/Widths"]})
    for character in WORDS:
        expected = 1000 * text_width(character, CAPITAL, bold=bold)
        assert min(abs(one - expected) for one in widths) < 0.01, character


def test_the_font_in_the_print_is_cut_down_to_its_letters(embedded):
    _, font = embedded
    data = font["/FontDescriptor"]["/FontFile2"].get_data()
    reader = TTFont(BytesIO(data))
    # a few more than the letters: the box of a missing one, and what ö and ½ are composed of
    assert len(set(WORDS)) <= reader["maxp"].numGlyphs <= 2 * len(set(WORDS))
    assert len(data) < 40_000
