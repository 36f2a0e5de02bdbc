"""Changes that would make a lot fit: for every loop type, the smallest first."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from planned import unweighed
from small_lot import HEATED
from wording import in_words

from siteplan.alternatives.backup_heat import backup_heat
from siteplan.alternatives.distances import shorter_by_share
from siteplan.alternatives.remedies import (
    ORDER,
    Remedy,
    _beside,
    _several,
    _with_statements,
    closest,
    remedies_of,
)
from siteplan.alternatives.screening import Held, fits_with, may_hold
from siteplan.alternatives.sizes import deeper_bores, more_pipes, nearest_held
from siteplan.alternatives.stating import all_stated
from siteplan.alternatives.weighing import nothing_helps
from siteplan.available.prepared import PreparedLot, lot_of
from siteplan.design.evaluate import Trial, try_system
from siteplan.findings.model import Reason, reason
from siteplan.plan import plan_site
from siteplan.site.readers.site_file import read_site

FT = 0.3048

NARROW = """\
[project]
title = "Narrow"
owner = "A. Owner"
date = 2026-03-14
units = "ft"

[geometry]
parcel = [[0, 0], [100, 0], [100, 100], [0, 100]]

[[feature]]
id = "house"
kind = "building"
area = [[{left}, 30], [{right}, 30], [{right}, 50], [{left}, 50]]

[exchanger]
length = {{ given = "{feet} ft", by = "a designer" }}
entry = [[50, 30]]
"""


@pytest.mark.thorough
def test_another_wall_is_named_where_the_header_gets_to_more_ground_from_there(
    write_site: Callable[..., Path],
) -> None:
    # 6 ft beside the house hold no header that keeps 3.3 ft from walls and 5 ft from the line;
    # 10 bores of 350 ft have room only behind it
    text = NARROW.format(left=6, right=94, feet=3000).replace(
        "[exchanger]", '[exchanger]\nsystem = "vertical"'
    )
    plan = plan_site(read_site(write_site(text)))
    assert not plan.fits
    first = plan.weighing.remedies[0]
    assert first.kind == "entry"
    assert in_words(first.change).startswith("through the north wall of house, ")
    moved = read_site(write_site(text.replace("[[50, 30]]", "[[50, 50]]")))
    assert unweighed(moved, "vertical").fits


@pytest.mark.thorough
def test_what_helps_only_in_a_stronger_mixture_is_named_with_it(
    write_site: Callable[..., Path],
) -> None:
    # the fluid leaves the heat pump some 6 F colder than 30 F, and a fifth of propylene glycol
    # freezes at 20 F: nearer than 9 F, and no hole in a wall helps that
    weak = '[fluid]\nmixture = "propylene glycol 20 %"\ncoldest = "30 F"\n'
    text = NARROW.format(left=6, right=94, feet=3000).replace(
        "[exchanger]", '[exchanger]\nsystem = "vertical"'
    )
    plan = plan_site(read_site(write_site(text + HEATED + weak)))
    first = plan.weighing.remedies[0]
    assert (first.kind, first.steps) == ("entry", 2)
    fluid, entry = first.change.values["first"], first.change.values["second"]
    assert (fluid.code, entry.code) == ("stronger-mixture", "another-entry")
    # either alone leaves the other fault, both together fit
    strong = weak.replace("propylene glycol 20 %", fluid.values["mixture"])
    moved = text.replace("[[50, 30]]", "[[50, 50]]")
    fits = {
        (mixed, led): unweighed(read_site(write_site(led + HEATED + mixed)), "vertical").fits
        for mixed in (weak, strong)
        for led in (text, moved)
    }
    assert [key for key, fit in fits.items() if fit] == [(strong, moved)]


def test_backup_heat_scales_a_length_that_was_given_and_says_so(
    write_site: Callable[..., Path],
) -> None:
    # bores of 350 ft in a grid of 2 x 1: 700 ft; 800 ft are asked for, 80 % of it are 640 ft
    grid = '[vertical]\ngrid = { rows = 1, columns = 2, spacing = "20 ft" }\n'
    text = NARROW.format(left=40, right=60, feet=800).replace(
        "[exchanger]", '[exchanger]\nsystem = "vertical"'
    )
    lot = lot_of(read_site(write_site(text + grid)))
    trial = try_system(lot, "vertical")
    assert not trial.fits
    (change,) = backup_heat(lot, trial)
    assert "640 ft required, 80 % of the length given" in in_words(change)


def test_what_a_proven_bound_rules_out_is_not_tried(write_site: Callable[..., Path]) -> None:
    # trench centre lines lie in the 100 x 100 ft of the lot, grown by half the spacing 110 x 110 ft
    # at most: at 10 ft spacing less than 1,210 ft
    lot = lot_of(read_site(write_site(NARROW.format(left=40, right=60, feet=800))))
    assert may_hold(lot, "horizontal", 100 * FT)
    assert not may_hold(lot, "horizontal", 1210 * FT)
    # 10 ft off the line: 80 x 80 ft hold no 60 bores 20 ft apart, whatever their places
    assert not may_hold(lot, "vertical", 60 * 350 * FT)


def test_the_loop_type_with_the_smallest_change_is_closest(
    write_site: Callable[..., Path],
) -> None:
    lot = lot_of(read_site(write_site(NARROW.format(left=40, right=60, feet=90000))))
    trials = [try_system(lot, system) for system in ("horizontal", "vertical")]
    words = reason("turning-on-the-spot")
    deep, state = Remedy("horizontal", "depth", words), Remedy("vertical", "statement", words)
    assert closest(lot.site.exchanger, trials, (deep, state)).system == "vertical"
    assert closest(lot.site.exchanger, trials, (deep,)).system == "horizontal"
    # where neither holds anything: 90,000 ft in bores of 350 ft, 20 ft apart, take 258 plots of
    # 400 sq ft, and in trenches 10 ft apart 900,000 sq ft
    bare = [replace(each, layout=replace(each.layout, elements=())) for each in trials]
    assert closest(lot.site.exchanger, bare, ()).system == "vertical"
    # two changes are more than one, whatever they are
    twice = Remedy("vertical", "statement", words, steps=2)
    assert closest(lot.site.exchanger, trials, (deep, twice)).system == "horizontal"


@pytest.mark.parametrize(
    ("smaller", "larger"),
    [("statement", "entry"), ("entry", "depth"), ("depth", "loads"), ("loads", "variance")],
)
def test_what_is_only_said_is_less_than_what_is_dug_or_given_up(smaller: str, larger: str) -> None:
    assert ORDER.index(smaller) < ORDER.index(larger)


def test_a_change_beside_another_is_a_step_larger_and_tells_both() -> None:
    deep = Remedy("vertical", "depth", reason("turning-on-the-spot"))
    both = _beside(reason("no-way-for-header"), deep)
    assert both.steps == deep.steps + 1
    assert both.size > Remedy("vertical", ORDER[-1], deep.change).size
    for change in (reason("no-way-for-header"), deep.change):
        assert in_words(change) in in_words(both.change)


def two_bores_of(text: str, write_site: Callable[..., Path]) -> tuple[PreparedLot, Trial]:
    """A lot with two bores that together hold nine tenths of what is required of two."""
    grid = '[vertical]\ngrid = { rows = 1, columns = 2, spacing = "20 ft" }\n'
    site = read_site(write_site(text + grid))
    trial = try_system(lot_of(site), "vertical")
    assert trial.required is not None
    depth_m = 0.45 * trial.required.length_m
    lot = lot_of(read_site(write_site(f'{text}{grid}depth = "{depth_m:.2f} m"\n')))
    return lot, try_system(lot, "vertical")


@pytest.mark.parametrize(
    ("size", "tables", "code"),
    [("", HEATED, "backup-heat"), ('capacity = "4 ton"\n', "", "backup-heat-screened")],
)
def test_backup_heat_is_calculated_again_or_screened_where_no_length_is_given(
    size: str, tables: str, code: str, write_site: Callable[..., Path]
) -> None:
    # 80 % of the peak asks for less than nine tenths of the length, as its heat in a year stays
    text = NARROW.format(left=40, right=60, feet=800)
    given = 'length = { given = "800 ft", by = "a designer" }\n'
    text = text.replace(given, size).replace("[exchanger]", '[exchanger]\nsystem = "vertical"')
    lot, trial = two_bores_of(f"{text}{tables}", write_site)
    assert not trial.fits
    (change,) = backup_heat(lot, trial)
    assert change.code == code
    held_m = trial.layout.length_m if trial.layout else 0.0
    assert 0 < change.values["length_m"] <= held_m + 1e-6


def test_more_pipe_in_a_trench_is_proposed_by_its_own_length(
    write_site: Callable[..., Path],
) -> None:
    text = NARROW.format(left=20, right=80, feet=800).replace(
        'length = { given = "800 ft", by = "a designer" }\n', 'system = "horizontal"\n'
    )
    loads = HEATED.replace("12 MBH", "24 MBH")
    kind = '[horizontal]\nkind = "one pipe"\n'
    lot = lot_of(read_site(write_site(f"{text}{loads}{kind}")))
    trial = try_system(lot, "horizontal")
    assert not trial.fits
    (change,) = more_pipes(lot, "horizontal")
    assert change.code == "denser-trench-calculated"
    assert trial.required is not None
    # more pipe in each foot, and less trench, but more pipe in all: pipes close by exchange less
    assert change.values["length_m"] < trial.required.length_m


def test_trenches_that_lie_in_no_even_blocks_are_screened_and_say_so(
    write_site: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    # a square of 200 ft holds some 3,000 ft in rows 10 ft apart: more than 1,000 ft and a tenth
    wide = NARROW.replace("100, 100", "200, 200").replace("[100, 0]", "[200, 0]")
    text = wide.replace("[0, 100]", "[0, 200]").format(left=40, right=60, feet=1000)
    monkeypatch.setattr("siteplan.alternatives.screening._laid_out", lambda *_: None)
    lot = lot_of(read_site(write_site(text)))
    held = fits_with(lot, "horizontal", 1000 * FT)
    assert held is not None
    assert held.screened is not None
    assert held.screened.code == "screened-in-rows"
    assert fits_with(lot, "horizontal", 3500 * FT) is None


@pytest.fixture
def by_drainfield(write_site: Callable[..., Path]) -> PreparedLot:
    """A lot that needs fifteen bores beside a drainfield whose flow nobody states."""
    # a drainfield whose flow nobody states keeps bores 100 ft off in Maine, where small ones keep
    # less: then ten bores have room 20 ft apart, and fifteen nearer together or deeper
    field = (
        '[[feature]]\nkind = "drainfield"\narea = [[45, 85], [55, 85], [55, 95], [45, 95]]\n'
        '[exchanger]\nsystem = "vertical"'
    )
    text = NARROW.format(left=40, right=60, feet=5250).replace("[exchanger]", field)
    site = read_site(write_site(text + '[rules]\nbooks = ["maine"]\n'))
    return lot_of(site)


def test_flows_that_nobody_states_may_be_stated_small(by_drainfield: PreparedLot) -> None:
    stated = all_stated(by_drainfield, "vertical")
    assert stated is not None
    assert stated[1].code == "flows-stated"
    assert {flow.code for flow in stated[1].values["flows"]} == {"flow-below"}


@pytest.mark.thorough
def test_flows_are_stated_beside_a_change_where_that_alone_does_not_help(
    by_drainfield: PreparedLot,
) -> None:
    # no more than the smallest is ever asked for
    first = next(_with_statements(by_drainfield, try_system(by_drainfield, "vertical")))
    assert first.change.code == "both-changes"
    assert first.steps == 2


# A yard of 50 by 50 ft: house in the south, property line in the north, buried lines along the two
# sides. 10 ft off all of them leave 30 by 30 ft, which hold 5 bores 20 ft apart (4 corners, and the
# middle 21.2 ft from each); one distance less leaves 40 by 30 ft at most, 3 by 2 bores; 5 ft off
# all of them leave 40 by 40 ft, 3 by 3.
YARD = """\
[project]
title = "Yard"
owner = "A. Owner"
date = 2026-03-14
units = "ft"

[geometry]
parcel = [[0, 0], [50, 0], [50, 80], [0, 80]]

[[feature]]
id = "house"
kind = "building"
area = [[0, 0], [50, 0], [50, 30], [0, 30]]

[[feature]]
kind = "gas line"
line = [[0, 30], [0, 80]]

[[feature]]
kind = "water line"
line = [[50, 30], [50, 80]]

[exchanger]
system = "vertical"
length = { given = "FEET ft", by = "a designer" }
entry = [[25, 30]]

[vertical]
spacing = "20 ft"
depth = { least = "100 ft", most = "300 ft" }

[rig]
access = "anywhere"

[staking]
allowance = "0 ft"
"""


@pytest.mark.thorough
def test_several_distances_are_shorter_at_once_where_none_helps_alone(
    write_site: Callable[..., Path],
) -> None:
    lot = lot_of(read_site(write_site(YARD.replace("FEET", "2100"))))  # 7 bores of 300 ft
    trial = try_system(lot, "vertical")
    assert trial.layout is not None
    assert len(trial.layout.elements) == 5
    (remedy, *_) = _several(lot, trial)
    assert (remedy.kind, remedy.steps) == ("own distance", 4)
    told = remedy.change.values["each"]
    assert isinstance(told, tuple)
    subjects = {"property line", "building", "gas line", "water line"}
    assert {each.values["kind"] for each in told if isinstance(each, Reason)} == subjects
    assert in_words(remedy.change).count("5.0 ft from the ") == 4
    there, change = list(shorter_by_share(lot, trial))[-1]
    assert change.values["each"] == told
    after = try_system(there, "vertical")
    assert after.fits
    assert after.layout is not None
    assert len(after.layout.elements) == 7


def test_drinking_water_is_no_distance_to_shorten_for_want_of_room(
    write_site: Callable[..., Path],
) -> None:
    # the well's 50 ft by common practice leave nothing of the yard, whatever else gives way
    well = '\n[[feature]]\nkind = "well"\nat = [25, 55]\n\n[exchanger]'
    text = YARD.replace("FEET", "2100").replace("\n[exchanger]", well)
    lot = lot_of(read_site(write_site(text)))
    assert list(_several(lot, try_system(lot, "vertical"))) == []


def test_that_nothing_helps_is_said(write_site: Callable[..., Path]) -> None:
    # 60 bores of 300 ft have no room in 50 by 50 ft however they are drilled
    plan = plan_site(read_site(write_site(YARD.replace("FEET", "18000"))))
    assert plan.weighing.remedies == ()
    nothing = nothing_helps(plan.weighing, plan.drawn)
    assert nothing is not None
    assert in_words(nothing).startswith("none of the changes that were tried")
    # what only a fault beside its geometry stops has ground enough
    fault = reason("stopped-by-fault", takes=plan.drawn.why, fault=plan.drawn.why)
    nothing = nothing_helps(plan.weighing, replace(plan.drawn, why=fault))
    assert in_words(nothing).startswith("mending what its findings call an error")
    fitting = plan_site(read_site(write_site(YARD.replace("FEET", "1200"))))
    assert fitting.fits
    assert nothing_helps(fitting.weighing, fitting.drawn) is None


NORTHERN = """\
[project]
title = "Granite"
owner = "A. Owner"
date = 2026-03-14
units = "m"
[geometry]
parcel = [[0, 0], [22, 0], [26, 48], [2, 51]]
[[feature]]
kind = "house"
area = [[6, 18], [17, 18], [17, 27], [6, 27]]
[[feature]]
kind = "water line"
line = [[11, 0], [11, 18]]
[[feature]]
kind = "energy well"
at = [-8, 30]
[loads]
heating = "9 kW"
heating_hours = 2300
[ground]
soil = "granite"
temperature = "7 C"
[rules]
books = ["swedish-practice"]
"""


def test_a_step_further_is_tried_where_more_elements_need_more_than_fewer_did() -> None:
    # rows hold the old need at 8.6 m, and the need of more bores at 8.1 m: steps of half a metre
    holds = [8.6, 8.1]

    def held_with(distance: float) -> Held | None:
        return Held(420.0) if distance <= holds[1] else None

    found = nearest_held((10.0, 0.0, 0.5), lambda distance: distance <= holds[0], held_with)
    assert found == (8.0, Held(420.0))
    assert nearest_held((10.0, 8.5, 0.5), lambda distance: distance <= holds[0], held_with) is None


def test_northern_granite_is_drilled_deeper_than_many_rigs_go(
    write_site: Callable[..., Path],
) -> None:
    # two bores of 200 m are drilled there every day: common practice, no source
    lot = lot_of(read_site(write_site(NORTHERN)))
    trial = try_system(lot, "vertical")
    assert trial.required is not None
    (deeper,) = deeper_bores(lot, "vertical", trial.required.length_m)
    assert deeper.values["bores"] == 2
    assert deeper.values["depth_m"] > 500 * FT
    assert "ask the driller first" in in_words(deeper)


@pytest.mark.thorough
def test_what_more_bores_need_is_tried_before_a_change_is_given_up(
    write_site: Callable[..., Path],
) -> None:
    # the larger distance at which rows hold what two bores need is too large for four, which
    # take heat from each other and need more; a step less carries them
    lot = lot_of(read_site(write_site(NORTHERN)))
    trial = try_system(lot, "vertical")
    assert trial.required is not None
    found = {one.kind: one.change for one in remedies_of(lot, trial)}
    # 10 m to the line unless the neighbour consents: Kungsbacka, Vannas, Flen, Hogsby
    line = next(rule for rule in lot.rules.rules if rule.id == "property-line")
    nearest = found["variance"].values["distance_m"]
    nearer = try_system(lot.with_rules(lot.rules.relaxed(line, nearest)), "vertical")
    assert nearer.fits
    assert nearer.required is not None
    assert nearer.required.length_m > trial.required.length_m
    # what is needed at the closer spacing is told, as it is calculated
    after = found["spacing"].values["after"]
    assert after.code == "then-required"
    assert after.values["length_m"] > trial.required.length_m
