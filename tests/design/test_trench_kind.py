"""The kind of trench where the site file leaves it open: each by its own calculated length."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest
from campaign import thorough
from planned import planned_once, tried
from small_lot import HEATED, bare, unsized
from wording import in_words

from siteplan.audit.audit import audit_drawing
from siteplan.available.prepared import lot_of
from siteplan.demand.model import DemandError
from siteplan.demand.required import required_of
from siteplan.design import kinds_laid_out
from siteplan.design.kinds_laid_out import holding
from siteplan.design.trench_kind import with_trench_kind
from siteplan.design.trench_of_kind import PIPE_A_VOLUME, of_kind
from siteplan.errors import InputError
from siteplan.findings.model import reason
from siteplan.plan import plan_site
from siteplan.site.readers.site_file import read_site
from siteplan.site.trench_kinds import trench_kinds

pytestmark = pytest.mark.usefixtures("coarse")


@pytest.fixture
def site_of(lot_text, write_site):
    def read(tables: str = "", loads: str = HEATED, feet: float = 200):
        return read_site(write_site(f"{unsized(bare(lot_text, feet))}{loads}{tables}"))

    return read


def by_hand(name, length_m):
    """Soil and pipe of a kind in one figure, by its usual section [m3]."""
    kind = trench_kinds()[name]
    return length_m * (kind.width_m * kind.depth_m + kind.pipe_per_m / PIPE_A_VOLUME)


def least_of(site, name):
    """Length of a kind before anything is laid out [m]."""
    options = next(each for each in site.exchanger.horizontal.choices if each.kind == name)
    wanted = replace(site.exchanger, horizontal=options)
    return required_of(wanted, "horizontal").length_m


def test_kinds_are_compared_by_their_own_lengths_and_the_least_work_comes_first(site_of):
    site = site_of()
    plan = planned_once(site, system="horizontal")
    compared = {each.kind: each for each in plan.kinds}
    # a pit is wider than the usual spacing of 10 ft; all other kinds can be dug
    assert set(compared) == set(trench_kinds()) - {"wide pit"}
    for name, each in compared.items():
        assert each.work_m3 - each.sand_m3 == pytest.approx(by_hand(name, each.length_m))
        # no layout needs less than the fewest circuits do
        assert each.length_m >= least_of(site, name) - 1e-6
    taken = compared[plan.site.exchanger.horizontal.kind]
    assert taken.length_m == pytest.approx(plan.drawn.required.length_m)
    ordered = [each.work_m3 for each in plan.kinds]
    assert ordered == sorted(ordered)


@pytest.mark.parametrize("left_out", [(), ("two pipes stacked",)])
def test_on_an_ample_lot_no_kind_of_less_work_with_its_header_is_passed_over(site_of, left_out):
    # without it the header decides between two kinds of much the same work
    site = site_of(loads=HEATED.replace("12 MBH", "4 MBH"), feet=100)
    choices = [each for each in site.exchanger.horizontal.choices if each.kind not in left_out]
    horizontal = replace(site.exchanger.horizontal, choices=tuple(choices))
    site = replace(site, exchanger=replace(site.exchanger, horizontal=horizontal))
    choice = with_trench_kind(lot_of(site))

    def work(kind):
        options = replace(site.exchanger, horizontal=kind.options)
        laid = tried(replace(site, exchanger=options), "horizontal").layout
        assert laid.obstacle is None
        header = site.exchanger.piping.header
        return kind.work_m3 + laid.header.length_m * header.depth_m * header.width_m

    taken = choice.lot.site.exchanger.horizontal.kind
    (least,) = [work(kind) for kind in choice.compared if kind.kind == taken]
    # a header is dug too: a kind of more work by itself cannot be less with it
    rivals = [each for each in choice.compared if each.kind != taken and each.work_m3 < least]
    assert bool(rivals) == bool(left_out)
    assert all(work(kind) >= least - 1e-6 for kind in rivals)


def test_a_small_lot_gets_the_kind_that_it_holds(site_of):
    # 60 ft square less 10 ft all round: some 200 ft of trench, where 12 MBH take 600 ft of one pipe
    choice = with_trench_kind(lot_of(site_of(feet=60)))
    taken = choice.lot.site.exchanger.horizontal.kind
    least = choice.compared[0]
    own = next(each for each in choice.compared if each.kind == taken)
    assert own.work_m3 > least.work_m3
    assert own.length_m < least.length_m


def test_kinds_are_compared_from_the_entries_that_the_plan_takes(site_of, monkeypatch):
    site, made, asked, heard = site_of(), SimpleNamespace(), [], []
    made.layout = SimpleNamespace(obstacle=None)
    few = tuple(replace(entry, id="E7") for entry in site.entries)

    def entered(lot, system, length_m):
        asked.append((system, length_m))
        return replace(lot, site=replace(lot.site, entries=few))

    def settled(there, required, _system, begun):
        assert there.site.entries == few
        begun(required, made)
        raise DemandError(reason("no-length-enough", because="nothing is laid out here"))

    monkeypatch.setattr(kinds_laid_out, "entered", entered)
    monkeypatch.setattr(kinds_laid_out, "attempt", lambda *_: made)
    monkeypatch.setattr(kinds_laid_out, "settled", settled)
    options = site.exchanger.horizontal.choices[0]
    kinds = [of_kind(site, options, least_of(site, options.kind))]
    holding(
        lot_of(site), kinds, priced=True, begun=lambda there, *told: heard.append((there, told))
    )
    # a first layout is heard of, on the site with its kind
    there, (required, laid) = heard[0]
    assert (there.exchanger.horizontal.kind, there.entries, laid) == (options.kind, few, made)
    assert asked[0] == ("horizontal", required.length_m)


def test_which_kind_was_taken_is_told_with_the_others(site_of):
    plan = planned_once(site_of(), system="horizontal")
    (note,) = [one for one in plan.findings if one.code == "trench-kind-taken"]
    words = in_words(note)
    taken = trench_kinds()[plan.site.exchanger.horizontal.kind].words
    assert words.startswith(f"The kind of trench is left open. Taken: {taken} trench (")
    assert "cu yd dug" in words
    rows = plan.summary()["trench_kinds"]
    assert [row["kind"] for row in rows if row["taken"]] == [plan.site.exchanger.horizontal.kind]


def test_a_kind_that_is_named_is_dug(site_of):
    for table in ('kind = "six pipes"\n', "pipes = 6\n"):
        site = site_of(f"[horizontal]\n{table}")
        choice = with_trench_kind(lot_of(site))
        assert choice.lot.site.exchanger.horizontal.kind == "six pipes"
        assert choice.compared == ()
        trial = choice.told(tried(site, "horizontal"))
        assert {each.kind_name for each in trial.layout.elements} == {"six pipes"}
        assert "trench-kind-taken" not in [one.code for one in trial.findings]


def test_without_lengths_to_compare_the_usual_kind_stands(site_of, lot_text, write_site):
    assert read_site(write_site(lot_text)).exchanger.horizontal.choices == ()
    with pytest.raises(InputError, match="kinds are compared by the length that each needs"):
        site_of('[horizontal]\nkind = "choose"\nlength = { given = "600 ft", by = "a designer" }\n')


@pytest.mark.thorough
def test_a_drawing_of_a_kind_left_open_is_audited_as_the_kind_it_shows(site_of, tmp_path):
    site = site_of()
    plan = planned_once(site, system="horizontal")
    plan.write(tmp_path / "permit")
    audit = audit_drawing(tmp_path / "permit" / "plan.dxf", site)
    assert audit.site.exchanger.horizontal.kind == plan.site.exchanger.horizontal.kind
    assert [one.code for one in audit.findings if one.severity == "error"] == []


PIPE_DEAR = """
[prices]
currency = "USD"
trench = { "8 ft" = 0.1 }
pipe = { "3/4 in" = [9, 11], "1 in" = [9, 11], "1-1/4 in" = 10 }
"""
DIGGING_DEAR = """
[prices]
currency = "USD"
trench = { "8 ft" = [90, 110] }
pipe = { "3/4 in" = 0.01, "1 in" = 0.01, "1-1/4 in" = 0.01 }
"""


@pytest.mark.parametrize(
    "prices", [thorough(PIPE_DEAR), DIGGING_DEAR], ids=["pipe dear", "digging dear"]
)
def test_with_prices_no_cheaper_kind_is_passed_over(site_of, prices):
    site = site_of(prices)
    plan = plan_site(site, system="horizontal")

    def cost(options):
        there = replace(site, exchanger=replace(site.exchanger, horizontal=options))
        (taken,) = plan_site(there, system="horizontal").compared
        # what lacks a price for one of its pipes cannot be compared
        return taken.cost.middle if taken.cost.tells else float("inf")

    costs = {options.kind: cost(options) for options in site.exchanger.horizontal.choices}
    assert costs[plan.site.exchanger.horizontal.kind] == pytest.approx(min(costs.values()))
    (note,) = [one for one in plan.findings if one.code == "trench-kind-cheapest"]
    assert "the cheapest by the prices given" in in_words(note)
    rows = plan.summary()["trench_kinds"]
    assert rows[0]["taken"]
    assert rows[0]["cost"]["low"] <= min(costs.values()) <= rows[0]["cost"]["high"]


def test_what_is_dear_decides_the_kind(site_of):
    kinds = {
        prices: plan_site(site_of(prices), system="horizontal").site.exchanger.horizontal.kind
        for prices in (PIPE_DEAR, DIGGING_DEAR)
    }
    # 10 dollars a foot of pipe: as few pipes as can be; 100 a foot of trench: as many as can be
    assert (
        trench_kinds()[kinds[PIPE_DEAR]].pipe_per_m < trench_kinds()[kinds[DIGGING_DEAR]].pipe_per_m
    )


def test_no_kind_as_laid_out_costs_less_than_was_known_before(site_of):
    goods = "sand = 45\ntape = 0.1\nwire = 0.25\nantifreeze = 17\n"
    goods += "[prices.mobilization]\nexcavator = 600\n"
    kinds = planned_once(site_of(DIGGING_DEAR + goods), system="horizontal").kinds
    laid = [(each.least_cost, each.cost.middle) for each in kinds if each.cost is not None]
    assert laid
    # what is missing is the header: a tenth of the trench on common lots, no source
    assert all(0.7 * middle < least < middle for least, middle in laid)


def test_a_kind_without_a_price_is_taken_only_where_none_with_prices_fits(site_of):
    # digging is priced down to 5 ft: for a single pipe, two side by side and the flat coil
    prices = DIGGING_DEAR.replace('"8 ft"', '"5 ft"')
    plan = plan_site(site_of(prices), system="horizontal")
    options = plan.site.exchanger.horizontal
    assert options.depth_m <= 5 * 0.3048 + 1e-9
    (note,) = [one for one in plan.findings if one.code == "trench-kind-cheapest"]
    assert "its trench or pipe has no price" in in_words(note)
    none = plan_site(site_of(prices.replace('"5 ft"', '"1 ft"')), system="horizontal")
    assert "trench-kind-taken" in [one.code for one in none.findings]


def test_kinds_are_said_to_be_compared_only_where_they_are(site_of):
    steps: list[str] = []
    plan_site(site_of(), system="horizontal", progress=steps.append)
    assert "comparing kinds of trench" in steps
    steps.clear()
    plan_site(site_of('[horizontal]\nkind = "six pipes"\n'), progress=steps.append)
    plan_site(site_of(), system="vertical", progress=steps.append)
    assert "comparing kinds of trench" not in steps
