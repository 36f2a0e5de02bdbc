import pytest

from siteplan.errors import ExportError
from siteplan.sheet.model import Polyline, View, enlarged
from siteplan.sheet.style.paper import paper, scale_ratios
from siteplan.sheet.style.styles import layer, linetypes, styles, treatment
from siteplan.sheet.style.symbols import symbol_shapes
from siteplan.units.systems import METRIC, US
from siteplan.vocabulary.kinds import kinds


@pytest.mark.parametrize(
    ("name", "width_in", "height_in"), [("ANSI B", 17, 11), ("ANSI D", 34, 22), ("Arch D", 36, 24)]
)
def test_inch_papers_have_the_sizes_of_asme_y14_1(name, width_in, height_in):
    assert paper(name).width_mm == pytest.approx(width_in * 25.4)
    assert paper(name).height_mm == pytest.approx(height_in * 25.4)


@pytest.mark.parametrize(("name", "width", "height"), [("A3", 420, 297), ("A1", 841, 594)])
def test_metric_papers_have_the_sizes_of_iso_216(name, width, height):
    assert (paper(name).width_mm, paper(name).height_mm) == (width, height)


def test_an_unknown_paper_is_refused_with_the_known_ones():
    with pytest.raises(
        ExportError, match="'Letter' is no known paper size; write one of ANSI A, ANSI B"
    ):
        paper("Letter")


@pytest.mark.parametrize("unit", [US, METRIC])
def test_stated_scales_run_from_large_to_small(unit):
    ratios = scale_ratios(unit)
    assert list(ratios) == sorted(ratios)
    assert {US: 120, METRIC: 100}[unit] == ratios[0]


def test_a_length_in_the_model_and_on_paper_agree_with_the_scale():
    view = View(240.0, "1\" = 20'", 0.0, 0.0, 100.0, 100.0, (0.0, 0.0))
    # 1 in = 20 ft: 60 ft are 3 in = 76.2 mm
    ends = view.to_paper([(0.0, 0.0), (60 * 0.3048, 0.0)])
    assert ends[1][0] - ends[0][0] == pytest.approx(76.2)
    assert view.to_model(ends)[1][0] == pytest.approx(60 * 0.3048)


def test_enlarging_leaves_the_model_where_it_is():
    line = Polyline(((1.0, 2.0), (3.0, 4.0)), "rule", "0")
    assert enlarged(line, 1.3) == line


def test_every_style_uses_a_known_linetype_and_a_colour():
    for style in styles().values():
        assert style.linetype in linetypes()
        assert style.color.startswith("#")
        assert len(style.color) == 7


def test_every_feature_kind_is_drawn_with_known_styles_and_symbols():
    for kind in kinds().values():
        look = treatment(kind)
        assert {look.line, look.fill, look.hatch, look.symbol_style} - {""} <= set(styles())
        assert not look.symbol or look.symbol in symbol_shapes()
        assert not kind.letter or f"text-{kind.letter}" in styles()


def test_every_mask_has_the_colour_of_the_fill_under_it():
    for name, style in styles().items():
        if "-mask" in name:
            fill = name.removesuffix("-low").replace("-mask", "-fill")
            assert style.color == styles()[fill].color


def test_new_work_is_heavier_than_what_exists_and_than_dimensions():
    weight = {name: style.weight for name, style in styles().items()}
    assert weight["property"] > weight["trench"] > weight["septic"] > weight["dimension"]


@pytest.mark.parametrize("role", ["bore", "trench", "coil", "well", "header"])
def test_new_work_has_its_own_layer(role):
    assert layer(role).startswith("M-GHEX-")
    assert layer(role).endswith("-N")
