import matplotlib as mpl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.font_manager import FontProperties

from siteplan.sheet.style.text import (
    LEAST_HEIGHT_MM,
    fitted,
    known,
    room_width,
    text_width,
    wrapped,
)

CAPITAL = 1493 / 2048
FOLDER = mpl.get_data_path() + "/fonts/ttf/"
SAMPLES = [
    "NOT A BOUNDARY SURVEY.", "N 86°05'10\" E  140.10'", "Before digging, have utilities located",
    "C1  R=475.00'  L=224.77'  Δ=27°06'44\"", "12 BORES × 300 ft = 3,600 ft", "0123456789.,-+%",
    "Übergröße, Rue de l'Église – 5 m² ≥ 3 m",
]  # fmt: skip


def matplotlib_width(text, height_mm, *, bold):
    """Width [mm] that matplotlib itself gives, measured large so that hinting does not count."""
    size = 200.0
    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    font = FontProperties(fname=FOLDER + name, size=size)
    width, _, _ = RendererAgg(10, 10, 72.0).get_text_width_height_descent(text, font, False)
    return width / (size * CAPITAL) * height_mm


@pytest.mark.parametrize("bold", [False, True])
@pytest.mark.parametrize("text", SAMPLES)
def test_width_agrees_with_matplotlibs_own_metrics(text, bold):
    # matplotlib measures the ink with kerning, the table adds up advances: within 3 %
    expected = matplotlib_width(text, 2.5, bold=bold)
    assert text_width(text, 2.5, bold=bold) == pytest.approx(expected, rel=0.03)


@pytest.mark.parametrize("text", SAMPLES)
def test_a_text_is_never_wider_on_the_sheet_than_it_was_measured(text):
    assert matplotlib_width(text, 2.5, bold=False) <= text_width(text, 2.5) * 1.005


# ink of a line, in heights of a capital, where LibreCAD 2.2.0 sets it in its own lettering, since
# it lacks the sheets' font: measured on prints of 6,000 pixels
LETTERED = {
    "20 ft away, 10 ft up to 50 kV, 25 to 45 ft": 30.67,
    "where cave-in threatens. Keep spoil and": 27.98,
    "CONTRACTOR, 4,000 sq ft": 17.59,
}


@pytest.mark.parametrize(("text", "ink"), LETTERED.items())
def test_a_line_has_room_in_the_lettering_of_a_program_without_the_font(text, ink):
    height = 2.05
    # beside a column of the strip 3 mm are free, between cells 1.8 mm
    room = height * ink - 1.72
    assert room <= room_width(text, height) < 1.1 * height * ink
    assert len(wrapped(text, room - 0.1, height)) > 1


def test_a_character_outside_the_table_counts_as_the_widest_one():
    assert not known("建")
    assert text_width("建", 2.5) >= text_width("W", 2.5)


@given(st.text(st.characters(codec="latin-1"), max_size=80), st.floats(12.0, 90.0))
def test_wrapped_lines_keep_every_word_and_the_width(text, width):
    lines = wrapped(text, width, 2.1)
    # a no-break space does not end a line, and is written as a plain one
    assert "".join("".join(lines).split()) == "".join(text.split())
    assert all(text_width(line, 2.1) <= width for line in lines)


@given(st.text(st.characters(codec="ascii", categories=["L", "N"]), max_size=90))
def test_fitted_text_is_never_cut(text):
    height, lines = fitted(text, 20.0, (3.0, 2.1))
    assert "".join(lines).replace(" ", "") == "".join(text.split())
    assert height >= LEAST_HEIGHT_MM
    assert all(text_width(line, height) <= 20.0 for line in lines)


def test_text_that_fits_keeps_its_height():
    assert fitted("OAK", 30.0, (3.0, 2.1)) == (3.0, ("OAK",))


def test_a_figure_stays_with_its_unit_and_a_citation_with_its_title():
    text = "machines stay 20 ft away (29 CFR 1926.1408 Table A)"
    for width in range(32, 70):
        lines = wrapped(text, width, 2.1)
        assert any("20 ft" in line for line in lines)
        assert any("29 CFR 1926.1408" in line for line in lines)


@pytest.mark.parametrize(
    "measure", ["9 °F", "10.8 gpm", "24 in", "40 psi", "36 MBH", "1.5 m", "20 %"]
)
def test_no_line_ends_between_a_figure_and_its_unit(measure):
    for width in range(20, 60):
        assert any(measure in line for line in wrapped(f"what keeps {measure} of it", width, 2.1))


def test_a_measure_wider_than_the_line_ends_at_its_space():
    assert wrapped("1,234,567 MMBtu", 18.0, 2.1) == ("1,234,567", "MMBtu")
