"""Frost, cover and the temperature that a pipe sees, worked by hand."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from wording import in_words

from siteplan.advisories.depth import pipe_depths, uppermost_depth
from siteplan.available.prepared import lot_of
from siteplan.design.evaluate import try_system
from siteplan.errors import InputError
from siteplan.findings.model import Finding
from siteplan.site.model import HorizontalOptions, Site
from siteplan.site.readers.site_file import read_site
from siteplan.site.trench_kinds import trench_kinds
from siteplan.units.systems import UNIT_SYSTEMS

FT = 0.3048
STACKED = 'kind = "two pipes stacked"\ndepth = "6 ft"\n'
YEAR = """
[ground]
temperature = "51 °F"
swing = "22 °F"
coldest_day = "3 February"
diffusivity = "0.6 ft2/day"
"""
Make = Callable[[str], Site]


@pytest.fixture
def make(lot_text: str, write_site: Callable[..., Path]) -> Make:
    def built(tables: str) -> Site:
        own = 'length = { given = "300 ft", by = "test" }'
        text = lot_text.replace('capacity = "2 ton"', own)
        return read_site(write_site(text + tables))

    return built


def found(site: Site, code: str, system: str = "horizontal") -> list[Finding]:
    trial = try_system(lot_of(site), system)  # type: ignore[arg-type]
    return [one for one in trial.findings if one.code == code]


def dug(kind: str) -> HorizontalOptions:
    one = trench_kinds()[kind]
    return HorizontalOptions(3.0, one.depth_m, one.width_m, one.pipes, 9.0, kind=kind)


@pytest.mark.parametrize(
    ("kind", "upper_ft", "depths_ft"),
    [
        # 5 ft deep, pipe 3 in above the bottom
        ("two pipes side by side", 4.75, [4.75]),
        # 6 ft deep, pipes 27 and 3 in above the bottom
        ("six pipes", 3.75, [3.75, 5.75]),
        # 7 ft deep, rings of 3 ft on edge from 3 in above the bottom: middle 1 ft 9 in above it
        ("upright coil", 3.75, [5.25]),
        ("flat coil", 4.75, [4.75]),
    ],
)
def test_pipe_lies_as_deep_as_its_kind_says(
    kind: str, upper_ft: float, depths_ft: list[float]
) -> None:
    assert uppermost_depth(dug(kind)) == pytest.approx(upper_ft * FT)
    assert pipe_depths(dug(kind)) == pytest.approx([depth * FT for depth in depths_ft], abs=1e-6)


def test_a_pipe_above_the_frost_line_is_a_warning_that_says_how_deep(make: Make) -> None:
    # stacked: 3.75 ft; frost to 4 ft: a quarter of a foot deeper, 6.25 ft, told as 6.3 ft
    site = make(f'[ground]\nfrost = "4 ft"\n[horizontal]\n{STACKED}')
    (finding,) = found(site, "pipe-in-frost")
    assert finding.severity == "warning"
    assert "lies 3.7 ft deep, the ground freezes to 4.0 ft" in in_words(finding)
    assert "make the trench 6.3 ft deep" in in_words(finding)


def test_advice_to_dig_deeper_says_what_sloped_sides_then_open(make: Make) -> None:
    # stacked, 1 ft wide: 6.25 ft deep instead of 6 ft; soil B, 1 to 1 (29 CFR 1926 Subpart P
    # App. B Table B-1): 1 + 2 x 6.25 = 13.5 ft instead of 1 + 2 x 6 = 13 ft
    sloped = f'{STACKED}soil = "B"\nprotection = "slope"\n'
    (finding,) = found(make(f'[ground]\nfrost = "4 ft"\n[horizontal]\n{sloped}'), "pipe-in-frost")
    assert "6.3 ft deep (sloped sides then open 13.5 ft of ground, not 13.0 ft" in in_words(finding)


def test_upright_sides_open_no_more_when_dug_deeper(make: Make) -> None:
    site = make(f'[ground]\nfrost = "4 ft"\n[horizontal]\n{STACKED}')
    assert "open" not in in_words(found(site, "pipe-in-frost")[0])


@pytest.mark.parametrize(
    ("kind", "depth"),
    [("two pipes side by side", 5.0), ("two pipes stacked", 6.5), ("upright coil", 7.5)],
)
def test_trenches_of_which_nobody_says_the_depth_lay_all_pipe_below_the_frost(
    make: Make, kind: str, depth: float
) -> None:
    # pipe reaches 3, 27 and 39 in above the bottom: below 4 ft at 4.25, 6.25 and 7.25 ft, dug by
    # half feet; the first is 5 ft deep anyhow. Below the frost line: common practice, no source
    site = make(f'[ground]\nfrost = "4 ft"\n[horizontal]\nkind = "{kind}"\n')
    assert site.exchanger.horizontal.depth_m == pytest.approx(depth * FT)
    assert not found(site, "pipe-in-frost")
    told = [in_words(finding) for finding in found(site, "deeper-for-frost")]
    assert [f"Trenches are {depth} ft deep, not" in words for words in told] == [True] * len(told)
    assert len(told) == (depth > 5.0)


@pytest.mark.parametrize("unit", ["ft", "m"])
@pytest.mark.parametrize("frost_m", [0.3, 1.0, 1.5])
def test_each_kind_lies_below_the_frost_and_no_step_deeper_than_it_must(
    unit: str, frost_m: float
) -> None:
    # half a foot or a quarter of a metre: common practice, no source
    step_m = {"ft": 0.1524, "m": 0.25}[unit]
    for kind in trench_kinds().values():
        depth_m = kind.depth_below(frost_m, UNIT_SYSTEMS[unit])
        assert depth_m - kind.height_m >= frost_m - 1e-6
        assert depth_m == kind.depth_m or depth_m - kind.height_m < frost_m + step_m


def test_pipe_and_header_below_the_frost_line_are_no_finding(make: Make) -> None:
    # two pipes side by side: 4.75 ft; the header 6 in deeper than the frost, where nobody says
    # otherwise, with pipe no larger than 2-1/2 in 3 in above its bottom: 2.875 in across
    site = make('[ground]\nfrost = "4 ft"\n')
    assert not found(site, "pipe-in-frost")
    assert not found(site, "header-in-frost")


@pytest.mark.parametrize("system", ["horizontal", "vertical"])
def test_a_header_above_the_frost_line_is_a_warning(make: Make, system: str) -> None:
    site = make('[ground]\nfrost = "4.5 ft"\n[header]\ndepth = "4 ft"\n')
    (finding,) = found(site, "header-in-frost", system)
    # 4 ft less 3 in and 1.05 in of pipe (3/4 in) or 1.315 in (1 in), rounded down: 3.6 ft;
    # 4.5 ft more those 4.05 in or 4.32 in, rounded up: 4.9 ft
    assert "pipe lies 3.6 ft deep, the ground freezes to 4.5 ft" in in_words(finding)
    assert "make its trench 4.9 ft deep" in in_words(finding)


def test_a_header_trench_just_as_deep_as_the_frost_has_its_pipe_in_it(make: Make) -> None:
    site = make('[ground]\nfrost = "4 ft"\n[header]\ndepth = "4 ft"\n')
    assert found(site, "header-in-frost")


def test_less_cover_than_common_practice_is_a_warning(make: Make) -> None:
    # 5 ft deep, uppermost pipe 27 in above the bottom: 2.75 ft; 0.25 ft more are 5.25 ft
    site = make('[horizontal]\nkind = "four pipes"\ndepth = "5 ft"\n')
    (finding,) = found(site, "cover")
    assert "has 2.7 ft of cover; 3.0 ft is common practice: make the trench 5.3 ft" in (
        in_words(finding)
    )
    assert finding.rule == "common practice, no source"
    assert not found(make('[horizontal]\nkind = "four pipes"\n'), "cover")


def test_the_note_says_what_the_pipe_sees(make: Make) -> None:
    # Kusuda: damping depth (0.6 x 365 / pi)^0.5 = 8.349 ft; at 4.75 ft 22 exp(-0.5689) = 12.46 °F:
    # 38.5 to 63.5 °F. Lag 0.5689 x 365 / 2 pi = 33.05 d: day 34 + 33 = 67, 8 March; half a year on,
    # day 249.6, 7 September. 1.8 °F of swing at 8.349 ln(22 / 1.8) = 20.9 ft.
    (finding,) = found(make(YEAR), "ground-temperature")
    assert finding.severity == "note"
    assert in_words(finding) == (
        "At 4.8 ft the ground is 38.5 °F on its coldest day (8 March) and 63.5 °F on its warmest "
        "(7 September); the swing falls below 1.8 °F at 21 ft: the ground at the pipe is not a "
        "constant 51.0 °F."
    )


def test_every_row_of_pipe_has_its_own_temperatures(make: Make) -> None:
    # 3.75 ft: 22 exp(-0.4492) = 14.04 °F; 5.75 ft: 22 exp(-0.6887) = 11.05 °F
    (finding,) = found(make(YEAR + '[horizontal]\nkind = "six pipes"\n'), "ground-temperature")
    assert "37.0 °F on its coldest" in in_words(finding)
    assert "40.0 °F on its coldest" in in_words(finding)


def test_ground_no_warmer_than_the_fluid_is_a_warning(make: Make) -> None:
    # 38.5 °F at the pipe; fluid at 40 °F gets no heat, fluid at 32 °F does
    assert not found(make(YEAR), "ground-colder-than-fluid")
    assert found(make(YEAR + '[fluid]\ncoldest = "40 °F"\n'), "ground-colder-than-fluid")


def test_nothing_is_said_of_a_year_that_is_not_stated(make: Make) -> None:
    assert not found(make('[ground]\nfrost = "3 ft"\n'), "ground-temperature")


def test_ground_without_loads_stops_nothing_and_is_told_to_be_unused(make: Make) -> None:
    site = make('[ground]\ntemperature = "51 °F"\nsoil = "granite"\n[fluid]\nwarmest = "90 °F"\n')
    assert site.exchanger.idle == ("[ground] temperature", "[ground] soil", "[fluid] warmest")
    assert make(YEAR).exchanger.idle == ()
    assert found(make('[ground]\ntemperature = "51 °F"\n'), "stated-and-not-used")


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ('swing = "22 °F"', r"temperature: is missing"),
        ('swing = "22 °F"\ntemperature = "51 °F"', r"coldest_day: is missing"),
        ('frots = "4 ft"', r"did you mean 'frost'"),
        ('frost = "-1 ft"', r"\[ground\], frost"),
        ('swing = "90 °F"', r"swing: '90 °F' is out of range. Give 0.18 °F to 54 °F"),
        ('coldest_day = "31 February"', r"'31 February' is no day of a year; write '3 February'"),
        ("coldest_day = 400", r"400 is no day of a year"),
    ],
)
def test_a_faulty_ground_is_told(make: Make, table: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        make(f"[ground]\n{table}\n")
