"""Bores, trenches, coils and wells where somebody gave their places: kept, checked, and drawn."""

from __future__ import annotations

import json
import math
import tomllib

import planned
import pytest
from shapely import LineString
from small_lot import GROUND

from siteplan.advisories.by_hand import by_hand_remarks
from siteplan.available.prepared import lot_of
from siteplan.checks.check import check_layout
from siteplan.checks.separations import separations
from siteplan.design.choose import asked_for
from siteplan.design.lay_out import attempt
from siteplan.errors import InputError
from siteplan.layout.outfall import Outfall
from siteplan.report.verdict import verdict_words
from siteplan.site.loop_options import unplaced
from siteplan.site.readers.site_file import site_from

FOOT = 0.3048
POND = """\
[[feature]]
id = "pond"
kind = "pond"
depth = "14 ft"
area = [[30, 90], [190, 90], [190, 190], [30, 190]]

"""
WANTED = """\
[exchanger]
length = {{ given = "{length}", by = "a designer" }}
entry = [[100, 55]]
{more}
"""


def site(more: str, *, length: str = "200 ft", ground: str = GROUND):
    return site_from(tomllib.loads(ground + WANTED.format(length=length, more=more)))


def laid(system: str, more: str, **kept):
    """A layout, and what the check says of it."""
    lot = lot_of(site(more, **kept))
    layout = attempt(lot, system, 1.0).layout
    rows = separations(lot.site, layout, lot.rules, lot.memory)
    assert layout.by_hand
    found = check_layout(lot.site, layout, rows, 0.0)
    return layout, {(each.code, each.subject) for each in found}


def laid_out(system: str, more: str):
    return planned.tried(site(more), system)


def spots(layout):
    return [(round(each.x_m / FOOT, 6), round(each.y_m / FOOT, 6)) for each in layout.elements]


WELLS = "[open]\nflow = '6 gpm'\nyield = '12 gpm'\nplaces = {{ supply = [110, 100], return = {} }}"


def test_wells_stand_where_they_are_given_and_are_judged_there():
    layout, found = laid("open", WELLS.format("[150, 130]"))
    # 40 ft east and 30 ft north: 50 ft apart, as asked for
    assert (spots(layout), found) == ([(110, 100), (150, 130)], set())
    assert layout.header is not None
    layout, found = laid("open", WELLS.format("[142, 124]"))
    # 32 ft east and 24 ft north: 40 ft apart
    assert (spots(layout), found) == ([(110, 100), (142, 124)], {("spacing", "SUPPLY")})


BROOK = """\
[[feature]]
id = "brook"
kind = "ditch"
line = [[-20, 150], [220, 150]]

"""
ONE = """\
[open]
flow = '6 gpm'
yield = '12 gpm'
drift = {{ by = 'a hydrogeologist' }}
places = {{ {} }}
"""


def apart_ft(layout):
    return math.dist(*[(each.x_m, each.y_m) for each in layout.elements]) / FOOT


def test_of_a_well_placed_alone_the_plan_finds_the_other():
    for role, at in (("supply", "[110, 100]"), ("return", "[150, 130]")):
        layout, found = laid("open", ONE.format(f"{role} = {at}"))
        assert (layout.kept, found) == ((role.upper(),), set())
        (kept,) = (each for each in layout.elements if each.id == role.upper())
        assert [round(kept.x_m / FOOT, 6), round(kept.y_m / FOOT, 6)] == json.loads(at)
        # 50 ft between the two wells, common practice, no source
        assert apart_ft(layout) >= 50 - 1e-6
        assert layout.header is not None
    # what is placed breaks a rule; what the plan has found breaks none
    layout, found = laid("open", ONE.format("supply = [40, 180]"))
    assert {subject for code, subject in found if code == "separation"} == {"SUPPLY"}
    assert [each.code for each in by_hand_remarks(layout)] == ["some-placed-by-hand"]


def test_an_outfall_stands_at_the_bank_where_it_is_given_and_is_judged_there():
    by_brook = {"ground": GROUND + BROOK}
    water = ONE + "outfall = 'brook'"
    layout, found = laid("open", water.format("outfall = [120, 147.5]"), **by_brook)
    # its pipe ends 2.5 ft from the ditch's middle; the well by it is the plan's own
    (there,) = layout.of(Outfall)
    assert (round(there.x_m / FOOT, 6), round(there.y_m / FOOT, 6)) == (120, 147.5)
    assert (layout.kept, there.into, found) == (("OUTFALL",), "brook", set())
    for north_ft in (140, 150):  # 10 ft off, and in the water
        _, found = laid("open", water.format(f"outfall = [120, {north_ft}]"), **by_brook)
        assert ("outfall-off-bank", "OUTFALL") in found
    # 0.3 m from the line of a ditch that has no width drawn: no header gets there, and why is told
    _, found = laid("open", water.format("outfall = [120, 149]"), **by_brook)
    assert ("outfall-in-line", "OUTFALL") in found
    both = "supply = [110, 90], outfall = [120, 147.5]"
    layout, found = laid("open", water.format(both), **by_brook)
    assert (spots(layout), found) == ([(110, 90), (120, 147.5)], set())


def test_coils_lie_where_they_are_given_and_are_judged_there():
    water = "[pond]\ncoil_diameter = '5 ft'\ngap = '3 ft'\nplaces = "
    asked = {"ground": GROUND + POND, "length": "600 ft"}
    layout, found = laid("pond", water + "[[110, 140], [118, 140]]", **asked)
    # two coils of 300 ft, 8 ft from centre to centre: 3 ft edge to edge
    assert (spots(layout), found) == ([(110, 140), (118, 140)], set())
    assert layout.length_m == pytest.approx(600 * FOOT)
    assert {coil.pond for coil in layout.elements} == {"pond"}
    _, found = laid("pond", water + "[[110, 140], [117, 140], [60, 80]]", **asked)
    assert {("spacing", "C1"), ("coil-not-in-pond", "C3")} <= found


FITS = "[[[180, 90], [80, 90]], [[80, 100], [180, 100]]]"
RUNS = "[horizontal]\nspacing = '10 ft'\nruns = {}"


def test_trenches_lie_where_they_are_given_and_begin_where_the_header_joins_them():
    trial = laid_out("horizontal", RUNS.format(FITS))
    assert (trial.fits, trial.layout.by_hand) == (True, True)
    assert "placed-by-hand" in {each.code for each in trial.findings}
    ends = [[(round(x / FOOT), round(y / FOOT)) for x, y in trench.line.coords]
            for trench in trial.layout.elements]  # fmt: skip
    # the entry lies in the wall at x = 100 ft: both are joined at their west ends
    assert ends == [[(80, 90), (180, 90)], [(80, 100), (180, 100)]]
    assert trial.layout.capacity_m == pytest.approx(200 * FOOT)
    wrong = laid_out("horizontal", RUNS.format("[[[80, 90], [180, 90]], [[80, 98], [180, 98]]]"))
    assert wrong.why.code == "places-break-rules"  # 8 ft apart
    short = laid_out("horizontal", RUNS.format("[[[80, 90], [180, 90]]]"))
    assert (short.fits, short.why.code) == (False, "falls-short")


BORES = "[vertical]\nplaces = [[120, 110], [130, 110]]"


def test_what_is_placed_by_hand_is_drawn_though_another_loop_type_fits():
    lot = site(BORES)
    # trenches that fit, as a plan would find them; of these it is not said who placed them
    trenches = laid_out("horizontal", RUNS.format(FITS))
    bores = planned.tried(lot, "vertical")
    trials = [trenches, bores]
    assert (trenches.fits, bores.fits) == (True, False)
    assert asked_for(lot.exchanger, trials, None) == [bores]
    told = verdict_words(trials, bores, lot.unit)
    assert told.startswith("DOES NOT FIT: the places given by hand break rules at 1 of 2 bores")
    assert told.endswith(". Would fit: horizontal")
    # the loop type that is asked for is drawn all the same
    assert asked_for(lot.exchanger, trials, "horizontal") == [trenches]
    assert asked_for(unplaced(lot.exchanger), trials, None) == trials


def test_taken_out_all_places_are_the_plans():
    given = site(f"{BORES}\n[open]\nplaces = {{ supply = [1, 2], return = [3, 4] }}\n"
                 "[pond]\nplaces = [[60, 120]]").exchanger  # fmt: skip
    assert all(options.placed for options in (given.vertical, given.open, given.pond))
    free = unplaced(given)
    placed = (free.horizontal, free.vertical, free.pond, free.open)
    assert not any(options.placed for options in placed)


@pytest.mark.parametrize(
    ("lines", "fault"),
    [
        (WELLS.format("[1, 2]") + "\nsupply = 'well'", r"supply: stands beside \[open\] supply"),
        ("[open]\nplaces = { }", "places neither a well nor an outfall"),
        (WELLS.format("[1, 2]") + "\noutfall = 'brook'", r"return: stands beside \[open\] outfall"),
        ("[open]\nplaces = { outfall = [1, 2] }", "nothing says at which water"),
        (RUNS.format("[[1, 2], [3, 4]]"), "is not a list of lines"),
        (RUNS.format("[[[1, 2], [1, 2]]]"), "line 1 has no two points"),
        (RUNS.format("[[[1, 2], [3, 'a']]]"), "line 1, point 2, .* is not"),
        (RUNS.format("[]"), "runs: is empty"),
    ],
)
def test_places_that_make_no_sense_are_told(lines, fault):
    with pytest.raises(InputError, match=fault):
        site(lines)


def test_runs_are_read_in_the_unit_of_the_file():
    runs = site(RUNS.format("[[[10, 20], [40, 60], [70, 60]]]")).exchanger.horizontal.runs
    # 30 and 40 ft are the sides of a triangle with 50 ft; 50 + 30 = 80 ft
    assert runs == (
        LineString([(10 * FOOT, 20 * FOOT), (40 * FOOT, 60 * FOOT), (70 * FOOT, 60 * FOOT)]),
    )
    assert runs[0].length == pytest.approx(80 * FOOT)
