"""Length, circuits, pipe, flow and fluid of a plan agree with one another."""

import math
from dataclasses import replace

import pytest
from campaign import thorough
from planned import unweighed
from small_lot import HEATED, bare, unsized
from wording import in_words

from siteplan.alternatives.assumptions import assumption_words, instead_words
from siteplan.demand.required import laid_out, required_of
from siteplan.hydraulics.fluids import freezing_point
from siteplan.plan import lay_out, plan_site
from siteplan.quantities.take_off import take_off
from siteplan.report.pipe_words import basis_words
from siteplan.sheet.tables.reasoning import assumed_table
from siteplan.site.readers.site_file import read_site
from siteplan.site.trench_kinds import trench_kinds
from siteplan.units.systems import US

POND = """
[[feature]]
id = "pond"
kind = "pond"
area = [[5, 5], [75, 5], [75, 60], [5, 60]]
depth = "12 ft"
side_slope = 0
"""


@pytest.fixture
def site_of(lot_text, write_site):
    """Site of the small lot, or of other ground with its entry at the same place."""

    def read(tables: str, loads: str = HEATED, features: str = "", lot_text: str = lot_text):
        text = unsized(lot_text).replace("[exchanger]", f"{features}[exchanger]")
        return read_site(write_site(f"{text}{loads}{tables}"))

    return read


def settles(site, system):
    """Whether a plan's length is that of the pipe, flow and places that it draws and buys."""
    trial = lay_out(site, system)
    layout, required = trial.layout, trial.required
    assert required.basis == "calculated"
    assert layout.circuits
    sizes = {item.size for item in take_off(site, layout) if item.what == "circuit pipe"}
    assert sizes == {circuit.pipe for circuit in layout.circuits}
    again = required_of(site.exchanger, system, laid=laid_out(layout))
    assert laid_out(layout).pipe in sizes
    assert again.length_m == pytest.approx(required.length_m)


@pytest.mark.parametrize("kind", list(trench_kinds()))
@pytest.mark.parametrize("pipe", ["", thorough('[circuits]\npipe = "1-1/4 in"\n')])
def test_the_length_of_a_trench_is_that_of_the_pipe_bought(site_of, lot_text, kind, pipe):
    # a pit of 12 ft needs more than the usual 10 ft from one to the next
    field = f'[horizontal]\nkind = "{kind}"\nshortest = "20 ft"\nspacing = "14 ft"\n'
    loads, square = HEATED.replace("12 MBH", "6 MBH"), bare(lot_text, 120)
    settles(site_of(field + pipe, loads=loads, lot_text=square), "horizontal")


@pytest.mark.parametrize("depth", ["200 ft", "450 ft"])
def test_the_length_of_bores_is_that_of_the_pipe_bought(site_of, depth):
    settles(site_of(f'[vertical]\ndepth = "{depth}"\n'), "vertical")


def test_the_length_of_coils_is_that_of_the_pipe_bought(site_of):
    settles(site_of("", features=POND), "pond")


def test_a_fluid_too_near_to_freezing_does_not_fit_and_says_what_helps(site_of):
    # propylene glycol 15 % freezes at -3.9 C, Lange's Handbook of Chemistry; 5 K above that are
    # common practice, no source
    cold = '[fluid]\nmixture = "propylene glycol 15 %"\ncoldest = "30 F"\n'
    plan = unweighed(site_of(cold), "vertical")
    assert not plan.fits
    assert "freez" in in_words(plan.drawn.why)
    (told,) = (finding for finding in plan.drawn.findings if finding.code == "freezing")
    assert told.severity == "error"
    sentence = in_words(told, US)
    assert "25.0 °F" in sentence
    assert "°C" not in sentence
    # each of the ways is enough by itself
    assert "[fluid] mixture" in sentence
    assert "[fluid] coldest" in sentence
    named = sentence.partition("What helps: ")[2].partition(" ([fluid] mixture)")[0]
    assert freezing_point(named) <= told.values["lowest_c"] - 5.0
    stronger = cold.replace("propylene glycol 15 %", named)
    assert unweighed(site_of(stronger), "vertical").fits


def test_the_flow_that_is_named_against_freezing_is_enough(site_of):
    slow = '[circuits]\nflow = "1.2 gpm"\n[fluid]\nmixture = "methanol 20 %"\n'
    plan = unweighed(site_of(slow), "vertical")
    assert not plan.fits
    (told,) = (finding for finding in plan.drawn.findings if finding.code == "freezing")
    flow = next(way.values["flow_m3s"] for way in told.values["ways"] if "flow_m3s" in way.values)
    gpm = flow / 6.30902e-5
    faster = slow.replace("1.2 gpm", f"{gpm + 0.05:.2f} gpm")
    assert unweighed(site_of(faster), "vertical").fits


def test_flow_and_change_are_not_both_taken(site_of):
    from siteplan.errors import InputError

    both = '[circuits]\nflow = "6 gpm"\n[fluid]\nheating_drop = "6 F"\n'
    with pytest.raises(InputError, match="heating_drop: follows from the loads"):
        site_of(both)


def test_half_the_flow_changes_the_fluid_twice_as_much(site_of):
    changes = []
    for flow in ("6 gpm", "3 gpm"):
        site = site_of(f'[circuits]\nflow = "{flow}"\n[fluid]\nmixture = "methanol 20 %"\n')
        (balance,) = plan_site(site, system="vertical").drawn.layout.piping.hydraulics.balances
        changes.append(balance.change_k)
    assert changes[1] == pytest.approx(2 * changes[0])


def test_a_stated_change_gives_the_flow(site_of):
    site = site_of('[fluid]\nheating_drop = "5 F"\nmixture = "methanol 20 %"\n')
    flow = plan_site(site, system="vertical").drawn.layout.piping.hydraulics
    assert flow.basis == "from-change"
    assert basis_words(flow.basis, US) == "from the change across the heat pump"
    assert flow.balances[0].change_k == pytest.approx(5 / 1.8)


def test_what_nobody_stated_is_shown_as_assumed_with_what_it_does(site_of):
    plan = plan_site(site_of(""), system="vertical")
    assumed = {each.path: each for each in plan.assumed}
    assert {"loop.grout", "loads.cop", "fluid.coldest", "circuits.flow"} <= set(assumed)
    # poorer grout asks for more, and a better heat pump draws more from the ground
    assert assumed["loop.grout"].lower > 0 > assumed["loop.grout"].higher
    assert assumed["loads.cop"].higher > 0 > assumed["loads.cop"].lower
    name, value, lower, _ = assumption_words(assumed["loop.grout"], US)
    assert (name, value) == ("grout conductivity", "0.90 Btu/hr·ft·°F")
    assert lower.startswith("10 % lower: +")
    stated = site_of('[loop]\ngrout = "0.9 Btu/h.ft.F"\n')
    again = plan_site(stated, system="vertical")
    assert "loop.grout" not in {each.path for each in again.assumed}
    assert again.drawn.required.length_m == plan.drawn.required.length_m
    assert any(row["key"] == "loop.grout" for row in plan.summary()["assumed"])


def test_plain_bentonite_stands_by_name_beside_an_assumed_grout(site_of):
    plan = plan_site(site_of(""), system="vertical")
    (grout,) = (each for each in plan.assumed if each.path == "loop.grout")
    name, value, more = instead_words(grout, US)
    # 0.43 Btu/h ft F: common practice, no source
    assert (name, value) == ("plain bentonite", "0.43 Btu/hr·ft·°F")
    # what the plan needs where the site file states it, but for where further bores stand
    stated = plan_site(site_of('[loop]\ngrout = "0.43 Btu/h.ft.F"\n'), system="vertical")
    grown_m = stated.drawn.required.length_m - plan.drawn.required.length_m
    assert grown_m > 0
    assert grout.instead.more_m == pytest.approx(grown_m, rel=0.05)
    assert more == f"about {math.ceil(grout.instead.more_m / 0.3048)} ft more"
    others = [each for each in plan.assumed if each is not grout]
    assert [instead_words(each, US) for each in others] == [None] * len(others)
    (row,) = (row for row in plan.summary()["assumed"] if row["instead"] is not None)
    assert row["instead"]["words"] == "plain bentonite 0.43 Btu/hr·ft·°F"
    cells = assumed_table(plan.assumed, US).rows
    assert (f"with plain bentonite: {more}", value, "", "") in cells


def test_a_soil_named_is_assumed_with_its_value_and_source(site_of):
    # 5.4 Btu in/h ft2 F, which is 0.45 Btu/h ft F: sand, low value for design, ASHRAE Handbook,
    # Fundamentals, conductivity of soils and rocks
    soil = HEATED.replace('conductivity = "1.3 Btu/h.ft.F"\n', 'soil = "sand"\n')
    plan = plan_site(site_of("", soil), system="vertical")
    assumed = {each.path: each for each in plan.assumed}
    name, value, *_ = assumption_words(assumed["ground.conductivity"], US)
    assert value == "0.45 Btu/hr·ft·°F"
    assert name == (
        "ground conductivity (sand, low design value of sand in ASHRAE Handbook, Fundamentals)"
    )


def test_what_bears_on_bores_alone_is_not_assumed_of_trenches(site_of):
    plan = unweighed(site_of(""), "horizontal")
    assert plan.assumed
    assert not {"loop.grout", "loop.gap"} & {each.path for each in plan.assumed}


def test_deeper_trenches_proposed_do_fit_with_the_length_their_depth_needs(site_of, lot_text):
    # the yearly wave dies away with depth (Kusuda and Achenbach 1965): less length is required
    few = '[horizontal]\nkind = "two pipes side by side"\nspacing = "40 ft"\n'
    loads = HEATED.replace("12 MBH", "7.7 MBH")
    site = site_of(few, loads=loads, lot_text=bare(lot_text, 80))
    plan = plan_site(site, system="horizontal")
    assert not plan.fits
    (change,) = [one.change for one in plan.weighing.remedies if one.kind == "depth"]
    options = replace(site.exchanger.horizontal, depth_m=change.values["depth_m"])
    deeper = lay_out(
        replace(site, exchanger=replace(site.exchanger, horizontal=options)), "horizontal"
    )
    assert deeper.fits
    assert deeper.required.length_m == pytest.approx(change.values["length_m"])
    assert deeper.required.length_m < plan.drawn.required.length_m
    deep_ft = round(change.values["depth_m"] / 0.3048)
    assert 5 < deep_ft <= 8
    assert in_words(change).startswith(f"trenches {deep_ft}.0 ft deep instead of 5.0 ft: ")
