"""What is said of water and heat around a well pair, and what stops one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from planned import planned_once
from wording import in_words

from siteplan.advisories.bounds import Condition, bound_findings, conditions_on
from siteplan.findings.model import Finding
from siteplan.plan import SitePlan
from siteplan.rule_books.loader import load_book
from siteplan.sheet.model import Text
from siteplan.sheet.tables.wells import wells_block
from siteplan.site.model import Site
from siteplan.site.readers.site_file import read_site

LOT = """\
[project]
title = "Lot over an aquifer"
owner = "A. Owner"
date = 2026-03-14
units = "m"

[geometry]
parcel = [[0, 0], [{deep}, 0], [{deep}, {deep}], [0, {deep}]]

[[feature]]
id = "house"
kind = "building"
area = [[13, 5], [27, 5], [27, 15], [13, 15]]

[[feature]]
id = "neighbour"
kind = "potable well"
at = {neighbour}
{known}

[exchanger]
system = "open"
entry = [20, 15]
{sizes}

[open]
depth = "40 m"
{wells}

[aquifer]
{aquifer}
"""
LOADS = """
[loads]
heating = "12 kW"
heating_hours = {hours}
cop = 4.0

[ground]
temperature = "11 C"
soil = "heavy sand, 15 % water"

[fluid]
heating_drop = "4 K"
"""
KNOWN = """\
transmissivity = "0.01 m2/s"
thickness = "20 m"
storativity = 0.1
porosity = 0.25
gradient = {gradient}
direction = "N 0 E"
"""
BY = '{ by = "B. Hydrogeologist, 2026-03-02" }'


Planned = Callable[..., SitePlan]


@pytest.fixture
def planned(write_site: Callable[..., Path]) -> Planned:
    def built(
        aquifer: str = KNOWN.format(gradient=0.002),
        wells: str = "",
        sizes: str = LOADS.format(hours=1800),
        *,
        neighbour: tuple[float, float] = (400.0, 45.0),
        known: str = "",
        deep: float = 40,
    ) -> SitePlan:
        wells = wells if "yield" in wells else f'yield = "2 L/s"\n{wells}'
        text = LOT.format(
            aquifer=aquifer,
            wells=wells,
            sizes=sizes,
            neighbour=list(neighbour),
            known=known,
            deep=deep,
        )
        return planned_once(read_site(write_site(text)))

    return built


def of(plan: SitePlan, code: str) -> list[Finding]:
    return [finding for finding in plan.drawn.findings if finding.code == code]


def test_a_pair_in_flowing_groundwater_fits_and_keeps_apart(planned: Planned) -> None:
    plan = planned(KNOWN.format(gradient=0.004), 'static_level = "5 m"')
    assert plan.fits
    (said,) = of(plan, "wells-apart-for-years")
    assert "25 years" in in_words(said)
    assert "flows" in in_words(said)


def test_a_pair_in_still_groundwater_is_told_when_water_comes_back(planned: Planned) -> None:
    plan = planned(KNOWN.format(gradient=0.0))
    (said,) = of(plan, "wells-come-back")
    study = plan.drawn.wells
    assert study is not None
    # pi b L^2 C/(3 Q Cw), without flow past the streamlines give the same
    assert study.full_s == pytest.approx(study.still_s, rel=1e-3)
    assert f"{study.still_s // 86400:.0f} days of full flow" in in_words(said)


THIN = 'transmissivity = "0.001 m2/s"\nthickness = "2 m"\nstorativity = 0.1\nporosity = 0.25\n'


COLD = LOADS.format(hours=1800).replace("11 C", "6 C")


def test_a_supply_that_would_freeze_stops_the_plan(planned: Planned) -> None:
    plan = planned(THIN, sizes=COLD)
    (said,) = of(plan, "supply-freezes")
    assert not plan.fits
    assert "would freeze" in plan.content().verdict
    assert said.severity == "error"


def test_somebody_may_answer_for_a_supply_that_drifts(planned: Planned) -> None:
    plan = planned(THIN, f"drift = {BY}", COLD)
    assert of(plan, "supply-freezes") == []
    (said,) = of(plan, "supply-drift-agreed")
    assert "B. Hydrogeologist" in in_words(said)
    assert plan.fits


def test_a_drift_of_more_than_a_kelvin_is_a_warning(planned: Planned) -> None:
    thin = KNOWN.format(gradient=0.0).replace("20 m", "4 m")
    plan = planned(thin, sizes=LOADS.format(hours=2600))
    (said,) = of(plan, "supply-drifts")
    assert said.severity == "warning"
    assert plan.drawn.wells is not None
    assert abs(plan.drawn.wells.greatest_k) > 1.0
    # 11 C - 4 K and a drift of less than 6.5 K stays above 0.5 C
    assert plan.fits


def test_what_nobody_states_is_named_as_assumed(planned: Planned) -> None:
    plan = planned("", f"drift = {BY}")
    (said,) = of(plan, "aquifer-assumed")
    for name in ("hydraulic conductivity", "thickness", "storativity", "porosity", "gradient"):
        assert name in in_words(said)
    assert of(plan, "static-level-not-stated")
    (asked,) = of(plan, "water-not-analysed")
    assert "hardness and iron" in in_words(asked)
    stated = planned(KNOWN.format(gradient=0.002) + "hardness = 50\niron = 0.01")
    assert of(stated, "aquifer-assumed") == of(stated, "water-not-analysed") == []


def test_hard_water_and_iron_are_warned_of(planned: Planned) -> None:
    plan = planned(KNOWN.format(gradient=0.002) + "hardness = 320\niron = 0.85")
    (hard,) = of(plan, "water-hard")
    (rusty,) = of(plan, "water-with-iron")
    assert "320 mg/L" in in_words(hard)
    assert "0.85 mg/L" in in_words(rusty)


POOR = 'transmissivity = "2e-5 m2/s"\nthickness = "20 m"\nstorativity = 0.001\nporosity = 0.25\n'


def test_a_supply_that_runs_dry_stops_the_plan(planned: Planned) -> None:
    plan = planned(POOR, f'static_level = "30 m"\ndrift = {BY}')
    (said,) = of(plan, "supply-runs-dry")
    assert said.required_m == 40.0
    assert not plan.fits


def test_little_water_over_the_toe_is_a_warning(planned: Planned) -> None:
    wells = f'static_level = "38 m"\ndrift = {BY}'
    plan = planned(KNOWN.format(gradient=0.0), wells)
    (said,) = of(plan, "supply-nearly-dry")
    assert said.measured_m is not None
    assert 1.0 < said.measured_m < 2.0


def test_a_return_well_that_runs_over_stops_the_plan(planned: Planned) -> None:
    plan = planned(POOR, f'static_level = "2 m"\ndrift = {BY}')
    assert of(plan, "return-overflows")
    assert not plan.fits


def takes(plan: SitePlan, site: Site | None = None) -> tuple[Condition, ...]:
    """What Indiana's book comes to, which asks for one and a half times the flow."""
    drawn, books = plan.drawn, (load_book("indiana"),)
    return conditions_on(site or plan.site, books, drawn.system, drawn.layout, drawn.wells)


def test_a_return_well_takes_half_as_much_again(planned: Planned) -> None:
    # 312 IAC 13-8-1
    plan = planned(KNOWN.format(gradient=0.0))
    study = plan.drawn.wells
    assert study is not None
    assert study.levels.reserve_m == pytest.approx(1.5 * study.levels.back_m)
    (kept,) = takes(plan)
    assert kept.kept
    assert "are wanted" in in_words(kept.here)
    level = f'static_level = "{1.2 * study.levels.back_m} m"'
    plan = planned(KNOWN.format(gradient=0.0), level)
    # no book of the site asks it: nothing is said
    assert of(plan, "return-takes-too-little") == []
    (said,) = bound_findings(takes(plan), plan.site)
    assert (said.code, said.severity) == ("return-takes-too-little", "error")
    assert "run over" in in_words(said)
    well = replace(plan.site.exchanger.open, level_m=None, yield_m3s=None)
    site = replace(plan.site, exchanger=replace(plan.site.exchanger, open=well))
    (unsaid,) = bound_findings(takes(plan, site), site)
    assert (unsaid.code, unsaid.severity) == ("return-not-tested", "warning")
    # the water rises by one and a half times as much, and stays below ground
    deep = replace(well, level_m=1.6 * study.levels.back_m)
    site = replace(plan.site, exchanger=replace(plan.site.exchanger, open=deep))
    (kept,) = takes(plan, site)
    assert kept.kept
    assert list(bound_findings(takes(plan, site), site)) == []
    assert "would rise by" in in_words(kept.here)
    # 12 kW x 3/4 / (4 K x 4.19 kJ/kgK) = 0.54 L/s, x 1.5 = 0.81 L/s
    much = LOADS.format(hours=1800).replace("12 kW", "40 kW")
    (said,) = takes(planned(wells=f"drift = {BY}", sizes=much))
    assert "gives 31.7 gpm" in in_words(said.here)  # 2 L/s


def test_a_neighbours_well_that_is_drawn_down_is_named(planned: Planned) -> None:
    draws, place = POOR.replace("2e-5", "3e-5"), (95.0, 20.0)
    known = 'static_level = "4 m"\nwell_depth = "9 m"'
    plan = planned(draws, f"drift = {BY}", neighbour=place, known=known)
    (said,) = of(plan, "neighbor-drawn-down")
    assert said.subject == "neighbour"
    assert "16.4 ft stand in it" in in_words(said)
    (unknown,) = of(planned(draws, f"drift = {BY}", neighbour=place), "neighbor-drawn-down")
    assert "not stated" in in_words(unknown)


def test_a_well_in_the_way_of_water_returned_is_named(planned: Planned) -> None:
    flowing = KNOWN.format(gradient=0.004).replace("N 0 E", "N 90 E")
    plan = planned(flowing, neighbour=(160.0, 18.3))
    assert [one.subject for one in of(plan, "neighbor-warmed-or-cooled")] == ["neighbour"]
    assert of(planned(flowing, neighbour=(-60.0, 18.3)), "neighbor-warmed-or-cooled") == []


def test_without_loads_hours_are_assumed(planned: Planned) -> None:
    plan = planned(sizes='capacity = "10 kW"')
    (said,) = of(plan, "seasons-assumed")
    assert "1800 h" in in_words(said)


def test_the_lot_says_so_where_it_does_not_give_what_the_drift_asks_for(planned: Planned) -> None:
    plan = planned(THIN)
    (said,) = of(plan, "separation-wished")
    assert said.measured_m is not None
    assert said.required_m is not None
    assert said.measured_m < said.required_m
    assert "stands still" in in_words(said)
    much = LOADS.format(hours=4000).replace("12 kW", "200 kW")
    (beyond,) = of(planned(THIN, 'yield = "40 L/s"', much), "no-separation-wished")
    assert "more than 984.3 ft" in in_words(beyond)


def test_a_return_well_that_can_only_stand_up_the_flow_is_named(planned: Planned) -> None:
    plan = planned(wells=f'supply = "neighbour"\ndrift = {BY}', neighbour=(20, 45))
    (said,) = of(plan, "return-up-the-flow")
    assert said.measured_m is not None
    assert said.measured_m > 1.0


def test_an_existing_supply_well_is_judged_by_the_depth_that_is_stated(planned: Planned) -> None:
    wells = f'supply = "neighbour"\ndrift = {BY}'
    known = 'static_level = "9 m"\nwell_depth = "10 m"'
    shallow = planned(wells=wells, neighbour=(20, 30), known=known)
    (said,) = of(shallow, "supply-nearly-dry")
    assert said.measured_m is not None
    assert 0.5 < said.measured_m < 1.0
    deep = planned(wells=wells, neighbour=(20, 30), known=known.replace("10 m", "40 m"))
    assert of(deep, "supply-nearly-dry") == of(deep, "supply-runs-dry") == []


def test_where_the_groundwater_flows_the_separation_wished_is_down_the_flow(
    planned: Planned,
) -> None:
    (said,) = of(planned(f'{THIN}\ngradient = 0.0001\ndirection = "N 0 E"'), "separation-wished")
    assert "straight down the groundwater's flow" in in_words(said)


def test_a_gradient_that_nobody_states_is_told_as_still_groundwater(planned: Planned) -> None:
    content = planned(THIN).content()
    block = wells_block(content, 150.0)
    assert block is not None
    texts = [item.text for item in block.items if isinstance(item, Text)]
    row = texts.index("flow of the groundwater")
    assert texts[row + 1] == "none"
