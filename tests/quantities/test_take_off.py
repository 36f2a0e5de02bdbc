"""The take-off of fields that anybody can add up."""

import csv
import datetime
import io
import math
from dataclasses import replace

import pytest
from pipe_fields import FT, GPM, bores, exchanger, trenches
from planned import planned
from shapely import box
from wording import in_words

from siteplan.advisories.pipes import freezing_remarks, pipe_remarks
from siteplan.export.takeoff import takeoff_csv
from siteplan.findings.model import reason
from siteplan.layout.piping.pipes import with_pipes
from siteplan.layout.piping_model import Fittings, HeaderPiece, HeaderPipe, Piping
from siteplan.layout.pit import HeaderPit
from siteplan.quantities.grout import grout_of
from siteplan.quantities.take_off import amount_of, fluid_volume, header_sand, take_off
from siteplan.site.energy import Fluid
from siteplan.site.model import Feature, Project, Site
from siteplan.site.piping import GroutOptions
from siteplan.units.systems import METRIC, US

GALLON = 231 * 0.0254**3


def site_of(wanted, *features, unit=METRIC):
    project = Project("Field", "A. Owner", datetime.date(2026, 3, 14))
    return Site(project, unit, box(-50, -50, 150, 150), features, (), wanted)


def items_of(layout, wanted, *features):
    site = site_of(wanted, *features)
    found = take_off(site, with_pipes(layout, wanted))
    return {(item.what, item.size): item.amount for item in found}


def named(items, what):
    return sum(amount for (name, _), amount in items.items() if name == what)


def test_two_trenches_of_two_pipes_are_added_up_by_hand():
    items = items_of(trenches([60.0, 60.0], lead=6.0), exchanger())
    assert items["circuit pipe", "3/4 in"] == pytest.approx(240.0)
    # a pair each to the entry: 2 x 6 m and 2 x 9 m
    assert items["header pipe", "3/4 in"] == pytest.approx(30.0)
    assert items["U-bend", "3/4 in"] == 2
    assert named(items, "header trench") == pytest.approx(9.0)
    # 2 ft wide (12 in apart, 6 in to each side), 4 ft deep
    assert named(items, "header trench dug") == pytest.approx(9.0 * 2 * FT * 4 * FT)
    assert named(items, "exchanger trench dug") == pytest.approx(120.0 * 0.6 * 1.5)
    # 3 in below to 6 in above the pipes: 9 in; in the header trench, as its section is drawn, with
    # the 1.05 in of a 3/4 in pipe (iron pipe size, ASTM D3035) between: 10.05 in
    sand = 9.0 * 2 * FT * 10.05 * FT / 12 + 120.0 * 0.6 * 0.75 * FT
    assert named(items, "sand") == pytest.approx(sand)
    assert named(items, "tracer wire") == named(items, "warning tape") == pytest.approx(129.0)
    assert named(items, "antifreeze, pure") == 0  # nobody has said what flows


def test_a_wide_trench_needs_no_fitting_at_its_far_end():
    from dataclasses import replace

    layout = trenches([60.0])
    # 2 x 25 x 1.05 in + 1.05 in = 53.55 in = 1.360 m
    for width, count in ((1.35, 1), (1.37, 0)):
        wide = replace(layout, elements=(replace(layout.elements[0], width_m=width),))
        assert named(items_of(wide, exchanger()), "U-bend") == count


def test_eight_bores_take_eight_u_bends_and_fourteen_tees():
    items = items_of(bores(8), exchanger())
    assert named(items, "U-bend") == 8
    assert named(items, "tee") == 14
    assert items["header pipe", "by flow"] == pytest.approx(2 * 6 + 3 * 42)  # reverse return
    assert named(items, "reducer") == 0  # no size is known


def test_fluid_and_antifreeze_follow_from_published_fill_volumes():
    # a pump manual, SDR-11 IPS: 1 in, 4.7 US gallons in 100 ft
    wanted = exchanger(circuits={"flow_m3s": 6 * GPM})
    layout = with_pipes(bores(2, depth=100 * FT), wanted)
    pipe = sum(one.length_m for one in layout.circuits) + sum(layout.piping.lengths_m.values())
    volume = fluid_volume(layout)
    assert volume / GALLON == pytest.approx(4.7 * pipe / (100 * FT), rel=0.01)
    items = items_of(bores(2, depth=100 * FT), wanted)
    assert items["antifreeze, pure", "propylene glycol 20 %"] == pytest.approx(0.2 * volume)


def grouted(layout, unit=US, **options):
    wanted = exchanger()
    wanted = replace(wanted, piping=replace(wanted.piping, grout=GroutOptions(**options)))
    site = site_of(wanted, unit=unit)
    return site, with_pipes(layout, wanted)


def test_grout_fills_the_bore_around_its_pipes_up_to_the_header_trench():
    # two bores of 6 in, 300 ft deep, 4 ft of them in the header trench, U-bends of 1 in pipe, 1.315
    # in across: 2 x 296 ft x pi/4 (6^2 - 2 x 1.315^2) in2 = 592 x 25.558 / 144 = 105.07 cu ft
    # = 785.99 gal of 231 cu in; a tenth more, 864.6 gal
    layout = bores(2, depth=300 * FT)
    layout = replace(layout, elements=tuple(replace(b, diameter_m=FT / 2) for b in layout.elements))
    site, piped = grouted(layout, extra=0.1, yield_m3=20.4 * GALLON, sand_kg=200 * 0.45359237)
    grout = grout_of(site, piped)
    assert grout.grouted_m == pytest.approx(592 * FT)
    assert grout.annulus_m3 / GALLON == pytest.approx(785.99, rel=1e-4)
    items = {item.what: amount_of(item, US) for item in take_off(site, piped)}
    (mixed,) = (item for item in take_off(site, piped) if item.what == "grout, mixed")
    assert "10 % for loss" in mixed.basis
    assert items["grout, mixed"] == (865.0, "gal")
    # 864.6 / 20.4 = 42.4 bags; 50 lb of bentonite with 18 gal of water (8.345 lb each) at 9.8 lb a
    # gallon, N.J.A.C. 7:9D App. A Table 3, are (50 + 18 x 8.345) / 9.8 = 20.4 gal
    assert items["grout, bags"] == (43.0, "EA")
    assert items["silica sand"] == (8600.0, "lb")


def test_grout_without_a_yield_is_a_volume_alone_and_says_what_is_missing():
    site, piped = grouted(bores(2), unit=METRIC, extra=0.0, sand_kg=90.0)
    found = {item.what: item for item in take_off(site, piped)}
    # 2 x (60 - 1.2192) m x pi/4 (0.15^2 - 2 x 0.033401^2) m2 = 1.8715 m3
    assert amount_of(found["grout, mixed"], METRIC) == (1872.0, "L")
    assert "once the yield of one is stated" in found["grout, mixed"].basis
    assert "grout, bags" not in found
    assert "for loss" not in found["grout, mixed"].basis
    # sand goes by the bag
    assert grout_of(site, piped).all_sand_kg == 0.0
    assert "common practice" not in found["grout, mixed"].basis


@pytest.mark.parametrize(
    ("extra", "told"),
    # what nobody stated is common practice, what somebody stated is theirs
    [({}, "10 % for loss, common practice"), ({"extra": 0.15}, "15 % for loss;")],
)
def test_who_says_what_grout_is_bought_beyond_the_bores_is_told(extra, told):
    found = {item.what: item for item in take_off(*grouted(bores(2), **extra))}
    assert told in found["grout, mixed"].basis


def test_an_inclined_bore_is_grouted_along_its_length_and_passes_the_header_slantwise():
    # 60 deg from the vertical: 1 m of depth is 2 m of bore
    layout = bores(2, depth=100.0)
    layout = replace(layout, elements=tuple(replace(b, tilt_deg=60.0) for b in layout.elements))
    site, piped = grouted(layout)
    assert grout_of(site, piped).grouted_m == pytest.approx(2 * (100.0 - 2 * 4 * FT))


def test_a_bore_that_its_pipes_fill_takes_no_grout():
    # two legs of 1 in HDPE (33.4 mm outside, ASTM D3035) have more section than a hole of 45 mm
    layout = bores(2)
    narrow = tuple(replace(bore, diameter_m=0.045) for bore in layout.elements)
    assert 2 * 33.4**2 > 45.0**2
    site, piped = grouted(replace(layout, elements=narrow))
    assert grout_of(site, piped).annulus_m3 == 0.0


def test_a_bore_no_deeper_than_the_header_trench_has_nothing_to_fill():
    layout = bores(2)
    short = tuple(replace(bore, depth_m=3 * FT) for bore in layout.elements)
    assert grout_of(*grouted(replace(layout, elements=short))).grouted_m == 0.0


def test_trenches_take_no_grout():
    site, piped = grouted(trenches([60.0, 60.0]))
    assert grout_of(site, piped) is None


def test_run_outs_and_the_manifold_are_counted_group_by_group():
    wanted = exchanger(header={"layout": "direct return"})
    site = site_of(wanted)
    found = {item.what: item for item in take_off(site, with_pipes(bores(13), wanted))}
    # groups of 7 and 6: pairs of 6 m and 48 m; behind them 2 x 36 m and 2 x 30 m
    assert found["run-out pipe"].amount == pytest.approx(2 * 6 + 2 * 48)
    assert "G1 2 × 6 m, G2 2 × 48 m" in found["run-out pipe"].basis
    assert found["header pipe"].amount == pytest.approx(2 * 36 + 2 * 30)
    assert found["isolation valve"].amount == 4
    assert found["balancing valve"].amount == 2
    assert found["purge port"].amount == 4
    assert (found["manifold"].amount, found["manifold"].size) == (2, "2 ports")
    # one trench for all of it
    assert found["header trench"].amount == pytest.approx(6 + 12 * 6)
    undivided = {item.what for item in take_off(site, with_pipes(bores(12), wanted))}
    assert not undivided & {"run-out pipe", "isolation valve", "manifold", "purge port"}


def test_a_header_under_water_is_not_dug():
    pond = Feature("pond", "pond", box(-5, 3, 5, 100))
    items = items_of(bores(2, lead=6.0), exchanger(), pond)
    assert named(items, "header trench") == pytest.approx(3.0)  # of 12 m, 9 m lie in the pond


@pytest.mark.parametrize(
    ("features", "told"),
    [((), "along the header"), ((Feature("pond", "pond", box(-5, 3, 5, 9)),), "outside ponds")],
)
def test_a_header_trench_says_whether_some_of_the_header_lies_in_water(features, told):
    wanted = exchanger()
    site = site_of(wanted, *features)
    items = take_off(site, with_pipes(bores(2, lead=6.0), wanted))
    assert {item.basis for item in items if item.what == "header trench"} == {told}
    # what is no trench is dug to no depth
    assert {item.depth_m for item in items if item.ware != "trench"} == {0.0}


def test_the_table_rounds_up_and_names_its_units():
    wanted = exchanger(circuits={"flow_m3s": 6 * GPM})
    layout = with_pipes(trenches([60.0, 60.0]), wanted)
    text = takeoff_csv(site_of(wanted, unit=US), layout)
    rows = {row["item"]: row for row in csv.DictReader(io.StringIO(text))}
    assert rows["circuit pipe"]["quantity"] == "788"  # 240 m = 787.4 ft
    assert rows["exchanger trench dug"]["unit"] == "cu yd"
    # 108 m3 are 141.259 cu yd (0.764554858 m3 each), told in tenths and rounded up
    assert rows["exchanger trench dug"]["quantity"] == "141.3"
    assert rows["exchanger trench dug"]["basis"].startswith("sides upright")
    assert all(row["basis"] for row in rows.values())


def test_without_a_layout_the_table_is_its_heading():
    assert takeoff_csv(site_of(exchanger()), None) == "item,size,quantity,unit,basis\n"


def codes(layout, wanted):
    return {one.code: one for one in pipe_remarks(site_of(wanted), with_pipes(layout, wanted))}


def test_trenches_cut_for_even_circuits_are_said_to_be():
    wanted = exchanger()
    layout = replace(with_pipes(trenches([60.0, 60.0]), wanted), evened=True)
    found = {one.code: one for one in pipe_remarks(site_of(wanted), layout)}
    assert found["trenches-evened"].severity == "note"


def test_even_circuits_are_not_mentioned():
    assert "circuits-unbalanced" not in codes(trenches([60.0, 60.0]), exchanger())


def test_a_circuit_longer_than_its_pipe_allows_is_said():
    wanted = exchanger(circuits={"pipe": "3/4 in"})
    found = codes(trenches([90.0]), wanted)["circuit-too-long"]
    assert found.measured_m == pytest.approx(180.0)
    assert found.required_m == pytest.approx(500 * FT)


def test_a_slow_flow_is_said_to_be_laminar_and_a_fast_one_is_not():
    slow = exchanger(circuits={"flow_m3s": 6 * GPM})
    assert "below 2,500" in in_words(codes(bores(4), slow)["laminar"])
    assert "laminar" not in codes(bores(4), exchanger(circuits={"flow_m3s": 20 * GPM}))


def test_short_bores_with_a_slow_flow_could_be_joined_in_series():
    slow = exchanger(circuits={"flow_m3s": 6 * GPM})
    assert "Join 2 bores in series" in in_words(codes(bores(4, depth=45.0), slow)["laminar"])


@pytest.mark.parametrize(
    ("mixture", "words"),
    [
        ("water", "would freeze"),  # at 0 C, leaving the heat pump at -3.3 C
        ("methanol 10 %", "too near to freezing"),  # -5.0 C: 1.7 K below
        ("methanol 20 %", None),  # -11.7 C
    ],
)
def test_the_freezing_point_is_held_against_the_coldest_fluid(mixture, words):
    fluid = Fluid(0.0, 32.0, 10 / 3, 5.0, mixture)
    wanted = exchanger(circuits={"flow_m3s": 20 * GPM}, fluid=fluid)
    told = [in_words(finding) for finding in freezing_remarks(site_of(wanted), bores(4))]
    assert len(told) == (words is not None)
    assert all(words in sentence for sentence in told)


def test_a_narrow_trench_is_said_to_need_u_bend_fittings():
    found = codes(trenches([60.0]), exchanger())["return-bend"]
    assert found.required_m == pytest.approx(51 * 1.050 * 0.0254)


def test_too_much_flow_for_any_pipe_is_said():
    flood = exchanger(circuits={"flow_m3s": 3000 * GPM}, header={"layout": "direct return"})
    assert "several headers" in in_words(codes(bores(5), flood)["header-too-small"])


def test_sloped_sides_are_dug_as_well():
    # soil B, 1 to 1: 2 ft at the bottom, 14 ft at the top, 6 ft deep: 48 sq ft x 400 ft
    plan = planned("rural-acre/sloped.toml")
    found = {item.what: item for item in take_off(plan.site, plan.drawn.layout)}
    dug = found["exchanger trench dug"]
    # each end slopes out 6 ft as well: a wedge 6 x 6 / 2 x 2 ft, two quarters of a cone of 6 ft
    # across its half and 6 ft high: 36 + pi 36 x 6 / 3 / 2 = 149.1 cu ft
    ends = 2 * len(plan.drawn.layout.elements) * (36 + math.pi * 36)
    assert dug.amount == pytest.approx((48 * 400 + ends) * FT**3, rel=1e-4)
    assert dug.basis.startswith("sides sloped")
    # Sand of 9 in around each layer: 2 ft wide at the bottom, 3.5 ft at its top, and 6 to 7.5 ft
    # from 2 ft up: 0.75 x (2.75 + 6.75) = 7.125 sq ft; header trench 2 ft wide, 9 in and its pipe
    header = found["header trench"].amount
    sand = header_sand(plan.site, plan.drawn.layout.piping, plan.drawn.layout.header)
    high = sand / (2 * FT * header)
    assert 9.0 * FT / 12 < high < 12.0 * FT / 12  # one row of pipe no larger than 2-1/2 in
    sand = 7.125 * 400 * FT**3 + 2 * FT * high * header
    assert found["sand"].amount == pytest.approx(sand, rel=1e-4)


def test_a_crossover_between_parallel_trenches_takes_an_elbow_at_both_of_its_ends():
    # two trenches of one pipe, 3 m apart, joined straight across their far ends: 90 degrees twice
    items = items_of(trenches([60.0, 60.0], pipes=1), exchanger())
    assert items["elbow", "3/4 in"] == 2


def test_the_sand_of_a_header_is_weighed_by_what_is_dug_of_each_piece():
    # two bores 6 m apart and 6 m from the entry, direct return of 6 in pipe to the first one and
    # 3/4 in to the second; 3 + 6.625 + 6 = 15.625 in and 10.05 in (IPS outside diameters). A pond
    # takes 3 m of the first piece: (3 x 15.625 + 6 x 10.05) / 9 = 11.908 in
    layout = bores(2, lead=6.0)
    pairs = [
        tuple(HeaderPipe(role, size, 0.0) for role in ("supply", "return"))
        for size in ("6 in", "3/4 in")
    ]
    pieces = (
        HeaderPiece((0.0, 0.0), (0.0, 6.0), 6.0, 0, pairs[0]),
        HeaderPiece((0.0, 6.0), (0.0, 12.0), 6.0, 0, pairs[1]),
    )
    piping = Piping("direct return", "", pieces, 2 * FT, 4 * FT, Fittings(), None, None)
    site = site_of(exchanger(), Feature("pond", "pond", box(-5, -3, 5, 3)))
    expected = 9.0 * 2 * FT * 11.908 * FT / 12
    assert header_sand(site, piping, layout.header) == pytest.approx(expected, rel=1e-4)


def test_a_header_trench_is_dug_and_sanded_as_wide_as_its_pipes_need():
    # two pieces of 6 m, the first one 4 ft wide, the second 2 ft, all 4 ft deep; one pipe of 6 in a
    # side, 15.625 in of sand
    layout = bores(2, lead=6.0)
    pair = tuple(HeaderPipe(role, "6 in", 0.0) for role in ("supply", "return"))
    pieces = (
        HeaderPiece((0.0, 0.0), (0.0, 6.0), 6.0, 0, pair, width_m=4 * FT),
        HeaderPiece((0.0, 6.0), (0.0, 12.0), 6.0, 0, pair),
    )
    piping = Piping("direct return", reason("few-circuits-near"), pieces, 2 * FT, 4 * FT,
                    Fittings(), None, None)  # fmt: skip
    found = take_off(site_of(exchanger()), replace(layout, piping=piping))
    dug = {item.size: item.amount for item in found if item.what == "header trench"}
    assert dug == {
        "0.61 m wide, 1.22 m deep": pytest.approx(6.0),
        "1.22 m wide, 1.22 m deep": pytest.approx(6.0),
    }
    earth = {item.what: item.amount for item in found}
    assert earth["header trench dug"] == pytest.approx(6.0 * (2 + 4) * FT * 4 * FT)
    assert earth["sand"] == pytest.approx(6.0 * (2 + 4) * FT * 15.625 * FT / 12)


def test_the_summary_and_the_sheet_name_what_a_bag_of_grout_yields():
    site, piped = grouted(bores(2), yield_m3=20.4 * GALLON)
    (bags,) = (item for item in take_off(site, piped) if item.what == "grout, bags")
    assert bags.basis == "20.4 gal of mixed grout a bag, as stated"


def test_a_header_that_lies_in_a_pond_takes_no_sand():
    pond = Feature("pond", "pond", box(-50, -50, 50, 100))
    items = items_of(bores(2, lead=6.0), exchanger(), pond)
    assert named(items, "sand") == 0


@pytest.mark.parametrize(
    ("lengths", "lead", "couplings"),
    # common practice, no source: pipe comes in coils of 500 ft (152.4 m), a coupling between two.
    # Two circuits of 200 m take one each; one of 152.4 m takes none; a pair of header pipes of
    # 160 m takes two, beside none in the circuit of 120 m
    [([100.0, 100.0], 6.0, 2), ([76.2], 6.0, 0), ([60.0], 160.0, 2)],
)
def test_pipe_is_coupled_from_coil_to_coil(lengths, lead, couplings):
    assert named(items_of(trenches(lengths, lead=lead), exchanger()), "coupling") == couplings


@pytest.mark.parametrize(("unit", "coil"), [(US, "500 ft"), (METRIC, "152 m")])
def test_couplings_say_what_they_count(unit, coil):
    site = replace(site_of(exchanger()), unit=unit)
    rows = take_off(site, with_pipes(trenches([200.0]), exchanger()))
    (basis,) = {row.basis for row in rows if row.what == "coupling"}
    assert f"one for each {coil} of pipe" in basis


def test_each_bore_is_coupled_to_its_header_twice():
    # U-bends come in one piece with their pipe: 8 bores, supply and return of each
    assert named(items_of(bores(8), exchanger()), "coupling") == 16


def test_a_header_pit_is_dug_but_for_the_header_trench_in_it():
    # 3 m by 2 m around the entry's end of a header 2 ft wide that leads 1 m into it, 4 ft deep
    layout = trenches([60.0, 60.0], lead=6.0)
    (x, y) = layout.header.runs[0].coords[0]
    corners = ((x - 1.5, y - 1.0), (x + 1.5, y - 1.0), (x + 1.5, y + 1.0), (x - 1.5, y + 1.0))
    wanted = exchanger()
    laid = with_pipes(layout, wanted)
    pitted = replace(laid, header=replace(laid.header, pit=HeaderPit(corners)))
    found = {item.what: item.amount for item in take_off(site_of(wanted), pitted)}
    assert found["header pit dug"] == pytest.approx((6.0 - 1.0 * 2 * FT) * 4 * FT)


def test_wells_are_coupled_to_nothing_by_legs():
    # 19 m of header are less than a coil of pipe, and a well has no two legs to be joined
    plan = planned("good-aquifer")
    found = [item for item in take_off(plan.site, plan.drawn.layout) if item.what == "coupling"]
    assert sum(item.amount for item in found) == 0
