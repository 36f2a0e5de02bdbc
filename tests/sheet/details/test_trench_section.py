"""Cross-section of a trench: to scale, every pipe in it, legible for every kind."""

from __future__ import annotations

from dataclasses import replace

import pytest
from campaign import thorough
from drawn_once import compose
from legible import plot_faults
from shapely import Polygon as Area
from sheet_lots import rural, suburban

from siteplan.earthwork.bedding import sand_area
from siteplan.earthwork.excavation import heap_width, strip_width, working_width
from siteplan.sheet.details.trench import section_block
from siteplan.sheet.model import Hatch, Polygon, Polyline, Text
from siteplan.site.sheet_options import SheetOptions
from siteplan.site.trench_kinds import trench_kinds

FT = 0.3048


def lot_with(kind, **options):
    """The rural lot, its trenches of one kind."""
    content = rural(sheet=SheetOptions("Arch D"))
    wanted = content.site.exchanger
    horizontal = replace(
        wanted.horizontal,
        kind=kind.name,
        pipes=kind.pipes,
        **{"width_m": kind.width_m, "depth_m": kind.depth_m, **options},
    )
    site = replace(content.site, exchanger=replace(wanted, horizontal=horizontal))
    return replace(content, site=site)


def block_of(kind, **options):
    block = section_block(lot_with(kind, **options), 100.0, 36.0)
    assert block is not None
    return block


@pytest.mark.parametrize("name", [*[*trench_kinds()][::2], *map(thorough, [*trench_kinds()][1::2])])
def test_a_sheet_with_the_section_of_any_kind_has_no_faults(name):
    sheet = compose(lot_with(trench_kinds()[name]))
    assert any(text.text.startswith("TRENCH SECTION") for text in sheet.of_type(Text))
    assert plot_faults(sheet) == ()


@pytest.mark.parametrize("name", ["one pipe", "four pipes", "six pipes"])
def test_every_pipe_is_a_dot_at_its_place(name):
    kind = trench_kinds()[name]
    dots = [item for item in block_of(kind).items if isinstance(item, Polygon)]
    assert len(dots) == kind.pipes
    middles = sorted(sum(x for x, _ in dot.rings[0]) / len(dot.rings[0]) for dot in dots)
    wide = max(aside for aside, _ in kind.at) - min(aside for aside, _ in kind.at)
    ratio = ratio_of(block_of(kind))
    assert middles[-1] - middles[0] == pytest.approx(wide * 1000 / ratio, abs=1e-6)


def ratio_of(block):
    """Ratio at which a block is drawn: the one it says, before Arch D enlarges it 1.3 times."""
    said = next(i.text for i in block.items if isinstance(i, Text) and i.text.startswith("SCALE"))
    return 1.3 * float(said.rpartition("1:")[2])


def test_the_hole_is_as_deep_and_wide_as_the_stated_scale_says():
    kind = trench_kinds()["two pipes side by side"]
    block = block_of(kind)
    hole = next(
        item for item in block.items if isinstance(item, Polyline) and item.style == "section-hole"
    )
    xs, ys = zip(*hole.points, strict=True)
    scale = 1000 / ratio_of(block)
    assert max(ys) - min(ys) == pytest.approx(5 * FT * scale)
    assert max(xs) - min(xs) == pytest.approx(2 * FT * scale)


def test_sloped_sides_open_the_ground_as_wide_as_the_standard_asks():
    # 29 CFR 1926 Subpart P App. B Table B-1: soil C, 1.5 to 1: 2 ft + 2 x 1.5 x 6 ft = 20 ft
    kind = trench_kinds()["four pipes"]
    content = lot_with(kind, soil="C", protection="slope")
    options = content.site.exchanger.horizontal
    assert strip_width(options) == pytest.approx(20 * FT)
    block = section_block(content, 100.0, 36.0)
    assert "6.1 m" in [item.text for item in block.items if isinstance(item, Text)]


def test_spoil_stands_two_feet_off_the_edge():
    # 29 CFR 1926.651(j)(2): 2 ft
    options = lot_with(trench_kinds()["two pipes side by side"]).site.exchanger.horizontal
    heap = heap_width(options)
    assert working_width(options) - strip_width(options) - heap == pytest.approx(2 * FT)


def test_bores_have_no_trench_section():
    assert section_block(suburban(), 100.0, 36.0) is None


@pytest.mark.parametrize(
    "more", [{}, {"soil": "B", "protection": "slope"}], ids=["upright", "sloped"]
)
@pytest.mark.parametrize("kind", trench_kinds().values(), ids=lambda kind: kind.name)
def test_as_much_sand_is_hatched_as_is_taken_off(kind, more):
    content = lot_with(kind, **more)
    block = section_block(content, 140.0, 36.0)
    ratio = ratio_of(block)
    beds = [item for item in block.items if isinstance(item, Hatch)]
    hatched = sum(Area(ring).area for item in beds for ring in item.rings)
    wanted = sand_area(content.site.exchanger.horizontal) * (1000 / ratio) ** 2
    assert hatched == pytest.approx(wanted)


def section_words(**options):
    block = block_of(trench_kinds()["two pipes stacked"], **options)
    return " ".join(item.text for item in block.items if isinstance(item, Text))


def test_a_trench_too_narrow_to_enter_has_its_pipe_laid_from_above():
    # common practice, no source: nobody, and no shield, finds room in less than 2 ft
    found = section_words(width_m=1 * FT, depth_m=5 * FT)
    assert "Shield or shore from 1.5 m depth on. No entry: lay the pipe from above" in found
    assert "lay the pipe from above" in found


def test_a_trench_with_room_for_somebody_says_nothing_of_laying_from_above():
    assert "from above" not in section_words(width_m=2 * FT, depth_m=5 * FT)


def test_sloped_sides_make_room_to_enter_a_narrow_trench():
    sloped = section_words(width_m=1 * FT, depth_m=6 * FT, protection="slope", soil="B")
    assert "from above" not in sloped
