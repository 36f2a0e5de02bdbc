"""Kinds of trench: what lies in them, and how a site file chooses one."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import pytest
from shapely import LineString

from siteplan.errors import InputError
from siteplan.layout.elements import Trench
from siteplan.site.model import HorizontalOptions
from siteplan.site.readers.site_file import read_site
from siteplan.site.trench_kinds import trench_kinds

FT, INCH = 0.3048, 0.0254


@pytest.fixture
def options_of(lot_text: str, write_site: Callable[..., Path]):
    def read(tables: str) -> HorizontalOptions:
        text = f"{lot_text}\n[horizontal]\n{tables}\n"
        return read_site(write_site(text)).exchanger.horizontal

    return read


@pytest.mark.parametrize("kind", trench_kinds().values(), ids=lambda kind: kind.name)
def test_every_pipe_lies_within_its_trench(kind):
    assert all(abs(aside) < kind.width_m / 2 for aside, _ in kind.at)
    assert kind.height_m < kind.depth_m
    if kind.coil is not None and kind.coil.lies == "flat":
        assert kind.coil.diameter_m <= kind.width_m


def test_two_pipes_lie_as_a_public_text_has_them():
    # a text of the US Department of Energy: side by side at 5 ft in a trench 2 ft wide; or at 6
    # and 4 ft; trenches at least 4 ft deep
    beside, stacked = trench_kinds()["two pipes side by side"], trench_kinds()["two pipes stacked"]
    assert (beside.width_m, beside.depth_m) == pytest.approx((2 * FT, 5 * FT))
    (_, low), (_, high) = stacked.at
    assert stacked.depth_m == pytest.approx(6 * FT)
    assert high - low == pytest.approx(2 * FT)
    assert min(kind.depth_m for kind in trench_kinds().values()) >= 4 * FT


def test_pipe_of_a_coil_is_a_ring_and_its_pitch_for_every_pitch():
    # rings of 36 in, 18 in apart: (pi 36 + 18) / 18 = 7.283 ft of pipe in a foot of trench
    kind = trench_kinds()["upright coil"]
    assert kind.pipe_per_m == pytest.approx((math.pi * 36 + 18) / 18)
    line = LineString([(0, 0), (10, 0)])
    trench = Trench("T1", line, kind.width_m, kind.depth_m, kind.pipes, kind.name)
    assert trench.pipe_m == pytest.approx(72.83, abs=0.01)


def test_the_usual_kind_is_two_pipes_side_by_side(options_of):
    options = options_of("")
    assert (options.kind, options.pipes) == ("two pipes side by side", 2)
    assert options.depth_m == pytest.approx(5 * FT)


def test_a_kind_brings_its_own_width_and_depth(options_of):
    options = options_of('kind = "upright coil"')
    assert options.width_m == pytest.approx(8 * INCH)
    assert options.depth_m == pytest.approx(7 * FT)
    assert options_of('kind = "upright coil"\nwidth = "1 ft"').width_m == pytest.approx(FT)


def test_a_number_of_pipes_chooses_a_kind(options_of):
    assert options_of("pipes = 6").kind == "six pipes"
    assert options_of("pipes = 4").pipes == 4


@pytest.mark.parametrize(
    ("tables", "message"),
    [
        ("pipes = 3", r"pipes: of 3 are in no kind of trench. Give one of 1, 2, 4, 6"),
        ('kind = "four pipes"\npipes = 6', r"of 6 does not go with kind 'four pipes', 4"),
        ('protection = "slope"', r"protection: is slope, but the soil is not stated"),
        ('kind = "four pipe"', r"did you mean 'four pipes'"),
        ('kind = "upright coil"\ndepth = "3 ft"', r"depth: of 3.0 ft does not hold the pipe"),
    ],
)
def test_what_does_not_go_together_is_refused(options_of, tables, message):
    with pytest.raises(InputError, match=message):
        options_of(tables)


@pytest.mark.parametrize(
    ("more", "kind", "longest_ft"),
    [
        # 95 % of 700 ft of 1 in pipe in rings of 36 in, 18 in apart: 665/((36 pi + 18)/18) = 91.3
        ("", "upright coil", 91),
        # rings of 33 in: 665/((33 pi + 18)/18) = 98.4
        ("", "flat coil", 98),
        ('[circuits]\nlongest = "500 ft"\n', "upright coil", 65),  # 475/7.283 = 65.2
        ('[circuits]\npipe = "2 in"\n', "upright coil", 300),
        ('longest = "120 ft"\n', "upright coil", 120),
        ("", "four pipes", 300),
    ],
)
def test_a_trench_of_coils_is_one_circuit_of_pipe_that_can_be_wound(
    lot_text, write_site, more, kind, longest_ft
):
    text = f'{lot_text}[horizontal]\nkind = "{kind}"\n{more}'
    options = read_site(write_site(text)).exchanger.horizontal
    assert options.longest_m == pytest.approx(longest_ft * 0.3048, abs=1e-6)
