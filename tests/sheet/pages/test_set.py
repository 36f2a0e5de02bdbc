"""The set of sheets: when there is more than the plan, what stands on it, and that it reads."""

import math
from dataclasses import replace
from fractions import Fraction
from functools import cache
from itertools import pairwise

import drawn_once
import pytest
from campaign import thorough
from legible import plot_faults
from planned import planned
from sheet_lots import FT, pond_farm, rural, suburban, thin_lot, well_pair

from siteplan.findings.model import reason
from siteplan.layout.elements import Bore
from siteplan.layout.piping_model import Circuit, Fittings, HeaderPiece, HeaderPipe, Piping
from siteplan.rule_books.loader import load_book
from siteplan.sheet.content.content import DETAILS, PART, PLAN, TABLES
from siteplan.sheet.marks import HEADING, SEQUENCE, SPECIFICATION
from siteplan.sheet.model import Polyline, Text
from siteplan.sheet.pages import compared, strip
from siteplan.sheet.pages import set as module
from siteplan.sheet.pages.compose import composed
from siteplan.sheet.pages.key_plan import shows_location
from siteplan.sheet.pages.set import compose_set
from siteplan.sheet.pages.spare import LONG_TABLES
from siteplan.sheet.place.blocks import Block, Flow
from siteplan.sheet.place.table import Column, Table
from siteplan.sheet.plan_view import window
from siteplan.sheet.style.styles import layer
from siteplan.sheet.tables.comparison import COMPARISON

BORES = 150
"""More than one sheet of tables lists; names of more have no room on the plan."""
LOTS = [suburban, rural, well_pair, *map(thorough, (pond_farm, thin_lot))]


def piped(content):
    """The lot with header pipes: supply and return, 2 in, in one piece of trench from the entry."""
    point = content.site.entries[0].point
    pipes = (HeaderPipe("supply", "2 in", 1e-3), HeaderPipe("return", "2 in", 1e-3))
    at = (point.x, point.y)
    piece = HeaderPiece(at, (at[0], at[1] + 5.0), 5.0, 0, pipes)
    piping = Piping(
        "direct return",
        reason("few-circuits-near"),
        (piece,),
        2 * FT,
        4 * FT,
        Fittings(),
        None,
        None,
    )
    names = tuple(one.id for one in content.layout.elements)
    circuits = (Circuit("CIR-1", names, "3/4 in", 90.0, 2),)
    return replace(content, layout=replace(content.layout, piping=piping, circuits=circuits))


def as_set(content, wanted, *, books=(), make=drawn_once.compose_set, **options):
    """The sheets of a lot; its book of rules is made up, and lists nothing to be shown."""
    sheet = replace(content.site.sheet, sheets=wanted, **options)
    site = replace(content.site, sheet=sheet, books=books)
    return make(replace(content, site=site, books=tuple(map(load_book, books))))


@cache
def made(lot, wanted, **options):
    """The sheets of one of the lots, composed once for all that look at them."""
    return as_set(lot(), wanted, **options)


@cache
def full(lot):
    """The full set of one of the lots, with header pipes where it has a header."""
    content = lot()
    return as_set(piped(content) if content.layout.header else content, "full")


def words(sheet):
    return [text.text for text in sheet.of_type(Text) if text.text]


def sheet_called(name, sheets):
    """The first sheet of a name; where names have no room a part of the plan stands before it."""
    return next(sheet for sheet in sheets if sheet.name == name)


def of_many_bores(count, columns, step_m):
    """The suburban lot as if it held so many bores."""
    content = suburban()
    bores = tuple(
        Bore(f"B{k + 1}", (1 + k % columns) * step_m, (1 + k // columns) * step_m, 0.15, 90.0)
        for k in range(count)
    )
    return replace(content, layout=replace(content.layout, elements=bores, spacing_m=step_m))


@pytest.mark.parametrize("lot", [suburban, well_pair, *map(thorough, (rural, pond_farm, thin_lot))])
def test_every_sheet_of_a_full_set_can_be_read(lot):
    sheets = full(lot)
    assert len(sheets) >= 3
    assert [plot_faults(sheet) for sheet in sheets[1:]] == [()] * (len(sheets) - 1)


def blocks_of(sheet):
    """Names of the blocks that have a heading on a sheet."""
    marks = [text.mark for text in sheet.of_type(Text)]
    return {mark.block for mark in marks if mark is not None and mark.column == HEADING}


def test_one_sheet_is_all_where_it_says_all_at_the_scale_of_a_set():
    (alone,) = made(suburban, "auto", size="Arch D", scale=240, parts="never")
    # plan, section, specification, separations and notes: else it is no set
    needed = {"bore-section", SPECIFICATION, SEQUENCE, "separations", "notes", "checklist"}
    assert needed <= blocks_of(alone)
    assert plot_faults(alone) == ()


@pytest.mark.thorough
def test_a_sheet_without_room_for_the_specification_is_not_alone():
    for wanted in ("auto", "one"):
        sheets = made(suburban, wanted, size="ANSI B", scale=480)
        assert len(sheets) > 1
        assert SPECIFICATION in set.union(*map(blocks_of, sheets[1:]))


@pytest.mark.parametrize("lot", [suburban, well_pair, *map(thorough, (rural, pond_farm, thin_lot))])
def test_every_set_has_a_specification_and_the_order_of_work(lot):
    told = set.union(*map(blocks_of, made(lot, "auto")))
    assert {SPECIFICATION, SEQUENCE, "separations", "notes"} <= told


def test_a_set_is_made_where_its_plan_is_larger_than_the_only_sheet_would_be():
    alone = made(suburban, "one", size="ANSI D")[0]
    plan, *more = made(suburban, "auto", size="ANSI D")
    assert more
    assert plan.view.ratio < alone.view.ratio


@pytest.mark.parametrize("lot", LOTS)
def test_the_plan_of_a_set_takes_more_than_half_of_its_sheet(lot):
    plan = full(lot)[0]
    window = plan.view.width_mm * plan.view.height_mm
    assert window > 0.5 * plan.paper.width_mm * plan.paper.height_mm


def test_what_is_built_and_how_stands_beside_sections_that_leave_their_sheet_empty():
    sheets = made(suburban, "auto", size="ANSI D")
    details = sheet_called("DETAILS", sheets)
    # on large paper the sections of three bores take the smaller part of their sheet
    assert {SPECIFICATION, SEQUENCE} <= blocks_of(details)
    for sheet in sheets:
        assert sheet is details or not {SPECIFICATION, SEQUENCE} & blocks_of(sheet)


def test_a_table_stands_once_in_a_set():
    plan, *more = made(suburban, "full")
    tables = {"elements", "header", "separations", "take-off", "circuits", "pipes"}
    named = [
        {text.mark.block for text in sheet.of_type(Text) if text.mark} for sheet in (plan, *more)
    ]
    assert not tables & named[0]
    assert {"elements", "header", "separations"} <= set.union(*named[1:])


@pytest.mark.parametrize("lot", LOTS)
def test_each_note_of_a_set_stands_once(lot):
    marks = [
        text.mark.column
        for sheet in full(lot)
        for text in sheet.of_type(Text)
        if text.mark and text.mark.column.startswith("note-") and text.mark.line == 0
    ]
    assert marks
    assert len(marks) == len(set(marks))


@pytest.mark.thorough
def test_more_sheets_are_added_where_the_plan_lists_a_part_of_the_trenches():
    sheets = made(thin_lot, "auto")
    assert len(sheets) > 1
    listed = [word for sheet in sheets[1:] for word in words(sheet)]
    assert {one.id for one in thin_lot().layout.elements} <= set(listed)


def test_one_sheet_can_be_insisted_on_where_it_has_room_for_all():
    assert len(made(suburban, "one", size="Arch D")) == 1


@pytest.mark.thorough
def test_one_sheet_is_not_enough_where_it_has_room_for_a_part_of_the_trenches():
    assert len(made(thin_lot, "one")) > 1


def test_every_title_block_has_the_number_of_its_sheet():
    sheets = made(suburban, "full")
    count = len(sheets)
    for place, sheet in enumerate(sheets, 1):
        # of a part, which has a letter, its place in the set is told as well
        lettered = f"{sheet.number}, {place} OF {count}"
        assert {f"{sheet.number} OF {count}", lettered} & {*words(sheet)}


def test_the_plan_names_the_other_sheets():
    plan = made(suburban, "full")[0]
    index = words(plan)[words(plan).index("SHEETS") + 1]
    assert index == "L1 PLAN, L1A PART OF PLAN, L2 DETAILS, L3 TABLES."
    assert [sheet.number for sheet in made(suburban, "full")] == ["L1", "L1A", "L2", "L3"]


def test_all_sheets_are_on_the_same_paper():
    assert {sheet.paper.name for sheet in made(rural, "full")} == {"A3"}


@pytest.fixture(scope="module")
def many():
    return as_set(of_many_bores(BORES, 15, 4.0), "full", parts="never")


@pytest.mark.thorough
def test_many_bores_run_over_as_many_sheets_as_they_take(many):
    sheets = many
    tables = [sheet for sheet in sheets if "TABLES OF GROUND HEAT EXCHANGER" in words(sheet)]
    assert len(tables) > 1
    listed = [word for sheet in tables for word in words(sheet) if word.startswith("B")]
    for number in range(1, BORES + 1):
        assert f"B{number}" in listed
    assert [plot_faults(sheet) for sheet in tables] == [()] * len(tables)


@pytest.mark.thorough
def test_a_table_that_goes_on_repeats_its_title_and_its_head(many):
    found = [word for sheet in many for word in words(sheet)]
    # coordinates of the bores, and below them how each is staked; others may go on as well
    heads = [
        tuple(head)
        for title, *head in zip(found, *(found[number:] for number in range(1, 4)), strict=False)
        if "BORES" in title and title.endswith(", CONTINUED")
    ]
    assert len(heads) > 2
    assert {*heads} == {("ID", "EAST ft", "NORTH ft"), ("ID", "LINE/TAPE 1", "STA./TAPE 2")}


def test_a_block_is_cut_between_rows_and_loses_none():
    flow = Flow(60.0, "rows")
    flow.heading("ROWS")
    columns = (Column("id", "ID"), Column("value", "VALUE"))
    flow.table(Table("rows", columns, tuple((f"R{k}", f"{k}") for k in range(30))))
    upper, lower = flow.block().parted(50.0)
    assert upper.height_mm <= 50.0
    ids = [
        item.text
        for block in (upper, lower)
        for item in block.items
        if isinstance(item, Text) and item.text.startswith("R") and item.text != "ROWS"
    ]
    assert [one for one in ids if "CONTINUED" not in one] == [f"R{k}" for k in range(30)]


def test_a_block_without_room_for_its_first_rows_is_not_cut():
    flow = Flow(60.0, "rows")
    flow.table(Table("rows", (Column("id", "ID"),), (("a",), ("b",), ("c",), ("d",))))
    assert flow.block().parted(8.0) is None


def test_columns_that_share_a_lack_of_room_break_no_word():
    flow = Flow(60.0, "figures")
    columns = (
        Column("figure", "FIGURE", wrap=True), Column("value", "VALUE", "right"),
        Column("source", "FROM", wrap=True),
    )  # fmt: skip
    row = ("conductivity of the ground", "1.10 Btu/hr·ft·°F", "as stated by a driller of the town")
    flow.table(Table("figures", columns, (row,)))
    found = {item.text for item in flow.items if isinstance(item, Text)}
    assert any("conductivity" in line.split() for line in found)


@pytest.mark.parametrize("size", ["ANSI B", "Arch D"])
def test_the_header_trench_is_drawn_to_the_scale_it_states(size):
    sheet = sheet_called("DETAILS", as_set(piped(suburban()), "full", size=size))
    said = words(sheet)
    scale = said[said.index("HEADER TRENCH SECTION") + 1]
    # 1/2" = 1'-0" is 24 times smaller
    ratio = 12 / sum(map(Fraction, scale.removeprefix("SCALE ").partition('"')[0].split()))
    holes = [
        line
        for line in sheet.of_type(Polyline)
        if line.layer == layer("section") and line.style == "section-hole" and len(line.points) == 4
    ]
    sizes = [
        (max(x) - min(x), max(y) - min(y))
        for x, y in (zip(*one.points, strict=True) for one in holes)
    ]
    # 2 ft wide and 4 ft deep, on paper where text is larger than usual too
    wanted = (2 * FT * 1000 / ratio, 4 * FT * 1000 / ratio)
    assert any(math.dist(one, wanted) < 1e-6 for one in sizes)


def test_the_depth_of_every_bore_stands_in_the_section():
    sheet = sheet_called("DETAILS", made(suburban, "full"))
    said = words(sheet)
    assert "300'-0\"" in said
    assert said[said.index("BORE SECTION") + 1].endswith("DEPTH BROKEN")


def test_the_static_level_of_a_well_is_said_to_be_unknown():
    text = " ".join(words(made(well_pair, "full")[1]))
    assert "STATIC LEVEL NOT KNOWN" in text
    assert "SCREEN, LENGTH NOT STATED" in text


@pytest.mark.thorough
def test_the_water_over_the_bottom_stands_in_the_section_of_a_pond():
    sheets = made(pond_farm, "full")
    found = words(next(sheet for sheet in sheets if sheet.name == "DETAILS"))
    # 8 ft of water, coils 4 ft across with 300 ft of pipe
    assert {"8'-0\"", "4'-0\""} <= set(found)
    assert any("300 ft OF" in word for word in found)


def test_the_tables_tell_what_answers_the_list_of_the_authority():
    text = " ".join(words(sheet_called("TABLES", made(suburban, "full", books=("virginia",)))))
    assert "PLAN REQUIREMENTS" in text
    # Virginia wants property lines and easements; the lot has both
    assert "property lines L1, bearings" in text
    assert "easements L1, plan" in text


def test_the_tables_say_what_of_the_authoritys_list_is_missing():
    content = suburban()
    kept = tuple(one for one in content.site.features if one.kind != "easement")
    content = replace(content, site=replace(content.site, features=kept))
    text = " ".join(words(sheet_called("TABLES", as_set(content, "full", books=("virginia",)))))
    assert "easements MISSING: no feature of kind" in text


def test_where_no_book_has_a_list_the_sheet_says_so():
    text = " ".join(words(sheet_called("TABLES", made(suburban, "full"))))
    assert "Ask the authority for its" in text


def test_a_lot_where_nothing_fits_has_no_details():
    content = suburban()
    bare = replace(content, layout=None, separations=(), fits=False, verdict="DOES NOT FIT")
    sheets = as_set(bare, "full")
    assert "DETAILS OF GROUND HEAT EXCHANGER" not in [w for sheet in sheets for w in words(sheet)]
    assert len(sheets) == 2
    # where the lot lies stands beside the details, or where there are none, with the tables
    assert "LOCATION" in words(sheets[1])


def test_the_plan_names_every_sheet_of_tables_that_its_notes_may_stand_on():
    content = replace(suburban(), titles=(PLAN, DETAILS, TABLES, TABLES, TABLES))
    assert content.sheets_of(TABLES) == "L3–5"
    assert content.sheets_of(DETAILS) == "L2"
    assert replace(content, titles=(PLAN,)).sheets_of(TABLES) == ""


@pytest.mark.thorough
@pytest.mark.parametrize("size", ["ANSI B", "ANSI D"])
def test_no_column_of_the_last_tables_is_empty_beside_a_full_one(size):
    sheet = as_set(piped(pond_farm()), "full", size=size)[-1]
    upright = {
        round(item.points[0][0], 1)
        for item in sheet.of_type(Polyline)
        if item.style == "rule" and item.points[0][0] == item.points[1][0]
    }
    edges = [0.0, *sorted(upright)]
    left = [item.at for item in sheet.of_type(Text) if item.anchor == "left"]
    # beside the column of the title block there are more on such paper
    assert len(edges) >= 3
    columns = [[y for x, y in left if edge < x < beyond] for edge, beyond in pairwise(edges)]
    taken = [max(column, default=0.0) - min(column, default=0.0) for column in columns]
    # where no column is half full a few blocks may leave one empty
    assert all(columns) or max(taken) < 0.5 * max(y for _, y in left)


@pytest.mark.parametrize(("lot", "size"), [(suburban, "ANSI D"), (well_pair, "A1")])
def test_an_only_sheet_shows_where_the_lot_lies_whatever_scale_that_costs(lot, size):
    (alone,) = made(lot, "one", size=size)
    assert shows_location(alone.primitives)


def test_an_only_sheet_without_room_for_the_location_is_not_alone():
    sheets = made(well_pair, "one", size="ANSI B")
    assert len(sheets) > 1
    assert any(shows_location(sheet.primitives) for sheet in sheets)


@pytest.mark.parametrize("alone", [True, False])
def test_an_only_sheet_has_room_for_what_loop_types_take_or_is_not_alone(alone, monkeypatch):
    content = replace(suburban(), compared=planned("small-suburban").compared * 2)
    if not alone:
        # taller than the paper, wherever it would stand on the plan sheet
        for place in (compared, strip):
            monkeypatch.setattr(place, "comparison_block", lambda *_, **__: Block(700.0, ()))
    sheets = as_set(content, "one", size="Arch D", make=compose_set)
    assert (len(sheets) == 1) is alone
    assert any(COMPARISON in blocks_of(sheet) for sheet in sheets)


def test_an_only_sheet_without_room_for_the_list_of_pipes_is_not_alone(monkeypatch):
    def no_room(_, where):
        # an only sheet has no other to name
        return bool(where)

    assert len(made(suburban, "one", size="Arch D")) == 1
    monkeypatch.setattr(window, "list_header_pipes", no_room)
    assert len(as_set(suburban(), "one", size="Arch D", make=compose_set)) > 1


@pytest.mark.parametrize(
    ("count", "step_m"), [(20, 2.0), pytest.param(60, 2.5, marks=pytest.mark.thorough)]
)
def test_a_plan_that_is_given_up_is_parted_as_one_that_is_drawn_to_its_end(
    count, step_m, monkeypatch
):
    content = of_many_bores(count, 10, step_m)
    sheets = as_set(content, "full")
    assert PART in {sheet.name for sheet in sheets}

    def to_its_end(*asked):
        return composed(*asked, strict=True)

    monkeypatch.setattr(module, "_in_one", to_its_end)
    assert as_set(content, "full", make=compose_set) == sheets


@pytest.mark.parametrize("name", ["small-suburban", "farm-pond", "school"])
def test_long_tables_say_the_same_however_many_sheets_there_are(name):
    content = planned(name).content()
    numbered = replace(
        content,
        titles=(PLAN, PART, PART, DETAILS, *[TABLES] * 3),
        shown_on=(("specification", "L3"), ("checklist", "L4")),
    )
    for writer in LONG_TABLES:
        assert writer(replace(content, titles=(PLAN, TABLES)), 120.0) == writer(numbered, 120.0)
