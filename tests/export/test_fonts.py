"""Fonts cut down to their letters, read back by FreeType and by fontTools."""

from io import BytesIO

import numpy as np
import pytest
from fontTools.ttLib import TTFont
from matplotlib.font_manager import get_font
from matplotlib.ft2font import LoadFlags

from siteplan.export.fonts import font, font_file
from siteplan.sheet.text import known, text_width

WORDS = "Größe 30° – BORE ½ Ж,;"


@pytest.mark.parametrize("bold", [False, True])
def test_the_font_has_the_widths_that_text_is_measured_by(bold):
    whole = font(bold=bold)
    for character in filter(known, map(chr, range(32, 0x2500))):
        em = whole.advance(whole.glyph(character)) / whole.units_per_em
        # a capital of 1493/2048 em is as high as the height of the text
        assert text_width(character, 1493 / 2048, bold=bold) == pytest.approx(em), character


@pytest.mark.parametrize("bold", [False, True])
def test_glyphs_are_those_that_another_reader_finds(bold):
    reader = TTFont(font_file(bold=bold))
    names = reader.getBestCmap()
    for character in WORDS:
        assert font(bold=bold).glyph(character) == reader.getGlyphID(names[ord(character)])


def test_a_character_the_font_does_not_have_is_an_empty_box():
    assert font(bold=False).glyph("道") == 0


def test_a_cut_font_has_the_parts_of_its_composed_letters():
    whole = font(bold=False)
    letters = [whole.glyph("Ö")]
    # Ö is composed of O and a diaeresis
    assert whole.glyph("O") in whole.with_parts(letters)


def test_a_part_of_several_letters_is_taken_once():
    whole = font(bold=False)
    found = whole.with_parts(whole.glyph(one) for one in "ÖÕÓO")
    assert len(found) == len(set(found))


@pytest.fixture(scope="module", params=[False, True])
def cut(request):
    whole = font(bold=request.param)
    glyphs = whole.with_parts(whole.glyph(one) for one in WORDS)
    return request.param, glyphs, whole.cut(glyphs)


def test_a_cut_font_keeps_outlines_and_widths(cut, tmp_path):
    bold, glyphs, data = cut
    (tmp_path / "cut.ttf").write_bytes(data)
    before, after = get_font(font_file(bold=bold)), get_font(tmp_path / "cut.ttf")
    for number, glyph in enumerate(glyphs):
        shapes = []
        for face, place in ((before, glyph), (after, number)):
            face.set_size(100, 72)
            width = face.load_glyph(place, LoadFlags.NO_HINTING).linearHoriAdvance
            shapes.append((width, *face.get_path()))
        assert shapes[0][0] == shapes[1][0]
        np.testing.assert_array_equal(shapes[0][1], shapes[1][1])
        np.testing.assert_array_equal(shapes[0][2], shapes[1][2])


def test_the_checksums_of_a_cut_font_are_right(cut):
    _, glyphs, data = cut
    reader = TTFont(BytesIO(data), checkChecksums=2)
    # reading a table checks its sum and refuses a wrong one
    assert all(reader.reader[tag] for tag in reader.reader.keys())  # noqa: SIM118
    assert reader["maxp"].numGlyphs == len(glyphs)


def test_a_cut_font_is_small(cut):
    _, _, data = cut
    assert len(data) < 20_000
