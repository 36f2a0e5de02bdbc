"""A metric plan speaks of metres alone: no feet, inches or Fahrenheit but the sizes of pipe."""

import re
from collections.abc import Iterator
from dataclasses import replace

import pytest
from drawn_once import compose_set
from legible import sheet_texts
from planned import in_full, planned
from shapely import LineString
from wording import in_words

from siteplan.advisories.machines import rig_remarks
from siteplan.advisories.pipes import pipe_remarks
from siteplan.available.prepared import lot_of
from siteplan.cli import main
from siteplan.export.takeoff import takeoff_csv
from siteplan.findings.model import Finding, reason
from siteplan.findings.words import figure_words, words_of
from siteplan.hydraulics.pipes import pipes
from siteplan.plan import SitePlan, plan_site
from siteplan.quantities.take_off import take_off
from siteplan.report.pipe_words import circuit_words, flow_words
from siteplan.sheet.details.trench import section_block
from siteplan.sheet.model import Text
from siteplan.sheet.tables.circuits import circuits_block
from siteplan.sheet.tables.elements import elements_block
from siteplan.sheet.tables.header import header_pieces_block
from siteplan.sheet.tables.notes import notes
from siteplan.sheet.tables.pipes import TAKE_OFF, pipes_blocks
from siteplan.sheet.tables.reasoning import reasoning_block
from siteplan.sheet.tables.separations import basis_block
from siteplan.sheet.tables.staking import staking_block
from siteplan.site.model import Feature
from siteplan.site.readers.site_file import read_site
from siteplan.units.systems import METRIC

FOREIGN = re.compile(
    r"\d\)? (ft|in(?! the )|°?F|gal|gpm|MBH)\b|\b(feet|foot|inch|inches)\b|\d'(?!')"
)
SIZES = re.compile(
    rf"(?<![\d/-])(?:{'|'.join(map(re.escape, reversed(pipes())))})(?=$|[,;.:]| pipe| PIPE| and \d)"
)
"""Sizes of pipe where they stand as such, not before a word of place as in "3 in below"."""
LOT = """
[project]
title = "Trench loop, Feldweg 3"
owner = "A. Owner"
date = 2026-03-14
units = "m"
[geometry]
parcel = [[0, 0], [46, 0], [46, 50], [0, 50]]
[[feature]]
id = "street"
kind = "street"
line = [[-10, -4], [60, -4]]
[[feature]]
id = "house"
kind = "building"
area = [[16, 4], [28, 4], [28, 11], [16, 11]]
[[entry]]
id = "rear"
at = [22, 11]
[exchanger]
system = "horizontal"
capacity = "8 kW"
[horizontal]
spacing = "3 m"
depth = "1.2 m"
width = "0.6 m"
kind = "two pipes stacked"
length = { given = "300 m", by = "designer, load calculation" }
[fluid]
mixture = "water"
[ground]
frost = "1 m"
temperature = "10 C"
swing = "10 K"
coldest_day = "4 February"
diffusivity = "0.06 m2/day"
"""


@pytest.fixture(scope="module")
def trenches(tmp_path_factory) -> SitePlan:
    path = tmp_path_factory.mktemp("lot") / "site.toml"
    path.write_text(LOT, encoding="utf-8")
    return plan_site(read_site(path))


@pytest.fixture(scope="module")
def wells() -> SitePlan:
    return planned("good-aquifer")


def blocks(plan: SitePlan) -> Iterator[str]:
    """Text of tables, apart from the sources of rules, which stand as printed."""
    content, width = plan.content(), 160.0
    found = [
        elements_block(content, width, 60), basis_block(content, width),
        circuits_block(content, width), header_pieces_block(content, width),
        reasoning_block(content, width), staking_block(content, width),
        section_block(content, width, 36.0), *pipes_blocks(content, width, TAKE_OFF),
    ]  # fmt: skip
    for block in found:
        yield from (one.text for one in (block.items if block else ()) if isinstance(one, Text))


def words(plan: SitePlan) -> list[str]:
    content = plan.content()
    lines = [" ".join(figure_words(figure, METRIC)) for figure in content.required.figures]
    return [
        content.verdict, words_of(content.required.reason, METRIC), *lines, *notes(content),
        *(in_words(one, METRIC) for one in content.findings), *blocks(plan),
        circuit_words(content.layout, METRIC), flow_words(content.layout, METRIC),
        *takeoff_csv(content.site, content.layout).splitlines(),
    ]  # fmt: skip


def foreign(texts) -> list[str]:
    return [text for text in texts if FOREIGN.search(SIZES.sub("", text))]


def test_the_search_finds_feet_inches_and_fahrenheit_but_no_pipe():
    assert foreign(["dig 5 ft deep", "3 in below", "at 32 °F", "12.5' wide", "a few feet"]) == [
        "dig 5 ft deep", "3 in below", "at 32 °F", "12.5' wide", "a few feet",
    ]  # fmt: skip
    assert foreign(["6 circuits of 1-1/4 in, 60 m", "3/4 in pipe", "811 in the US"]) == []


def test_a_metric_plan_of_trenches_speaks_of_metres_alone(trenches):
    found = words(trenches)
    assert {"cover", "ground-temperature", "freezing"} <= {
        one.code for one in trenches.drawn.findings
    }
    assert foreign(found) == []


def test_a_metric_plan_of_wells_speaks_of_metres_alone(wells):
    assert foreign(words(wells)) == []


def test_the_terminal_report_of_a_metric_lot_speaks_of_metres_alone(tmp_path, capsys):
    path = tmp_path / "site.toml"
    path.write_text(LOT, encoding="utf-8")
    main(["fit", str(path)])
    report = capsys.readouterr().out
    # rules stand as their book prints them
    told = [line for line in report.splitlines() if "common-practice:" not in line]
    assert foreign(told) == []


def test_too_much_flow_for_the_largest_pipe_is_told_in_metres(trenches):
    layout = trenches.drawn.layout
    piping = replace(layout.piping, oversize=True)
    found = pipe_remarks(trenches.site, replace(layout, piping=piping))
    told = [in_words(one, METRIC) for one in found if one.code == "header-too-small"]
    assert len(told) == 1
    assert foreign(told) == []


@pytest.mark.parametrize("voltage", [None, 13_800.0])
def test_the_clearance_below_a_power_line_is_told_in_metres(trenches, voltage):
    access = replace(
        trenches.drawn.layout.access, machine="rig", path=LineString([(5, -4), (5, 30)])
    )
    line = Feature("oh", "overhead power line", LineString([(-5, 2), (50, 2)]), voltage_v=voltage)
    site = replace(trenches.site, features=(*trenches.site.features, line))
    layout = replace(trenches.drawn.layout, access=access)
    found: list[Finding] = list(rig_remarks(lot_of(site), layout))
    told = [in_words(one, METRIC) for one in found if one.code == "rig-under-line"]
    assert len(told) == 1
    assert foreign(told) == []


def test_metric_distances_from_lines_are_no_less_than_the_rule_prints(wells):
    # 20 ft = 6.096 m, 10 ft = 3.048 m; 2 ft = 0.6096 m: rounded up
    found = " ".join(notes(wells.content()))
    assert "machines stay 6.1 m away, 3.1 m up to 50 kV" in found


def test_the_summary_has_the_antifreeze_of_the_take_off():
    plan = planned("rural-acre")
    summary = plan.summary()
    bought = next(row for row in summary["take_off"] if row["item"] == "antifreeze, pure")
    # a gallon is 3.785411784 L
    assert summary["flow"]["antifreeze_l"] == pytest.approx(bought["quantity"] * 3.785411784)
    assert any(one.what == "antifreeze, pure" for one in take_off(plan.site, plan.drawn.layout))


def test_a_length_has_two_decimals_and_the_safe_side_wherever_it_stands():
    # 6 ft are 1.8288 m (the foot of 0.3048 m is exact): room for a machine up, a height nobody
    # may exceed down
    sides = {"width_m": 3.048, "length_m": 6.096, "height_m": 1.8288}
    told = words_of(reason("seq-spoil-place", **sides), METRIC)
    assert "1.82 m high at most" in told
    assert "3.05 m x 6.1 m" in told
    way = {"machine": "rig", "x_m": 1.0, "y_m": 2.0, "street": "Drive", "length_m": 12.0}
    assert "1.83 m clear" in words_of(reason("seq-way-in", width_m=1.8288, **way), METRIC)


US_RULES = re.compile(
    r"29 CFR|UFGS|Minn\. R\.|Mission Hills",
)
"""Rules of the United States that a sheet cites; they bind nowhere else."""


def cited(plan):
    """Each rule of the United States that the full set of sheets cites, and what stands before."""
    sheets = compose_set(in_full(plan).content())
    texts = [text.text for sheet in sheets for text in sheet_texts(sheet)]
    said = " ".join(texts).replace("\u00a0", " ")
    return [said[max(0, place.start() - 13) : place.end()] for place in US_RULES.finditer(said)]


def test_a_metric_sheet_names_rules_of_the_united_states_as_practice_there(trenches):
    found = cited(trenches)
    assert len(found) >= 4
    assert [each for each in found if not each.startswith("US practice, ")] == []
    assert any("They bind there alone" in note for note in notes(trenches.content()))


def test_a_sheet_of_the_united_states_names_its_own_rules_as_they_are():
    plan = planned("small-suburban")
    assert cited(plan)
    assert not any("US practice" in each for each in cited(plan))
    assert not any("US PRACTICE" in note for note in notes(plan.content()))
