"""One loop type tried: why it fits or not, and the bug that stops the run."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from pathlib import Path

import pytest
from wording import in_words

from siteplan.available.ground import Prepared
from siteplan.available.prepared import lot_of
from siteplan.cli import main
from siteplan.demand.required import required_of
from siteplan.design.evaluate import try_system
from siteplan.design.loop_types import RECORDS
from siteplan.errors import CheckError
from siteplan.layout.elements import Bore
from siteplan.layout.model import Layout
from siteplan.plan import lay_out, plan_site
from siteplan.rules.ruleset import RuleSet
from siteplan.site.model import Site
from siteplan.site.readers.site_file import read_site


@pytest.fixture
def site(lot_text: str, write_site: Callable[..., Path]) -> Site:
    return read_site(write_site(lot_text))


def test_the_first_that_fits_in_the_order_of_preference_is_drawn(
    lot_text: str, write_site: Callable[..., Path], site: Site
) -> None:
    assert plan_site(site).system == "horizontal"
    text = lot_text.replace("[exchanger]", '[exchanger]\norder = ["vertical"]')
    plan = plan_site(read_site(write_site(text)))
    assert plan.system == "vertical"
    assert [one.system for one in plan.trials] == ["vertical", "horizontal", "pond", "open"]


def test_a_named_system_is_the_only_one_tried(site: Site) -> None:
    assert [one.system for one in plan_site(site, system="vertical").trials] == ["vertical"]


def test_a_layout_that_does_not_fit_is_a_result_with_findings(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    # 100 ft square less a rim of 10 ft: 8 rows of 78 ft 10 ft apart, and 200 ton need more
    first, _, rest = lot_text.partition("[[feature]]")
    text = first.replace("200", "100") + rest[rest.index("[exchanger]") :]
    text = text.replace('"2 ton"', '"200 ton"').replace("[80, 70]", "[50, 20]")
    plan = plan_site(read_site(write_site(text)))
    assert not plan.fits
    assert plan.system is None
    # less than half of what is needed: told, and not drawn as a plan
    assert "field-not-drawn" in {finding.code for finding in plan.drawn.findings}
    assert "short" in in_words(plan.drawn.why)
    assert plan.drawn.layout is not None
    assert not plan.drawn.layout.elements
    tried = lay_out(plan.site, plan.drawn.system)
    assert "length" in {finding.code for finding in tried.findings}
    assert tried.layout is not None
    assert tried.layout.elements


@pytest.mark.parametrize(
    ("tables", "why"),
    [
        ("", "well yield not known"),
        ('[open]\nyield = "2 gpm"\n', "well yield 2.0 gpm, required 6.0 gpm"),
    ],
)
def test_an_open_loop_needs_a_well_that_yields_enough(
    lot_text: str, write_site: Callable[..., Path], tables: str, why: str
) -> None:
    site = read_site(write_site(lot_text + tables))
    outcome = try_system(lot_of(site), "open")
    assert not outcome.fits
    assert why in in_words(outcome.why)


def test_a_well_that_yields_what_is_asked_to_the_last_digit_yields_enough(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    # 3 gpm a ton (the screening): a well of 15 gpm supplies 5 tons, one of 36 gpm 12; of the first
    # five the last digit of a product is too small
    for tons in (5, 10, 13, 15, 20, 12, 24):
        text = lot_text.replace('capacity = "2 ton"', f'capacity = "{tons} ton"')
        site = read_site(write_site(f'{text}[open]\nyield = "{3 * tons} gpm"\n'))
        required = required_of(site.exchanger, "open")
        assert required is not None
        assert RECORDS["open"].stops(site, required) is None
        # a thousandth less is too little
        less = dataclasses.replace(required, flow_m3s=1.001 * required.flow_m3s)
        assert RECORDS["open"].stops(site, less) is not None


def test_an_existing_well_can_be_the_supply(lot_text: str, write_site: Callable[..., Path]) -> None:
    site = read_site(write_site(lot_text + '[open]\nyield = "20 gpm"\nsupply = "well"\n'))
    outcome = try_system(lot_of(site), "open")
    assert outcome.fits, in_words(outcome.why)
    assert outcome.layout is not None
    supply, back = outcome.layout.elements
    assert (supply.x_m, supply.y_m) == pytest.approx((20 * 0.3048, 180 * 0.3048))
    assert ((supply.x_m - back.x_m) ** 2 + (supply.y_m - back.y_m) ** 2) ** 0.5 >= 50 * 0.3048


def spoiled(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the bore engine put its first bore into the house."""
    record = RECORDS["vertical"]

    def dishonest(prepared: Prepared, site: Site, rules: RuleSet, required_m: float) -> Layout:
        made = record.engine(prepared, site, rules, required_m)
        first = made.elements[0]
        assert isinstance(first, Bore)
        moved = dataclasses.replace(first, x_m=80 * 0.3048, y_m=55 * 0.3048)
        return dataclasses.replace(made, elements=(moved, *made.elements[1:]))

    spoiled_record = dataclasses.replace(record, engine=dishonest)
    monkeypatch.setitem(RECORDS, "vertical", spoiled_record)


def test_a_layout_that_the_check_refuses_stops_the_run(
    monkeypatch: pytest.MonkeyPatch, site: Site
) -> None:
    spoiled(monkeypatch)
    with pytest.raises(
        CheckError, match=r"bore B1 lies on house; building requires at least 10 ft"
    ):
        plan_site(site, system="vertical")


def test_the_refusal_ends_with_code_1_and_nothing_written(
    monkeypatch: pytest.MonkeyPatch,
    site: Site,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    spoiled(monkeypatch)
    folder = tmp_path / "p"
    code = main(["plan", str(site.source), "--system", "vertical", "--out", str(folder)])
    assert code == 1
    assert "This is a fault of siteplan" in capsys.readouterr().err
    assert not folder.exists()


def test_a_shared_length_is_remarked_when_loop_types_are_compared(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    text = lot_text.replace('capacity = "2 ton"', 'length = { given = "300 ft", by = "x" }')
    plan = plan_site(read_site(write_site(text)))
    assert "shared-length" in {finding.code for finding in plan.drawn.findings}


def test_a_trench_whose_pipe_finds_no_way_home_does_not_count(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    # at this spacing there is room for one trench, and its one pipe has nowhere to come back
    tables = (
        '[horizontal]\nkind = "one pipe"\nspacing = "300 ft"\nshortest = "20 ft"\n'
        'length = { given = "30 ft", by = "A" }\n'
    )
    trial = lay_out(read_site(write_site(f"{lot_text}{tables}")), "horizontal")
    assert not trial.fits
    assert "T1 has a pipe run with no return path: only 0 ft is in circuits" in in_words(trial.why)


def test_an_entry_where_a_rule_keeps_the_header_off_is_named(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    # the well stands at 20, 180 ft and the entry at 80, 70 ft: hypot(60, 110) = 125 ft
    own = (
        '[[rules.own]]\nfrom = "potable well"\nfor = ["header"]\ndistance = "150 ft"\n'
        'source = "town code 7"\n'
    )
    trial = lay_out(read_site(write_site(lot_text + own)), "vertical")
    assert not trial.fits
    assert trial.why.code == "with-entries"
    assert [one.code for one in trial.why.values["entries"]] == ["entry-too-near"]
    assert "150 ft" in in_words(trial.why)


def test_entries_that_one_well_keeps_off_are_told_in_one_breath(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    # no entry stated: each wall has some, and all of them lie within 1,000 ft of the well
    own = (
        '[[rules.own]]\nfrom = "potable well"\nfor = ["header"]\ndistance = "1000 ft"\n'
        'source = "town code 7"\n'
    )
    kept = "\n".join(line for line in lot_text.splitlines() if not line.startswith("entry ="))
    trial = lay_out(read_site(write_site(f"{kept}\n{own}")), "vertical")
    assert [one.code for one in trial.why.values["entries"]] == ["walls-too-near"]
    assert in_words(trial.why).count("closer than 1,000 ft") == 1
    # nobody stated an entry, so none has a name that a reader knows
    assert "E1" not in in_words(trial.why)


def test_entries_stated_that_one_well_keeps_off_are_told_in_one_breath(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    own = (
        '[[rules.own]]\nfrom = "potable well"\nfor = ["header"]\ndistance = "1000 ft"\n'
        'source = "town code 7"\n'
    )
    two = "\n".join(
        line.replace("entry = [[", "entry = [[95, 70], [") if line.startswith("entry =") else line
        for line in lot_text.splitlines()
    )
    trial = lay_out(read_site(write_site(f"{two}\n{own}")), "vertical")
    assert [one.code for one in trial.why.values["entries"]] == ["entries-too-near"]
    assert "entry points E1, E2 are closer than 1,000 ft" in in_words(trial.why)


def test_a_pond_of_unknown_depth_holds_no_coils(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    pond = (
        '[[feature]]\nid = "pond"\nkind = "pond"\ndepth = "unknown"\n'
        "area = [[120, 100], [180, 100], [180, 170], [120, 170]]\n"
    )
    trial = lay_out(read_site(write_site(lot_text + pond)), "pond")
    assert trial.why.code == "pond-depth-unknown"


def test_a_pond_beside_the_lot_is_told_from_one_on_it(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    pond = (
        '[[feature]]\nid = "lake"\nkind = "pond"\ndepth = "14 ft"\n'
        "area = [[120, -300], [180, -300], [180, {shore}], [120, {shore}]]\n"
    )
    codes = []
    for shore in ("0", "60"):
        site = read_site(write_site(lot_text + pond.format(shore=shore)))
        why = lay_out(site, "pond").why
        codes.append(why.code)
    assert codes[0] == "pond-beyond-lot" != codes[1]


def test_a_number_of_circuits_that_cannot_be_is_told(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    tables = "[vertical]\ncount = 4\n[circuits]\ncount = 3\n"
    trial = lay_out(read_site(write_site(lot_text + tables)), "vertical")
    assert not trial.fits
    assert trial.layout is not None
    assert trial.layout.obstacle is not None
    assert trial.layout.obstacle.code == "circuits-not-as-asked"
    # 4 bores do not divide into 3 circuits
    assert trial.layout.obstacle.values["because"].code == "not-divisible"


def test_trenches_whose_far_ends_cannot_be_joined_do_not_count(
    write_site: Callable[..., Path],
) -> None:
    # the lot is a U whose arms are 23 ft wide: a trench of one pipe in each, and no way from far
    # end to far end beside the trenches for a pipe that keeps 10 ft from the line
    text = """\
[project]
title = "Two arms"
owner = "A. Owner"
date = 2026-03-14
units = "ft"

[geometry]
parcel = [[0, 0], [100, 0], [100, 200], [77, 200], [77, 50], [23, 50], [23, 200], [0, 200]]

[exchanger]
length = { given = "200 ft", by = "test" }
entry = [[50, 30]]

[horizontal]
kind = "one pipe"
spacing = "30 ft"
shortest = "40 ft"

[[rules.own]]
from = "property line"
for = ["header"]
distance = "10 ft"
source = "town code 7"
"""
    trial = lay_out(read_site(write_site(text)), "horizontal")
    assert not trial.fits
    assert trial.layout is not None
    assert trial.layout.obstacle is not None
    assert trial.layout.obstacle.code == "pipes-without-return"
    assert trial.layout.obstacle.values["trenches"] == ("T1", "T2")
