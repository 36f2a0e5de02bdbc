"""What each rule costs, and what would make a lot fit."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from pathlib import Path

import pytest
from planned import planned, tried
from wording import in_words

from siteplan.available.prepared import lot_of
from siteplan.design.lay_out import capacity_of
from siteplan.plan import SitePlan, plan_site
from siteplan.site.model import Site
from siteplan.site.options.bores import default_pad
from siteplan.site.options.exchanger import with_u_bend
from siteplan.site.readers.site_file import read_site

FT = 0.3048


@pytest.fixture(scope="module")
def tight() -> SitePlan:
    return planned("tight-lot")


def test_a_cost_is_what_the_engine_gains_without_the_rule(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    site = read_site(write_site(lot_text))
    plan = plan_site(site, system="vertical", costs=True)
    costs = plan.weighing.costs
    assert [cost.gain_m for cost in costs] == sorted((c.gain_m for c in costs), reverse=True)
    lot = lot_of(site)
    for cost in costs:
        free = lot.with_rules(lot.rules.relaxed(cost.rule, 0.0))
        gain = capacity_of(free, "vertical") - capacity_of(lot, "vertical")
        assert cost.gain_m == pytest.approx(gain)
    assert ("well",) in [cost.features for cost in costs]


def test_a_rule_that_sends_the_header_round_costs_header(
    write_site: Callable[..., Path],
) -> None:
    # bores only in the middle of the lot, 80 ft off the line; the entry looks at them over a
    # tank 4 ft wide, from which an own rule keeps the header 20 ft: without it the pipe passes
    # the tank beside, with it it makes a way of 24 ft round on either side
    text = """\
[project]
title = "Tank"
owner = "A. Owner"
date = 2026-03-14
units = "ft"
[geometry]
parcel = [[0, 0], [200, 0], [200, 200], [0, 200]]
[[feature]]
id = "house"
kind = "building"
area = [[80, 10], [120, 10], [120, 30], [80, 30]]
[[feature]]
id = "tank"
kind = "septic tank"
area = [[98, 56], [102, 56], [102, 60], [98, 60]]
[[rules.own]]
from = "property line"
for = ["bore"]
distance = "85 ft"
source = "test"
[[rules.own]]
from = "septic tank"
for = ["header"]
distance = "20 ft"
source = "test"
[exchanger]
system = "vertical"
length = { given = "700 ft", by = "test" }
entry = [[100, 30]]
"""
    plan = plan_site(read_site(write_site(text)), costs=True)
    assert plan.fits
    (tank,) = [cost for cost in plan.weighing.costs if cost.rule.subject == "septic tank"]
    assert tank.rule.parts == ("header",)
    # round the corner of the keep-out, 22 ft aside on a way of 55 ft: at least
    # 2 x hypot(22, 27) - 55 = 14 ft more than nearly straight on, at most the whole way aside
    assert 5.0 < tank.header_m / FT < 2 * 22
    # leading the same header twice saves nothing by itself
    line = [cost for cost in plan.weighing.costs if cost.rule.subject == "property line"]
    assert all(cost.header_m == 0.0 for cost in line)


def test_a_bare_square_loses_the_rows_that_the_setback_takes(
    write_site: Callable[..., Path], lot_text: str
) -> None:
    # 100 x 100 ft, 10 ft setback, trenches 10 ft apart and 2 ft wide: centre lines from 11 to
    # 89 ft, at least the 8 rows of 78 ft along a side. Without the setback the header's own
    # 5 ft still hold: from 5 to 95 ft, 10 rows of 90 ft.
    bare = lot_text.partition("[[feature]]")[0].replace("200", "100")
    text = bare + '[exchanger]\ncapacity = "1 ton"\nentry = [[50, 20]]\n'
    site = read_site(write_site(text))
    base_ft = capacity_of(lot_of(site), "horizontal") / FT
    assert base_ft >= 8 * 78
    (cost,) = plan_site(site, system="horizontal", costs=True).weighing.costs
    assert cost.rule.subject == "property line"
    assert cost.gain_m / FT == pytest.approx(10 * 90 - base_ft, abs=0.01)


def test_a_plan_that_fits_is_weighed_only_on_request(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    plan = plan_site(read_site(write_site(lot_text)), system="vertical")
    assert plan.fits
    assert plan.weighing.costs == ()


def changed(site: Site, **options: float) -> Site:
    vertical = dataclasses.replace(site.exchanger.vertical, **options)
    return dataclasses.replace(
        site, exchanger=dataclasses.replace(site.exchanger, vertical=vertical)
    )


def test_a_smaller_spacing_proposed_does_fit_and_the_next_larger_does_not(
    tight: SitePlan,
) -> None:
    (words,) = [in_words(one.change) for one in tight.weighing.remedies if one.kind == "spacing"]
    spacing = float(words.split()[1]) * FT
    assert tried(changed(tight.site, spacing_m=spacing), "vertical").fits
    assert not tried(changed(tight.site, spacing_m=spacing + FT), "vertical").fits


def test_bores_that_lean_from_one_pad_are_proposed_where_upright_ones_do_not_fit(
    tight: SitePlan,
) -> None:
    (words,) = [in_words(one.change) for one in tight.weighing.remedies if one.kind == "inclined"]
    assert 'tilt = "10 deg"' in words
    pad = dataclasses.replace(default_pad(), tilt_deg=10.0)
    wanted = tight.site.exchanger
    leaning = dataclasses.replace(wanted, vertical=dataclasses.replace(wanted.vertical, pad=pad))
    assert tried(dataclasses.replace(tight.site, exchanger=leaning), "vertical").fits


def test_deeper_bores_proposed_do_fit(tight: SitePlan) -> None:
    # two bores have room, and the length calculated for them is divided among them
    required = tight.drawn.required
    assert required is not None
    each = math.ceil(required.length_m / FT / 2)
    (words,) = [in_words(one.change) for one in tight.weighing.remedies if one.kind == "depth"]
    # more than 350 ft down and up again are more than the 700 ft of 1 in pipe
    pipe = ", U-bends of 1-1/4 in pipe"
    assert words == f"2 bores {each}.0 ft deep instead of the 300.0 ft limit{pipe}"
    deeper = changed(tight.site, depth_most_m=each * FT)
    energy = with_u_bend(deeper.exchanger.energy, "1-1/4 in")
    wanted = dataclasses.replace(deeper.exchanger, energy=energy)
    assert tried(dataclasses.replace(deeper, exchanger=wanted), "vertical").fits


def test_less_than_common_practice_is_the_owners_own_decision(tight: SitePlan) -> None:
    own = [one for one in tight.weighing.remedies if one.kind == "own distance"]
    assert [one.change.code for one in own] == ["below-common-practice"] * len(own)
    assert any(
        "ft from the property line, by the decision of owner" in in_words(one.change) for one in own
    )
    assert not [one for one in tight.weighing.remedies if one.kind == "variance"]


def test_where_another_loop_type_fits_it_is_drawn_and_nothing_has_to_help(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    text = lot_text.replace(
        'capacity = "2 ton"', 'capacity = "2 ton"\norder = ["pond", "vertical"]'
    )
    plan = plan_site(read_site(write_site(text)), costs=True)
    assert plan.system == "vertical"
    assert plan.weighing.remedies == ()


def test_a_variance_from_a_rule_of_no_common_practice_names_where_it_stands(
    lot_text: str, write_site: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    # bores that lean take long to look for, and are not asked about
    monkeypatch.setattr("siteplan.alternatives.sizes.PAD_BORES", 0)
    # 90 ft from the line leave a square of 20 ft for the middles of bores: less than 12 bores
    own = (
        '[[rules.own]]\nfrom = "property line"\nfor = ["bore"]\ndistance = "90 ft"\n'
        'source = "town code 7"\nvariance = "60 ft"\nnote = "the board meets on Mondays"\n'
    )
    length = 'length = { given = "3600 ft", by = "test" }'
    text = lot_text.replace('capacity = "2 ton"', length) + own
    plan = plan_site(read_site(write_site(text)), system="vertical")
    assert not plan.fits
    (remedy,) = [one for one in plan.weighing.remedies if one.kind == "variance"]
    assert remedy.change.code == "by-variance"
    assert "town code 7" in in_words(remedy.change)
    assert "the board meets on Mondays" in in_words(remedy.change)
    # no further than whoever asks for it may agree to
    assert float(in_words(remedy.change).split()[2]) >= 60


def test_nobody_is_asked_for_a_variance_that_no_source_speaks_of(
    lot_text: str, write_site: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("siteplan.alternatives.sizes.PAD_BORES", 0)
    own = (
        '[[rules.own]]\nfrom = "property line"\nfor = ["bore"]\ndistance = "90 ft"\n'
        'source = "town code 7"\n'
    )
    length = 'length = { given = "3600 ft", by = "test" }'
    text = lot_text.replace('capacity = "2 ton"', length) + own
    plan = plan_site(read_site(write_site(text)), system="vertical")
    assert "variance" not in {one.kind for one in plan.weighing.remedies}
