"""Water of an open loop returned to a pond or stream: laid out, checked, calculated, told."""

from __future__ import annotations

import datetime
import math
import tomllib
from dataclasses import replace
from functools import cache
from typing import Any

import pytest
import shapely
import sheet_lots
from drawn_once import compose_set
from planned import planned_once, tried
from shapely import LineString, Point, box
from shapely.geometry.base import BaseGeometry
from wording import in_words

from siteplan.advisories.bounds import bound_findings, conditions_on
from siteplan.advisories.duties import duties_on
from siteplan.advisories.outfall import outfall_remarks
from siteplan.available.ground import ground_of_wells
from siteplan.available.prepared import PreparedLot, lot_of
from siteplan.checks.check import check_layout
from siteplan.checks.outfall import outfall_findings
from siteplan.demand.well_figures import well_figures
from siteplan.demand.wells import WellStudy, study_wells
from siteplan.export.stakes import all_stakes
from siteplan.findings.words import figure_words
from siteplan.groundwater.theis import Storage, drawdown
from siteplan.layout.elements import Well
from siteplan.layout.model import Ground, Header, Layout
from siteplan.layout.open_loop import lay_out_wells
from siteplan.layout.outfall import Outfall, called
from siteplan.plan import SitePlan
from siteplan.quantities.take_off import take_off
from siteplan.report.comparison_words import comparison_lines
from siteplan.rule_books.loader import load_book, read_book
from siteplan.sheet.details.groundwater import groundwater_block
from siteplan.sheet.details.well import well_block
from siteplan.sheet.model import Dimension, Text
from siteplan.sheet.style.dimensions import dimension_ink
from siteplan.sheet.tables.elements import element_table, elements_title
from siteplan.sheet.tables.specification import specification_block
from siteplan.sheet.tables.wells import wells_block
from siteplan.site.model import Entry, Feature, Site
from siteplan.site.open_loop import Aquifer, OpenOptions
from siteplan.site.readers.site_file import site_from
from siteplan.specification.clauses import specification
from siteplan.specification.owner import what_lies_there, what_to_leave
from siteplan.specification.sequence import order_of_work
from siteplan.specification.testing import test_clause as clause_of_test

FLOW = 0.8e-3
INTO = OpenOptions(separation_m=15.0, diameter_m=0.15, depth_m=60.0, outfall="brook")
BROOK = Feature("brook", "stream", LineString([(-50, 30), (50, 30)]))


@cache
def site_with(**options: Any) -> Site:
    """The lot of a well pair with a brook in its north."""
    site = sheet_lots.well_pair().site
    options = {"outfall": "brook", "aquifer": Aquifer(5e-3, 15.0), **options}
    wanted = replace(site.exchanger.open, **options)
    features = (*site.features, BROOK)
    exchanger = replace(site.exchanger, open=wanted)
    return replace(site, features=features, exchanger=exchanger, books=("common-practice",))


def ground(area: BaseGeometry) -> Ground:
    """A lot of 100 m with an entry at (0, -10)."""
    return Ground(area, box(-50, -50, 50, 50), (Entry("E1", Point(0, -10)),))


def pair(at: tuple[float, float] = (20.0, 29.4), into: str = "brook") -> Layout:
    elements = (
        Well("SUPPLY", 20.0, 8.0, 0.15, 40.0, "supply"), Outfall("OUTFALL", *at, 0.1, into),
    )  # fmt: skip
    return Layout("open", elements, None, 15.0, 0.0)


@cache
def study() -> WellStudy:
    found = study_wells(site_with(), pair(), FLOW)
    assert found is not None
    return found


def test_supply_and_outfall_keep_the_separation_and_the_outfall_its_bank() -> None:
    bank = box(-40, 29, 40, 29.4)
    layout = lay_out_wells(ground(box(0, 0, 20, 10)), INTO, bank)
    supply, outfall = layout.elements
    assert (called(supply), called(outfall)) == ("well", "outfall")
    assert isinstance(outfall, Outfall)
    assert outfall.into == "brook"
    assert outfall.part == "header"
    assert bank.distance(outfall.footprint) <= 1e-6
    assert math.dist((supply.x_m, supply.y_m), (outfall.x_m, outfall.y_m)) >= 15.0 - 1e-6
    assert layout.header is not None
    assert min(run.distance(outfall.footprint) for run in layout.header.runs) <= 1e-6


def test_a_bank_that_no_header_reaches_is_said_in_words() -> None:
    layout = lay_out_wells(ground(box(0, 0, 20, 10)), INTO, box(80, 0, 90, 1))
    assert layout.elements == ()
    assert layout.obstacle is not None
    assert layout.obstacle.code == "no-way-to-outfall"
    assert "bank of brook" in in_words(layout.obstacle)


def test_an_outfall_is_laid_out_beside_its_water_and_not_in_it() -> None:
    lot = lot_of(site_with())
    back = ground_of_wells(lot).back
    assert back is not None
    # 0.5 m from a stream drawn without width, and at most 0.4 m more
    assert BROOK.shape.distance(back) == pytest.approx(0.5, abs=0.02)
    assert back.within(BROOK.shape.buffer(0.92))


def test_of_a_stream_with_a_width_the_bank_is_its_side() -> None:
    # what a tape from the house reads is the bank, and not the middle; common practice, no source
    wide = replace(BROOK, width_m=4.0)
    site = site_with()
    site = replace(site, features=(*site.features[:-1], wide))
    assert site.features[-1].id == BROOK.id
    back = ground_of_wells(lot_of(site)).back
    assert back is not None
    assert 2.0 < wide.shape.distance(back) < 2.2
    in_water, at_bank = pair((20.0, 29.4), "brook"), pair((20.0, 27.6), "brook")
    assert [each.code for each in outfall_findings(site, in_water)] == ["outfall-off-bank"]
    assert not list(outfall_findings(site, at_bank))


def test_a_header_never_lies_in_a_stream_beside_its_middle() -> None:
    wide, site = replace(BROOK, width_m=4.0), site_with()
    site = replace(site, features=(*site.features[:-1], wide))
    assert lot_of(site).header_area().distance(wide.shape) == pytest.approx(2.0, abs=0.02)
    along = LineString([(20, 8), (20, 28.5), (-20, 28.5), (0, -10)])
    header = Header((along,), Entry("E1", Point(0, -10)))
    told = check_layout(site, replace(pair(), header=header), (), 0.0)
    assert "crossing-forbidden" in [each.code for each in told]


@pytest.mark.parametrize(
    ("at", "into", "code"),
    [
        ((20.0, 29.4), "brook", None),
        ((20.0, 27.0), "brook", "outfall-off-bank"),
        ((20.0, 30.0), "brook", "outfall-off-bank"),
        ((20.0, 29.4), "pond", "outfall-without-water"),
    ],
)
def test_the_check_measures_an_outfall_at_its_bank(
    at: tuple[float, float], into: str, code: str | None
) -> None:
    found = [finding.code for finding in outfall_findings(site_with(), pair(at, into))]
    assert found == ([code] if code else [])


@pytest.mark.thorough
def test_without_a_return_well_the_supply_falls_as_one_well_does() -> None:
    # C. V. Theis 1935, flow of each month one after the other; a year of one flow and its months
    # agree to a few percent, and a pair falls less as its return well gives back
    alone = study()
    assert alone.levels.back_m == 0.0
    assert alone.levels.line_rise_m == 0.0
    most = drawdown(FLOW, 0.075, 3 * 365 * 86_400.0, Storage(5e-3, 2e-4))
    day = drawdown(FLOW, 0.075, 86_400.0, Storage(5e-3, 2e-4))
    assert day < alone.levels.supply_m < most
    both = Layout(
        "open",
        (pair().elements[0], Well("RETURN", 20.0, 29.4, 0.15, 40.0, "return")),
        None,
        15.0,
        0.0,
    )
    returned = study_wells(replace(site_with(), features=site_with().features[:-1]), both, FLOW)
    assert returned is not None
    assert returned.levels.supply_m < alone.levels.supply_m
    assert returned.levels.line_fall_m < alone.levels.line_fall_m


def test_a_supply_alone_has_capture_of_1_5_and_25_years_and_no_plume() -> None:
    alone = study()
    assert [one.years for one in alone.spreads] == [1, 5, 25]
    assert all(one.plume.is_empty for one in alone.spreads)
    mean, years = alone.seasons.season.mean_m3s, 365.25 * 86_400.0
    for one in alone.spreads:
        # what is pumped comes out of the pores, a quarter of 15 m of aquifer, around the well
        assert one.capture.area == pytest.approx(mean * one.years * years / (15.0 * 0.25), rel=0.01)
        assert one.capture.contains(Point(20.0, 8.0))


def test_nothing_comes_back_and_the_supply_does_not_drift() -> None:
    alone = study()
    assert math.isinf(alone.full_s)
    assert alone.share == alone.greatest_k == 0.0
    told = [figure_words(figure, site_with().unit) for figure in well_figures(site_with(), alone)]
    words = " ".join(" ".join(row) for row in told)
    assert "brook" in words
    assert "return well" not in words
    assert "both wells" not in words
    assert elements_title(pair(), site_with().unit) == "2 PLACES: SUPPLY WELL AND OUTFALL"


def remarks(lot: PreparedLot, known: WellStudy) -> dict[str, str]:
    return {found.code: found.severity for found in outfall_remarks(lot, known)}


def test_a_discharge_permit_is_asked_for_until_somebody_names_it() -> None:
    lot = lot_of(site_with())
    found = remarks(lot, study())
    assert found["discharge-permit"] == "warning"
    assert {"outfall-built", "outfall-water"} <= {*found}
    named = lot_of(site_with(discharge_by="Water Authority, 2026-03-02"))
    assert "discharge-permit" not in remarks(named, study())
    assert remarks(named, study())["discharge-permitted"] == "note"


def test_water_that_would_freeze_in_the_heat_pump_is_an_error() -> None:
    cold = replace(study(), seasons=replace(study().seasons, water_c=4.0, drop_k=4.0))
    assert remarks(lot_of(site_with()), cold)["outfall-freezes"] == "error"
    warm = replace(study(), seasons=replace(study().seasons, water_c=10.0, drop_k=4.0))
    assert "outfall-freezes" not in remarks(lot_of(site_with()), warm)


BOOK = """\
id = "invented"
title = "Book of an invented county"
read_on = 2026-11-01

[[bound]]
of = "surface return"
allowed = {allowed}
printed = "{printed}"
source = "section 4"
"""


@pytest.mark.parametrize("allowed", [True, False])
def test_a_book_that_speaks_of_it_decides(allowed: bool) -> None:
    printed = "with a permit" if allowed else "all water goes back to its aquifer"
    text = BOOK.format(allowed=str(allowed).lower(), printed=printed)
    book = read_book(tomllib.loads(text), "invented")
    site, layout = site_with(), pair()
    conditions = conditions_on(site, (book,), "open", layout, study())
    (condition,) = conditions
    # what a book allows on its terms still wants the permit
    assert condition.kept is (None if allowed else False)
    assert "returned to brook" in in_words(condition.here)
    found = [(one.code, one.severity) for one in bound_findings(conditions, site)]
    code = ("discharge-allowed", "warning") if allowed else ("surface-return-forbidden", "error")
    assert found == [code]
    # and a pair of wells is not asked
    assert conditions_on(site, (book,), "open", layout, replace(study(), outfall="")) == ()
    lot = lot_of(site)
    told = replace(lot, rules=replace(lot.rules, books=(*lot.rules.books, book)))
    assert "discharge-permit" not in remarks(told, study())
    named = site_with(discharge_by="Water Authority, 2026-03-02")
    (condition,) = conditions_on(named, (book,), "open", layout, study())
    assert condition.kept is allowed


def test_missouri_lets_water_go_to_a_stream_and_the_permit_is_asked_for() -> None:
    # MoDNR PUB2899: on the owner's land; into a drainage that leaves it only with a permit
    site, book = site_with(), load_book("missouri")
    told = conditions_on(site, (book,), "open", pair(), study())
    (found,) = bound_findings([one for one in told if one.bound.of == "surface return"], site)
    assert (found.code, found.severity) == ("discharge-allowed", "warning")
    assert "only with a permit" in in_words(found)


def test_no_book_asks_a_return_well_of_what_has_none() -> None:
    site = site_with()
    assert conditions_on(site, (load_book("indiana"),), "open", pair(), study()) == ()
    books = tuple(load_book(name) for name in ("missouri", "rhode-island", "minnesota"))
    of_supply = duties_on(site, books, "open")
    assert all({*one.duty.parts} - {"return well"} for one in of_supply)
    assert Point(20.0, 29.4).distance(BROOK.shape) == pytest.approx(0.6)


VALUES = {
    "project": {
        "title": "House by a brook",
        "owner": "A. Owner",
        "date": datetime.date(2026, 3, 14),
        "units": "m",
    },
    "geometry": {"parcel": [[0, 0], [60, 0], [60, 60], [0, 60]]},
    "feature": [
        {"kind": "building", "id": "house", "area": [[20, 10], [32, 10], [32, 20], [20, 20]]},
        {"kind": "stream", "id": "brook", "line": [[0, 50], [60, 52]]},
    ],
    "exchanger": {"system": "open", "entry": [26, 20], "capacity": "10 kW"},
    "open": {"outfall": "brook", "yield": "2 L/s", "static_level": "6 m", "depth": "30 m"},
}


@pytest.fixture(scope="module")
def plan() -> SitePlan:
    return planned_once(site_from(VALUES))


def test_a_plan_with_an_outfall_fits_and_says_what_it_is(plan: SitePlan) -> None:
    layout = plan.drawn.layout
    assert layout is not None
    assert plan.fits
    assert "a supply well and an outfall fit" in plan.content().verdict
    (outfall,) = layout.of(Outfall)
    assert 0.5 <= plan.site.features[-1].shape.distance(outfall.footprint) <= 1.0
    # one pipe in from the well, one out to the brook
    assert layout.piping is not None
    assert [item.amount for item in take_off(plan.site, layout) if item.what == "outfall"] == [1]
    assert "outfall" in {stake.what for stake in all_stakes(layout)}


def test_papers_for_driller_and_owner_speak_of_no_return_well(plan: SitePlan) -> None:
    site, layout = plan.site, plan.drawn.layout
    assert layout is not None
    codes = {clause.code for clause in specification(site, layout, ())}
    assert "spec-outfall-water" in codes
    assert "spec-well-water" not in codes
    assert clause_of_test(site, layout, ()).values["when"].code == "spec-test-outfall"  # type: ignore[union-attr]
    owner = [*what_lies_there(layout), *what_to_leave(site, layout)]
    told = " ".join(in_words(reason) for reason in owner)
    assert "lets it out at an outfall" in told
    assert "both well" not in told
    assert [element.id for element in order_of_work(layout)] == ["SUPPLY"]


def test_an_outfall_has_no_depth_in_the_table(plan: SitePlan) -> None:
    layout = plan.drawn.layout
    assert layout is not None
    table = element_table(layout, plan.site.unit, None)
    assert [(row[0], row[-1]) for row in table.rows] == [("SUPPLY", "30.00 m"), ("OUTFALL", "-")]


def test_no_distance_is_drawn_on_the_header_from_well_to_outfall(plan: SitePlan) -> None:
    drawn = compose_set(plan.content())[0]
    header = plan.drawn.layout.header  # type: ignore[union-attr]
    runs = shapely.union_all([run.buffer(0.05) for run in header.runs])  # type: ignore[union-attr]
    for one in drawn.of_type(Dimension):
        ink = dimension_ink(one, drawn.view)
        line = LineString(ink.line)
        assert line.intersection(runs).length < 0.6 * line.length


def test_details_show_one_well_and_the_outfall(plan: SitePlan) -> None:
    content = plan.content()
    blocks = (
        well_block(content, 150.0, room_mm=250.0),
        groundwater_block(content, 150.0, room_mm=200.0),
        wells_block(content, 150.0),
    )
    said = " ".join(
        item.text for block in blocks if block for item in block.items if isinstance(item, Text)
    )
    assert "SUPPLY WELL SECTION" in said
    assert "OUTFALL" in said
    assert "erosion" in said
    for words in ("WELL PAIR", "RETURN PIPE", "RETURN PLUME", "both wells"):
        assert words not in said


def test_the_sheets_call_the_water_as_the_plan_does(plan: SitePlan) -> None:
    content = plan.content()
    (water,) = (one for one in plan.site.features if one.kind in ("pond", "stream"))
    called_on_plan = (water.label or water.kind).upper()
    for block in (wells_block(content, 150.0), specification_block(content, 150.0)):
        assert block is not None
        said = " ".join(item.text for item in block.items if isinstance(item, Text))
        assert called_on_plan in said
        assert f" {water.id} " not in said


def test_what_is_pumped_is_groundwater_and_no_mixture_is_assumed() -> None:
    wanted = {key: value for key, value in VALUES["exchanger"].items() if key != "capacity"}
    calculated = {
        "exchanger": wanted,
        "loads": {"heating": "8 kW", "heating_hours": 1900, "cop": 4.8},
        "ground": {"temperature": "10.5 C", "soil": "heavy sand, 15 % water"},
        "fluid": {"heating_drop": "4 K"},
    }
    plan = planned_once(site_from({**VALUES, **calculated}))
    assert plan.drawn.required.basis == "calculated"
    assert "fluid.mixture" in plan.site.exchanger.assumed
    assert "fluid.mixture" not in [assumed.path for assumed in plan.assumed]


BROOKSIDE = {
    "project": {"title": "t", "owner": "o", "date": datetime.date(2026, 3, 14), "units": "ft"},
    "geometry": {"parcel": [[0, 0], [160, 0], [170, 220], [0, 220]]},
    "feature": [
        {"kind": "cabin", "area": [[50, 60], [86, 60], [86, 88], [50, 88]]},
        {"kind": "well", "id": "old well", "at": [100, 90], "use": "private"},
        {"kind": "brook", "id": "brook", "line": [[-20, 205], [80, 200], [200, 212]], "width": 8},
        {"kind": "road", "line": [[-30, -15], [200, -15]], "width": 20},
    ],
    "exchanger": {"system": "open", "entry": [[86, 74]]},
    "open": {"flow": "7 gpm", "yield": "18 gpm", "supply": "old well", "outfall": "brook"},
}  # fmt: skip


def test_where_the_well_stands_already_no_rig_has_to_come_to_the_outfall() -> None:
    # an outfall is pipe laid in the header trench: common practice, no source
    plan = planned_once(site_from(BROOKSIDE))
    assert plan.fits
    layout = plan.drawn.layout
    assert layout is not None
    assert layout.new == ()
    assert layout.access is None
    assert not any(one.code.startswith("rig-") for one in plan.drawn.findings)
    # the header keeps off the well as off any well, and its pipe to the building is there already
    assert layout.piping is not None
    assert layout.piping.why.code == "one-pipe-to-outfall"
    assert [len(piece.pipes) for piece in layout.piping.pieces] == [1]
    lines = comparison_lines([row for row in plan.compared if row.drawn], plan.site.unit)
    assert lines[0].cells == ("1 well and outfall",)


def test_a_header_that_keeps_off_an_existing_well_has_one_pipe_to_the_return_well() -> None:
    water = {key: value for key, value in BROOKSIDE["open"].items() if key != "outfall"}
    site = site_from({**BROOKSIDE, "open": {**water, "separation": "50 ft"}})
    trial = tried(site, "open")
    assert trial.layout is not None
    piping = trial.layout.piping
    assert piping is not None
    assert piping.why.code == "one-pipe-to-return-well"
    assert {len(piece.pipes) for piece in piping.pieces} == {1}
