"""Sand in a trench, worked by hand: 3 in below to 6 in above each layer of pipe.

Common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from siteplan.earthwork.bedding import sand_area, sand_layers
from siteplan.earthwork.excavation import section_area
from siteplan.site.model import HorizontalOptions
from siteplan.site.trench_kinds import trench_kinds

FT, INCH = 0.3048, 0.0254


def trench(kind: str, **more: object) -> HorizontalOptions:
    one = trench_kinds()[kind]
    options = HorizontalOptions(3.0, one.depth_m, one.width_m, one.pipes, 0.0, kind=kind)
    return replace(options, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("kind", ["one pipe", "two pipes side by side", "flat coil", "wide pit"])
def test_pipes_on_one_level_lie_in_one_layer_of_nine_inches(kind: str) -> None:
    assert sand_layers(trench(kind)) == (pytest.approx((0.0, 9 * INCH)),)


@pytest.mark.parametrize("kind", ["two pipes stacked", "four pipes", "six pipes"])
def test_two_levels_have_a_layer_each_with_native_soil_between(kind: str) -> None:
    # 3 in and 27 in above the bottom
    low, high = sand_layers(trench(kind))
    assert low == pytest.approx((0.0, 9 * INCH))
    assert high == pytest.approx((24 * INCH, 33 * INCH))


def test_a_coil_on_edge_lies_in_one_layer_over_its_height() -> None:
    # rings of 36 in from 3 in above the bottom: to 39 + 6 = 45 in
    assert sand_layers(trench("upright coil")) == (pytest.approx((0.0, 45 * INCH)),)


def test_two_layers_of_sand_in_an_upright_trench_are_added_up() -> None:
    # six pipes, 3 ft wide: 2 x 0.75 ft x 3 ft = 4.5 sq ft
    assert sand_area(trench("six pipes")) == pytest.approx(4.5 * FT**2)


def test_sand_between_sloped_sides_is_as_wide_as_the_sides_are_apart() -> None:
    # six pipes, soil B, 1 to 1, 3 ft at the bottom of 6 ft: 0 to 0.75 ft up 3 to 4.5 ft wide, 2 to
    # 2.75 ft up 7 to 8.5 ft wide: 0.75 x 3.75 + 0.75 x 7.75 = 8.625 sq ft
    options = trench("six pipes", soil="B", protection="slope")
    assert sand_area(options) == pytest.approx(8.625 * FT**2)


def test_no_sand_stands_above_the_ground() -> None:
    # 2 ft deep: the upper pipe at 27 in lies above it, so only the lower layer is left
    assert sand_layers(trench("two pipes stacked", depth_m=2 * FT)) == (
        pytest.approx((0.0, 9 * INCH)),
    )


@pytest.mark.parametrize("kind", trench_kinds())
def test_there_is_never_more_sand_than_is_dug(kind: str) -> None:
    options = trench(kind)
    assert 0.0 < sand_area(options) < section_area(options)
