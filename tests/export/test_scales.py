"""How large paper is in the drawing, and marks that a drawing carries."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from siteplan.export.drawing.scales import scale_of
from siteplan.export.xdata import from_xdata, shortened, to_xdata
from siteplan.sheet.marks import Mark
from siteplan.units.systems import METRIC, US

FT = 0.3048  # exact: National Institute of Standards and Technology, Special Publication 811


def scaled(unit, ratio):
    return scale_of(SimpleNamespace(unit=unit, view=SimpleNamespace(ratio=ratio)))


@pytest.mark.parametrize("feet_an_inch", [10, 20, 40])
def test_an_inch_of_paper_is_so_many_feet_of_model(feet_an_inch):
    scale = scaled(US, 12.0 * feet_an_inch)
    assert scale.size(25.4, "paper") == pytest.approx(1.0)
    assert scale.size(25.4, "model") == pytest.approx(feet_an_inch)
    assert scale.metres * 25.4 == pytest.approx(feet_an_inch * FT)
    assert scale.point((50.8, 25.4), "paper") == pytest.approx((2.0, 1.0))
    assert scale.point((FT * 3, FT * 4), "model") == pytest.approx((3.0, 4.0))


@pytest.mark.parametrize("ratio", [100, 250, 500])
def test_a_millimetre_of_paper_is_the_ratio_of_millimetres(ratio):
    scale = scaled(METRIC, float(ratio))
    assert scale.size(1.0, "paper") == pytest.approx(1.0)
    assert scale.size(1.0, "model") == pytest.approx(ratio / 1000)
    assert scale.metres == pytest.approx(ratio / 1000)
    points = scale.points([(3.0, 4.0), (7.5, -2.0)], "model")
    assert points == [pytest.approx((3.0, 4.0)), pytest.approx((7.5, -2.0))]


@pytest.mark.parametrize("mark", [Mark("a", "b", "c", 3), Mark("elements", "", "", 0)])
def test_a_mark_comes_back_as_it_was(mark):
    assert from_xdata(to_xdata(mark)) == mark


@pytest.mark.parametrize(
    "tags",
    [
        [], [(1000, "a"), (1000, "b"), (1070, 0)],
        [(1000, "a"), (1000, "b"), (1000, "c")],
        [(1000, "a"), (1000, "b"), (1000, "c"), (1070, 1), (1070, 2)],
        [(1000, "a"), (1000, "b"), (1000, "c"), (1000, "d"), (1070, 1)],
        [(1000, "a"), (1000, "b"), (1000, "c"), (1070, "one")],
    ],
)  # fmt: skip
def test_what_others_wrote_is_no_mark(tags):
    assert from_xdata(tags) is None


def test_a_name_is_cut_to_what_the_format_takes_at_a_letter():
    # DXF Reference, group codes: a string of extended data has at most 255 bytes (from memory)
    assert shortened("x" * 400) == "x" * 255
    assert shortened("x" * 255) == "x" * 255
    assert shortened("x" * 254 + "é") == "x" * 254
