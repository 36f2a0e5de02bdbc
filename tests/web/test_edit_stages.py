"""Stages in which a plan is told: bound and quick figures first, the full plan after a rest."""

from __future__ import annotations

import math
import time
from dataclasses import replace
from pathlib import Path

import pytest

pytest.importorskip("starlette", reason="the extra edit is not installed")

from test_edit_server import LOT

from siteplan.available.stage import available_areas
from siteplan.site.readers.site_file import read_site
from siteplan.web.stages import (
    REST_S,
    Job,
    Telling,
    areas_told,
    bound_of,
    other_trials,
    rows_told,
    staged_plan,
    system_first,
)

SAMPLES = Path(__file__).parents[2] / "samples"


def lot_of(tmp_path, text=LOT):
    file = tmp_path / "site.toml"
    file.write_text(text, encoding="utf-8")
    return file


def test_the_drawn_loop_type_comes_before_the_rest_and_the_full_plan_after_it(tmp_path):
    told, rests = [], []
    telling = Telling(lambda stage, what: told.append((stage, what)), rests.append)
    text = LOT.replace('system = "vertical"', 'order = ["horizontal", "vertical"]')
    plan = staged_plan(Job(str(lot_of(tmp_path, text)), "vertical"), telling)
    stages = [stage for stage, _ in told if stage != "step"]
    assert stages == ["area", "quick", "drawn", "plan"]
    drawn = dict(told)["drawn"]["told"]
    assert drawn["system"] == "vertical"
    assert "verdict" not in drawn
    # told alone, it is laid out as in the plan of all loop types
    (trial,) = (each for each in plan.trials if each.system == "vertical")
    assert drawn["fits"] == trial.fits
    assert drawn["laid"]
    assert all(0 < rest <= REST_S for rest in rests)
    steps = [words for stage, words in told if stage == "step"]
    assert "laying out vertical" in steps


def test_what_no_arrangement_can_hold_is_told_with_the_ground(tmp_path):
    # Source: the dilation bound (Groemer 1960): each bore has at least sqrt(3)/2 d2 of the ground
    # widened by d/sqrt(3), which lies in the lot widened by 0.58 d on every side.
    told = available_areas(read_site(lot_of(tmp_path)))
    bound = bound_of(told, "vertical") / 0.3048
    depth = told.lot.site.exchanger.vertical.depth_most_m / 0.3048
    spacing = told.lot.site.exchanger.vertical.spacing_m / 0.3048
    cell = math.sqrt(3) / 2 * spacing**2
    assert bound <= (120 + 1.16 * spacing) * (160 + 1.16 * spacing) / cell * depth
    assert not areas_told(told, "vertical")["cannot"]
    more = lot_of(tmp_path, LOT.replace("300 ft", f"{bound * 1.01:.0f} ft"))
    assert areas_told(available_areas(read_site(more)), "vertical")["cannot"]


def test_the_loop_type_drawn_last_comes_first_but_for_one_that_is_asked_for(tmp_path):
    site = read_site(lot_of(tmp_path))
    assert system_first(site, "horizontal") == "vertical"
    text = LOT.replace('system = "vertical"', 'order = ["horizontal", "vertical"]')
    site = read_site(lot_of(tmp_path, text))
    assert system_first(site, "vertical") == "vertical"
    assert system_first(site, "") == "horizontal"


OPEN_KIND = LOT[: LOT.index("[exchanger]")] + """\
[exchanger]
system = "horizontal"
[horizontal]
kind = "choose"
[loads]
heating = "6 MBH"
heating_hours = 1500
[ground]
temperature = "52 F"
swing = "20 F"
coldest_day = "3 February"
soil = "heavy sand, 15 % water"
[fluid]
mixture = "propylene glycol 25 %"
"""  # fmt: skip


def test_the_ground_told_with_a_layout_is_that_of_the_kind_of_trench_laid_out(tmp_path):
    # 10 ft from the property line by common practice, 6 in for staking, both to the trench's side:
    # its centre line keeps half of the trench more, as wide as the kind that was chosen
    told = []
    telling = Telling(lambda stage, what: told.append((stage, what)), lambda _: None)
    plan = staged_plan(Job(str(lot_of(tmp_path, OPEN_KIND))), telling)
    stages = dict(told)
    (wide_m,) = {each.width_m for each in plan.drawn.layout.elements}
    for stage in ("drawn", "plan"):
        line_m = stages[stage]["told"]["ground"]["line"][0]
        assert line_m == pytest.approx(10.5 * 0.3048 + wide_m / 2, abs=1e-3)
    # the usual trench is wider: its ground would be too small
    assert wide_m != pytest.approx(read_site(lot_of(tmp_path)).exchanger.horizontal.width_m)


def test_the_loop_types_beside_the_drawn_one_are_told_as_in_the_full_plan(tmp_path):
    text = LOT.replace('system = "vertical"', 'order = ["vertical", "horizontal"]')
    job, told = Job(str(lot_of(tmp_path, text))), []
    telling = Telling(lambda stage, what: told.append((stage, what)), lambda _: None)
    other_trials(job, telling)
    others = [what for stage, what in told if stage == "other"]
    staged_plan(job, telling)
    rows = {row["system"]: {**row, "drawn": False} for row in dict(told)["plan"]["told"]["trials"]}
    del rows["vertical"]
    assert {each["system"]: each for each in others} == rows
    # straight rows of the one drawn are counted by a child of their own, and the first is spared
    quick = dict(told)["quick"]
    told.clear()
    rows_told(job, telling)
    assert told == [("quick", quick)]
    told.clear()
    staged_plan(replace(job, share="drawn"), telling)
    assert [stage for stage, _ in told if stage != "step"] == ["area", "drawn", "plan"]
    # where one is asked for there are no others, nor where figures are missing
    for text in (LOT, LOT.replace('length = { given = "300 ft", by = "a designer" }', "")):
        told.clear()
        other_trials(Job(str(lot_of(tmp_path, text))), telling)
        assert told == []
        rows_told(Job(str(lot_of(tmp_path, text))), telling)
        assert [stage for stage, _ in told] == ["quick"]


def test_wells_are_told_as_laid_out_before_the_years_are_calculated_that_may_forbid_them():
    told = []
    telling = Telling(lambda stage, what: told.append((stage, what)), lambda _: None)
    staged_plan(Job(str(SAMPLES / "good-aquifer" / "site.toml")), telling)
    stages = [stage for stage, _ in told if stage != "step"]
    assert stages == ["area", "quick", "laid", "drawn", "plan"]
    laid, drawn = dict(told)["laid"]["told"], dict(told)["drawn"]["told"]
    # what is drawn and measured is the same: only what is said of it may change
    assert (laid["laid"], laid["separations"]) == (drawn["laid"], drawn["separations"])
    assert laid["laid"]


def test_bores_that_rows_do_not_hold_are_told_in_rows_before_free_places_are_looked_for(tmp_path):
    told = []
    telling = Telling(lambda stage, what: told.append((stage, what)), lambda _: None)
    sample = str(SAMPLES / "tight-lot" / "site.toml")
    staged_plan(Job(sample, drawn="vertical"), telling)
    drawn = [what["told"] for stage, what in told if stage == "drawn"]
    (row,) = (each for each in dict(told)["plan"]["told"]["trials"] if each["system"] == "vertical")
    assert "free places are being looked for" in drawn[0]["why"]
    assert not drawn[0]["fits"]
    assert {key: drawn[1][key] for key in row} == {**row, "drawn": True}
    # beside another loop type they are told with the rest, and free places last of all
    told.clear()
    other_trials(Job(sample, drawn="horizontal"), telling)
    systems = [what["system"] for _, what in told]
    assert systems == ["vertical", "pond", "open", "vertical"] or systems[-1] == "vertical"
    assert len(set(systems[:-1])) == len(systems[:-1])
    # where rows hold enough they are the last word
    told.clear()
    staged_plan(Job(str(lot_of(tmp_path)), drawn="vertical"), telling)
    assert [stage for stage, _ in told if stage != "step"] == ["area", "quick", "drawn", "plan"]
    (row,) = dict(told)["plan"]["told"]["trials"]
    assert {key: dict(told)["drawn"]["told"][key] for key in row} == row


def test_the_kind_of_trench_drawn_last_comes_before_all_are_compared_which_is_left_to_the_plan(
    tmp_path,
):
    told = []
    telling = Telling(lambda stage, what: told.append((stage, what)), lambda _: None)
    lot = str(lot_of(tmp_path, OPEN_KIND))
    plan = staged_plan(Job(lot), telling)
    kind = dict(told)["plan"]["told"]["kind"]
    assert kind == plan.lot.site.exchanger.horizontal.kind
    first = dict(told)["drawn"]["told"]
    told.clear()
    staged_plan(Job(lot, kind=kind), telling)
    drawn = [what["told"] for stage, what in told if stage == "drawn"]
    assert [each["kind"] for each in drawn] == [kind]
    assert (
        drawn[0]["why"] == f"{first['why']}. Other kinds of trench are compared in the full plan."
    )
    assert (drawn[0]["needs"], drawn[0]["holds"]) == (first["needs"], first["holds"])


class EnoughError(Exception):
    """What was waited for is told."""


@pytest.mark.parametrize("began_s", [1e6, -1e6], ids=["soon", "late"])
def test_bores_laid_out_first_are_told_only_where_they_took_long(tmp_path, began_s):
    stages = []

    def tell(stage, _):
        stages.append(stage)
        if stage in ("laid", "drawn"):
            raise EnoughError

    bores = OPEN_KIND.replace('system = "horizontal"', 'system = "vertical"').replace(
        "6 MBH", "24 MBH"
    )
    telling = Telling(tell, lambda _: None, began=time.monotonic() + began_s)
    with pytest.raises(EnoughError):
        staged_plan(Job(str(lot_of(tmp_path, bores)), share="drawn"), telling)
    assert stages[-1] == ("laid" if began_s < 0 else "drawn")


def test_a_first_layout_is_told_before_its_length_agrees_and_claims_nothing(tmp_path):
    told = {}

    def tell(stage, what):
        told[stage] = what
        if stage == "laid":
            raise EnoughError

    kind = OPEN_KIND.replace('"choose"', '"two pipes side by side"').replace("6 MBH", "3 MBH")
    with pytest.raises(EnoughError):
        staged_plan(Job(str(lot_of(tmp_path, kind)), share="drawn"), Telling(tell, lambda _: None))
    first = told["laid"]["told"]
    assert first["laid"]
    assert not first["fits"]
    assert not first["separations"]
    assert "drawn" not in told
    assert "still" in first["why"]
