"""What is said of water and heat around a well pair, and what stops one.

One pair in two places is asked of each aquifer; a lot is planned only where the plan itself is.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from planned import planned_once
from wording import in_words

from siteplan.advisories.bounds import Condition, bound_findings, conditions_on
from siteplan.advisories.wells import remarks_of
from siteplan.available.prepared import lot_of
from siteplan.demand.well_levels import SpreadingWater, levels_of
from siteplan.demand.well_seasons import seasons_of
from siteplan.demand.wells import Lift, WellStudy, drift_of, heat_pair, study_wells
from siteplan.findings.model import Finding
from siteplan.groundwater.doublet import breakthrough_s
from siteplan.layout.elements import Well
from siteplan.layout.model import Layout
from siteplan.plan import SitePlan
from siteplan.rule_books.loader import load_book
from siteplan.sheet.model import Text
from siteplan.sheet.tables.wells import wells_block
from siteplan.site.model import Site
from siteplan.site.open_loop import OpenOptions
from siteplan.site.readers.site_file import read_site

LOT = """\
[project]
title = "Lot over an aquifer"
owner = "A. Owner"
date = 2026-03-14
units = "m"

[geometry]
parcel = [[0, 0], [40, 0], [40, 40], [0, 40]]

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
years = {years}

[ground]
temperature = "11 C"
soil = "sand"

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
THIN = 'transmissivity = "0.001 m2/s"\nthickness = "2 m"\nstorativity = 0.1\nporosity = 0.25\n'
POOR = 'transmissivity = "2e-5 m2/s"\nthickness = "20 m"\nstorativity = 0.001\nporosity = 0.25\n'
BY = '{ by = "B. Hydrogeologist, 2026-03-02" }'


FLOW = 12e3 * 3 / 4 / (4.0 * 4.19e6)
"""12 kW x 3/4 / (4 K x 4.19 MJ/m3K): 0.54 L/s [m3/s]."""


def loads(hours: float = 1800, years: int = 1) -> str:
    """Loads of a lot: with few years what is said of them is known at once."""
    return LOADS.format(hours=hours, years=years)


@pytest.fixture
def lot(write_site: Callable[..., Path]) -> Callable[..., Site]:
    def built(
        aquifer: str = KNOWN.format(gradient=0.002),
        wells: str = "",
        sizes: str = loads(),
        *,
        neighbour: tuple[float, float] = (400.0, 45.0),
        known: str = "",
    ) -> Site:
        wells = wells if "yield" in wells else f'yield = "2 L/s"\n{wells}'
        text = LOT.format(
            aquifer=aquifer, wells=wells, sizes=sizes, neighbour=list(neighbour), known=known
        )
        return replace(read_site(write_site(text)), source=Path("site.toml"))

    return built


@dataclass(frozen=True)
class Asked:
    """A pair on a lot that nobody has planned, and what is said of it."""

    site: Site
    layout: Layout
    study: WellStudy

    def of(self, code: str) -> list[Finding]:
        """What is said under a code."""
        found = remarks_of(lot_of(self.site), self.layout, self.study)
        return [finding for finding in found if finding.code == code]

    def said(self, code: str) -> Finding:
        """What is said once under a code."""
        (one,) = self.of(code)
        return one

    def open_to(self, **changes: Any) -> Asked:
        """The same water where other things are stated of the wells."""
        return replace(self, site=with_options(self.site, **changes))


def with_options(site: Site, **changes: Any) -> Site:
    """A site with other options of its open loop."""
    options: OpenOptions = replace(site.exchanger.open, **changes)
    return replace(site, exchanger=replace(site.exchanger, open=options))


def asked(
    site: Site, apart_m: float = 16.0, flow_m3s: float = FLOW, *, whole: bool = False
) -> Asked:
    """A return well so far north of the supply, which is an existing one where the site says so."""
    known = site.exchanger.open.supply
    at = next(one.shape.centroid for one in site.features if one.id == (known or "house"))
    depth_m = 0.0 if known else 40.0
    wells = (
        Well("SUPPLY", at.x, at.y + (0 if known else 10), 0.15, depth_m, "supply", known),
        Well("RETURN", at.x, at.y + (0 if known else 10) + apart_m, 0.15, 40.0, "return"),
    )
    layout = Layout("open", wells, None, 15.0, 0.0)
    return Asked(site, layout, (studied if whole else looked_at)(site, layout, flow_m3s))


@cache
def studied(site: Site, layout: Layout, flow_m3s: float) -> WellStudy:
    """What is known of the pair."""
    study = study_wells(site, layout, flow_m3s)
    assert study is not None
    return study


@cache
def looked_at(site: Site, layout: Layout, flow_m3s: float) -> WellStudy:
    """Levels and drift of the pair alone; no streamline is followed, no friction counted."""
    level_m = site.exchanger.open.level_m
    seasons = seasons_of(site.exchanger, flow_m3s)
    supply, back = layout.of(Well)
    pair = heat_pair(site.exchanger.open.aquifer, supply, back, flow_m3s)
    levels = levels_of(site, supply, back, seasons)
    lift = None if level_m is None else Lift(level_m + levels.supply_m, 0.0, 0.0, 0.0)
    return WellStudy(
        seasons=seasons,
        pair=pair,
        still_s=breakthrough_s(pair),
        full_s=math.inf,
        season_s=math.inf,
        share=0.0,
        drift_k=tuple(drift_of(site.exchanger, pair, seasons)),
        levels=levels,
        water=SpreadingWater(pair, site.exchanger.open.aquifer, back, supply, seasons),
        lift=lift,
        down_m=0.0,
    )


def of(plan: SitePlan, code: str) -> list[Finding]:
    return [finding for finding in plan.drawn.findings if finding.code == code]


def test_a_pair_in_flowing_groundwater_fits_and_keeps_apart(lot: Callable[..., Site]) -> None:
    plan = planned_once(lot(KNOWN.format(gradient=0.004), 'static_level = "5 m"', loads(years=25)))
    assert plan.fits
    (said,) = of(plan, "wells-apart-for-years")
    assert "25 years" in in_words(said)
    assert "flows" in in_words(said)


def test_a_pair_in_still_groundwater_is_told_when_water_comes_back(
    lot: Callable[..., Site],
) -> None:
    pair = asked(lot(KNOWN.format(gradient=0.0)), whole=True)
    # pi b L^2 C/(3 Q Cw), without flow past the streamlines give the same
    assert pair.study.full_s == pytest.approx(pair.study.still_s, rel=1e-3)
    days = f"{pair.study.still_s // 86400:.0f} days of full flow"
    assert days in in_words(pair.said("wells-come-back"))


def test_a_supply_that_would_freeze_stops_the_plan(lot: Callable[..., Site]) -> None:
    plan = planned_once(lot(THIN, sizes=loads(years=10).replace("11 C", "6 C")))
    (said,) = of(plan, "supply-freezes")
    assert not plan.fits
    assert "would freeze" in plan.content().verdict
    assert said.severity == "error"
    (apart,) = of(plan, "separation-wished")
    assert apart.measured_m is not None
    assert apart.required_m is not None
    assert apart.measured_m < apart.required_m
    assert "stands still" in in_words(apart)
    # a gradient that nobody states is told as still groundwater
    block = wells_block(plan.content(), 150.0)
    assert block is not None
    texts = [item.text for item in block.items if isinstance(item, Text)]
    row = texts.index("flow of the groundwater")
    assert texts[row + 1] == "none"


def test_somebody_may_answer_for_a_supply_that_drifts(lot: Callable[..., Site]) -> None:
    cold = asked(lot(THIN, sizes=loads().replace("11 C", "6 C")))
    assert cold.of("supply-freezes")
    answered = cold.open_to(drift_by="B. Hydrogeologist, 2026-03-02")
    assert answered.of("supply-freezes") == answered.of("separation-wished") == []
    assert "B. Hydrogeologist" in in_words(answered.said("supply-drift-agreed"))
    assert answered.said("supply-drift-agreed").severity != "error"


def test_a_drift_of_more_than_a_kelvin_is_a_warning(lot: Callable[..., Site]) -> None:
    pair = asked(lot(KNOWN.format(gradient=0.0).replace("20 m", "4 m"), sizes=loads(2600)))
    # 11 C - 4 K and a drift of less than 6.5 K stays above 0.5 C
    assert 1.0 < abs(pair.study.greatest_k) < 6.5
    assert pair.said("supply-drifts").severity == "warning"
    assert pair.of("supply-freezes") == []


def test_what_nobody_states_is_named_as_assumed(lot: Callable[..., Site]) -> None:
    pair = asked(lot("", f"drift = {BY}"))
    for name in ("hydraulic conductivity", "thickness", "storativity", "porosity", "gradient"):
        assert name in in_words(pair.said("aquifer-assumed"))
    assert pair.of("static-level-not-stated")
    assert "hardness and iron" in in_words(pair.said("water-not-analysed"))
    stated = lot(KNOWN.format(gradient=0.002) + "hardness = 50\niron = 0.01", f"drift = {BY}")
    known = replace(pair, site=stated)
    assert known.of("aquifer-assumed") == known.of("water-not-analysed") == []


def test_hard_water_and_iron_are_warned_of(lot: Callable[..., Site]) -> None:
    site = lot(KNOWN.format(gradient=0.002) + "hardness = 320\niron = 0.85")
    pair = replace(asked(lot(KNOWN.format(gradient=0.0))), site=site)
    assert "320 mg/L" in in_words(pair.said("water-hard"))
    assert "0.85 mg/L" in in_words(pair.said("water-with-iron"))


def test_a_supply_that_runs_dry_is_an_error(lot: Callable[..., Site]) -> None:
    pair = asked(lot(POOR, f'static_level = "30 m"\ndrift = {BY}'))
    assert pair.study.levels.supply_m > 10.0
    said = pair.said("supply-runs-dry")
    assert said.required_m == 40.0
    assert said.severity == "error"


def test_little_water_over_the_toe_is_a_warning(lot: Callable[..., Site]) -> None:
    pair = asked(lot(KNOWN.format(gradient=0.0), f'static_level = "38 m"\ndrift = {BY}'))
    said = pair.said("supply-nearly-dry")
    assert said.measured_m is not None
    assert 1.0 < said.measured_m < 2.0


def test_a_return_well_that_runs_over_is_an_error(lot: Callable[..., Site]) -> None:
    pair = asked(lot(POOR, f'static_level = "30 m"\ndrift = {BY}')).open_to(level_m=2.0)
    assert 2.0 < pair.study.levels.back_m < 30.0
    assert pair.said("return-overflows").severity == "error"


def takes(pair: Asked) -> tuple[Condition, ...]:
    """What Indiana's book comes to, which asks for one and a half times the flow."""
    return conditions_on(pair.site, (load_book("indiana"),), "open", pair.layout, pair.study)


def test_a_return_well_takes_half_as_much_again(lot: Callable[..., Site]) -> None:
    # 312 IAC 13-8-1
    pair = asked(lot(KNOWN.format(gradient=0.0)))
    rise = pair.study.levels.back_m
    assert pair.study.levels.reserve_m == pytest.approx(1.5 * rise)
    (kept,) = takes(pair)
    assert kept.kept
    assert "are wanted" in in_words(kept.here)
    high = pair.open_to(level_m=1.2 * rise)
    # no book of the site asks it: nothing is said
    assert high.of("return-takes-too-little") == []
    (said,) = bound_findings(takes(high), high.site)
    assert (said.code, said.severity) == ("return-takes-too-little", "error")
    assert "run over" in in_words(said)
    untested = pair.open_to(level_m=None, yield_m3s=None)
    (unsaid,) = bound_findings(takes(untested), untested.site)
    assert (unsaid.code, unsaid.severity) == ("return-not-tested", "warning")
    # the water rises by one and a half times as much, and stays below ground
    deep = pair.open_to(level_m=1.6 * rise, yield_m3s=None)
    (risen,) = takes(deep)
    assert risen.kept
    assert list(bound_findings(takes(deep), deep.site)) == []
    assert "would rise by" in in_words(risen.here)
    # 40 kW: 1.8 L/s, x 1.5 = 2.7 L/s, of which a yield of 2 L/s is less
    much = replace(pair.study, seasons=replace(pair.study.seasons, flow_m3s=FLOW * 40 / 12))
    (little,) = takes(replace(pair, study=much))
    assert not little.kept
    assert "gives 31.7 gpm" in in_words(little.here)  # 2 L/s


def test_a_neighbours_well_that_is_drawn_down_is_named(lot: Callable[..., Site]) -> None:
    draws, place = POOR, (30.0, 20.0)
    known = 'static_level = "4 m"\nwell_depth = "9 m"'
    pair = asked(lot(draws, f"drift = {BY}", neighbour=place, known=known))
    said = pair.said("neighbor-drawn-down")
    assert said.subject == "neighbour"
    assert "16.4 ft stand in it" in in_words(said)
    (near,) = pair.study.levels.neighbours
    levels = replace(pair.study.levels, neighbours=(replace(near, water_m=None),))
    unknown = replace(pair, study=replace(pair.study, levels=levels))
    assert "not stated" in in_words(unknown.said("neighbor-drawn-down"))


def test_a_well_in_the_way_of_water_returned_is_named(lot: Callable[..., Site]) -> None:
    flowing = KNOWN.format(gradient=0.004)
    north = asked(lot(flowing, sizes=loads(years=5), neighbour=(20.0, 90.0)), whole=True)
    assert north.said("neighbor-warmed-or-cooled").subject == "neighbour"
    supply, back = north.layout.of(Well)
    site = lot(flowing, sizes=loads(years=5), neighbour=(20.0, -60.0))
    plume = north.study.spreads[-1].plume
    levels = levels_of(site, supply, back, north.study.seasons, lambda: plume)
    south = replace(north, site=site, study=replace(north.study, levels=levels))
    assert south.of("neighbor-warmed-or-cooled") == []


def test_without_loads_hours_are_assumed(lot: Callable[..., Site]) -> None:
    pair = asked(lot(sizes='capacity = "10 kW"', wells=f"drift = {BY}"))
    assert "1800 h" in in_words(pair.said("seasons-assumed"))


def test_a_separation_that_is_not_to_be_had_is_said_so(lot: Callable[..., Site]) -> None:
    much = loads(4000, years=25).replace("12 kW", "200 kW")
    pair = asked(lot(THIN, 'yield = "40 L/s"', loads(4000)), flow_m3s=FLOW * 200 / 12)
    beyond = replace(pair, site=lot(THIN, 'yield = "40 L/s"', much))
    assert "more than 984.3 ft" in in_words(beyond.said("no-separation-wished"))


def test_a_return_well_that_can_only_stand_up_the_flow_is_named(lot: Callable[..., Site]) -> None:
    wells = f'supply = "neighbour"\ndrift = {BY}'
    pair = asked(lot(wells=wells, neighbour=(20, 45)), apart_m=-20.0, whole=True)
    said = pair.said("return-up-the-flow")
    assert said.measured_m == pytest.approx(20.0)


def test_an_existing_supply_well_is_judged_by_the_depth_that_is_stated(
    lot: Callable[..., Site],
) -> None:
    wells = f'supply = "neighbour"\ndrift = {BY}'
    known = 'static_level = "9 m"\nwell_depth = "10 m"'
    shallow = asked(lot(wells=wells, neighbour=(20, 30), known=known))
    said = shallow.said("supply-nearly-dry")
    assert said.measured_m is not None
    assert 0.5 < said.measured_m < 1.0
    site = lot(wells=wells, neighbour=(20, 30), known=known.replace("10 m", "40 m"))
    deep = replace(shallow, site=site)
    assert deep.of("supply-nearly-dry") == deep.of("supply-runs-dry") == []


def test_where_the_groundwater_flows_the_separation_wished_is_down_the_flow(
    lot: Callable[..., Site],
) -> None:
    pair = asked(lot(f'{THIN}\ngradient = 0.0001\ndirection = "N 0 E"'))
    assert "straight down the groundwater's flow" in in_words(pair.said("separation-wished"))
