"""The kind of trench where the site file leaves it open: each by its own calculated length."""

from __future__ import annotations

from dataclasses import replace

import pytest
from planned import planned_once, tried
from small_lot import HEATED, bare, unsized
from wording import in_words

from siteplan.audit.audit import audit_drawing
from siteplan.available.prepared import lot_of
from siteplan.demand.required import required_of
from siteplan.design.trench_kind import PIPE_A_VOLUME, with_trench_kind
from siteplan.errors import InputError
from siteplan.site.readers.site_file import read_site
from siteplan.site.trench_kinds import trench_kinds


@pytest.fixture
def site_of(lot_text, write_site):
    def read(tables: str = "", loads: str = HEATED, feet: float = 200):
        return read_site(write_site(f"{unsized(bare(lot_text, feet))}{loads}{tables}"))

    return read


def by_hand(site, name):
    """Soil and pipe of a kind in one figure, by its usual section and its own length [m3]."""
    kind = trench_kinds()[name]
    options = next(each for each in site.exchanger.horizontal.choices if each.kind == name)
    wanted = replace(site.exchanger, horizontal=options)
    length_m = required_of(wanted, "horizontal").length_m
    return length_m * (kind.width_m * kind.depth_m + kind.pipe_per_m / PIPE_A_VOLUME)


def test_kinds_are_compared_by_their_own_lengths_and_the_least_work_comes_first(site_of):
    site = site_of()
    compared = planned_once(site, system="horizontal").kinds
    works = {each.kind: each.work_m3 - each.sand_m3 for each in compared}
    # a pit is wider than the usual spacing of 10 ft; all other kinds can be dug
    assert set(works) == set(trench_kinds()) - {"wide pit"}
    for name, work in works.items():
        assert work == pytest.approx(by_hand(site, name))
    ordered = [each.work_m3 for each in compared]
    assert ordered == sorted(ordered)


@pytest.mark.parametrize("left_out", [(), ("two pipes stacked", "one pipe")])
def test_on_an_ample_lot_no_kind_of_less_work_with_its_header_is_passed_over(site_of, left_out):
    # without these two the header decides between two kinds of much the same work
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


def test_a_drawing_of_a_kind_left_open_is_audited_as_the_kind_it_shows(site_of, tmp_path):
    site = site_of()
    plan = planned_once(site, system="horizontal")
    plan.write(tmp_path / "permit")
    audit = audit_drawing(tmp_path / "permit" / "plan.dxf", site)
    assert audit.site.exchanger.horizontal.kind == plan.site.exchanger.horizontal.kind
    assert [one.code for one in audit.findings if one.severity == "error"] == []
