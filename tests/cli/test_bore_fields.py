"""Bore fields end to end: from the lines of a site file to the permit package."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from places import ROOT
from wording import in_words

from siteplan.available.prepared import lot_of
from siteplan.cli import main
from siteplan.design.evaluate import try_system
from siteplan.plan import plan_site
from siteplan.site.readers.site_file import read_site

pytestmark = pytest.mark.usefixtures("coarse")

FOOT = 0.3048
SCHEMA = json.loads((ROOT / "tests/references/summary.schema.json").read_text(encoding="utf-8"))
GRID = "[vertical.grid]\nrows = 2\ncolumns = 3\nspacing = 20\nrow_spacing = 25\n"
LENGTH = 'length = { given = "1500 ft", by = "a calculation" }'

Write = Callable[..., Path]
Run = Callable[[str], tuple[int, dict[str, Any]]]


def site_text(lot_text: str, lines: str) -> str:
    text = lot_text.replace('capacity = "2 ton"', LENGTH)
    return f'{text}\n[vertical]\n{lines}\n[rig]\naccess = "anywhere"\n'


@pytest.fixture
def run(
    lot_text: str, write_site: Write, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> Run:
    """Function that plans the small lot by command line, with some lines under [vertical]."""

    def running(lines: str) -> tuple[int, dict[str, Any]]:
        site, folder = write_site(site_text(lot_text, lines)), tmp_path / "p"
        words = ["plan", str(site), "--system", "vertical", "--out", str(folder), "--json"]
        code = main(words)
        assert (folder / "plan.pdf").exists()
        return code, checked(json.loads(capsys.readouterr().out))

    return running


@pytest.fixture
def plan(lot_text: str, write_site: Write) -> Run:
    """The same without the drawing."""

    def planning(lines: str) -> tuple[int, dict[str, Any]]:
        made = plan_site(read_site(write_site(site_text(lot_text, lines))), system="vertical")
        return (0 if made.fits else 1), checked(made.summary())

    return planning


def checked(summary: dict[str, Any]) -> dict[str, Any]:
    """Summary that keeps its schema."""
    jsonschema.validate(summary, SCHEMA)
    return summary


def codes(summary: dict[str, Any]) -> set[str]:
    return {finding["code"] for finding in summary["findings"]}


@pytest.mark.thorough
def test_a_count_gives_so_many_bores_that_carry_the_length(run: Run) -> None:
    code, summary = run("count = 6")
    # 1,500 ft / 6 = 250 ft
    assert code == 0
    assert [one["id"] for one in summary["elements"]] == ["B1", "B2", "B3", "B4", "B5", "B6"]
    assert {round(one["depth_m"] / FOOT, 2) for one in summary["elements"]} == {250.0}


def test_a_fixed_depth_gives_as_few_bores_as_carry_the_length(plan: Run) -> None:
    code, summary = plan('depth = "220 ft"')
    # 1,500 / 220 = 6.8
    assert (code, len(summary["elements"])) == (0, 7)
    assert summary["length_provided_m"] == pytest.approx(7 * 220 * FOOT, abs=1e-4)


def test_more_bores_than_the_least_depth_needs_are_remarked(plan: Run) -> None:
    code, summary = plan("count = 12")
    # 1,500 / 12 = 125 ft, the least depth is 150 ft; the circuit of 1 in pipe, 700 ft, goes 350 ft
    # down and up again: 1,500 / 350 = 4.3
    (words,) = [one["message"] for one in summary["findings"] if one["code"] == "bores-to-spare"]
    assert code == 0
    assert words == (
        "12 bores would carry the length at 125 ft each, less than the minimum depth of 150 ft: "
        "5 would do."
    )


def test_the_spacing_used_is_reported_and_never_less_than_asked(plan: Run) -> None:
    _, summary = plan("spacing = 20")
    assert 20 * FOOT <= summary["spacing_m"] <= 25 * FOOT
    assert "wider-spacing" in codes(summary)
    _, summary = plan("spacing = { least = 20, most = 20 }")
    assert summary["spacing_m"] == pytest.approx(20 * FOOT)
    assert "wider-spacing" not in codes(summary)


def test_a_grid_typed_at_the_spacing_asked_for_leaves_nothing_for_staking(
    lot_text: str, write_site: Write
) -> None:
    # with 0.5 ft of allowance on top of 20 ft a grid of 20.5 ft has it, one of 20 ft has not
    staked = lot_text.replace('allowance = "0 ft"', 'allowance = "0.5 ft"')
    told = []
    for spacing in (20, 20.5):
        grid = f"spacing = 20\ngrid = {{ rows = 1, columns = 3, spacing = {spacing} }}"
        trial = try_system(lot_of(read_site(write_site(site_text(staked, grid)))), "vertical")
        told.append("grid-without-allowance" in {finding.code for finding in trial.findings})
    assert told == [True, False]


def test_the_limit_of_bores_is_said_where_the_lot_does_not_hold_enough(
    lot_text: str, write_site: Write
) -> None:
    site = read_site(write_site(site_text(lot_text, "spacing = 60\ncount = 20")))
    trial = try_system(lot_of(site), "vertical")
    assert not trial.fits
    assert trial.layout is not None
    assert trial.layout.most is not None
    assert len(trial.layout.elements) < trial.layout.most < 20
    assert f"no arrangement holds more than {trial.layout.most}; 20 asked for" in in_words(
        trial.why
    )
    (words,) = [in_words(one) for one in trial.findings if one.code == "most-bores"]
    assert "Even a perfect packing reaches only about 0.92 of this bound" in words


def test_a_typed_grid_that_keeps_every_rule_stands_where_it_was_typed(plan: Run) -> None:
    code, summary = plan(GRID + 'corner = [120, 110]\nalong = "N 90 E"')
    assert code == 0
    first, last = summary["elements"][0], summary["elements"][-1]
    assert (first["x_m"], first["y_m"]) == pytest.approx((120 * FOOT, 110 * FOOT), abs=1e-4)
    assert (last["x_m"], last["y_m"]) == pytest.approx((120 * FOOT, 135 * FOOT), abs=1e-4)


@pytest.mark.thorough
def test_a_typed_grid_that_breaks_setbacks_is_a_result_that_names_each_bore(run: Run) -> None:
    # towards the west from (50, 140): B3 and B4 stand 10 ft from the line, less half a bore of
    # 6 in; the well is at (20, 180), so that B2 and B3 stand hypot(10, 40) = 41.23 ft from it and
    # B1 hypot(30, 40) = 50 ft, each less 0.25 ft
    code, summary = run(GRID + "corner = [50, 140]\nalong = 270")
    assert code == 1
    assert summary["why"] == (
        "the places given by hand break rules at 4 of 6 bores: B1, B2, B3, B4"
    )
    short = {
        (one["subject"], round((one["required_m"] - one["measured_m"]) / FOOT, 2))
        for one in summary["findings"]
        if one["code"] == "separation"
    }
    well = round(50.25 - math.hypot(10, 40), 2)
    assert short == {("B3", 0.25), ("B4", 0.25), ("B1", 0.25), ("B2", well), ("B3", well)}
    assert any("9.02 ft short" in one["message"] for one in summary["findings"])


@pytest.mark.parametrize(
    ("corner", "code"),
    [("[80, 55]", "separation"), ("[190, 100]", "outside-parcel"), ("[400, 100]", "no-header")],
)
def test_a_grid_in_a_house_or_off_the_lot_is_drawn_and_refused_in_words(
    plan: Run, corner: str, code: str
) -> None:
    ended, summary = plan(GRID + f"corner = {corner}\nalong = 90")
    assert ended == 1
    assert len(summary["elements"]) == 6
    assert code in codes(summary)
    assert "the places given by hand break rules" in summary["why"]


def test_a_bore_two_steps_to_the_left_is_kept_and_claims_no_best_place(plan: Run) -> None:
    places = "[[120, 110], [134, 110], [160, 110], [140, 135], [160, 135]]"
    code, summary = plan(f"places = {places}")
    # B1 and B2 stand 14 ft apart where 20 ft are the spacing; B4 hypot(6, 25) = 25.7 ft from B2
    assert code == 1
    assert summary["why"] == "the places given by hand break rules at 1 of 5 bores: B1"
    (near,) = [one for one in summary["findings"] if one["code"] == "spacing"]
    assert (near["subject"], near["measured_m"]) == ("B1", pytest.approx(14 * FOOT, abs=1e-4))
    assert "placed-by-hand" in codes(summary)
    assert "most-bores" not in codes(summary)
    # the lot holds as many where nobody says where they stand: that alone would help
    assert summary["remedies"][0]["kind"] == "places"
    code, summary = plan(f"places = {places}".replace("134", "140"))
    assert (code, len(summary["elements"])) == (0, 5)
    assert {round(one["depth_m"] / FOOT) for one in summary["elements"]} == {300}


def test_a_grid_without_a_place_is_put_where_it_fits(plan: Run) -> None:
    code, summary = plan(GRID)
    assert code == 0
    assert len(summary["elements"]) == 6
    assert summary["spacing_m"] == pytest.approx(20 * FOOT)


def test_a_grid_that_fits_nowhere_says_so(plan: Run) -> None:
    code, summary = plan("[vertical.grid]\nrows = 2\ncolumns = 14\nspacing = 20")
    # fourteen bores in a row take 260 ft; the diagonal within the setback is 179.5 * 1.414 = 254 ft
    assert code == 1
    assert "no place for 2 rows of 14 bores" in summary["why"]
    assert summary["elements"] == []


def test_why_says_that_the_header_does_not_lie_in_a_house(lot_text, write_site, capsys):
    site = write_site(lot_text)
    assert main(["why", str(site), "80", "55", "--part", "header"]) == 1
    out = capsys.readouterr().out
    assert "house" in out
    assert "yes" not in out
