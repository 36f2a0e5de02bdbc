"""What rule books bind beside distances: a finding for each bound that is broken."""

from __future__ import annotations

import dataclasses
import re
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest
from planned import unweighed
from wording import in_words

from siteplan.advisories.bounds import (
    Condition,
    bound_findings,
    conditions_on,
    pressure_asked,
    ties_asked,
)
from siteplan.errors import InputError, RuleError
from siteplan.findings.model import Finding
from siteplan.plan import SitePlan
from siteplan.rule_books.loader import load_book, read_book
from siteplan.rule_books.model import Book
from siteplan.site.model import System
from siteplan.site.readers.site_file import read_site

FT = 0.3048
PSI = 0.45359237 * 9.80665 / 0.0254**2
LOT = """\
[project]
title = "Bound"
owner = "A. Owner"
date = 2026-03-14
units = "ft"

[geometry]
parcel = [[0, 0], [220, 0], [220, 240], [0, 240]]

[[feature]]
id = "house"
kind = "building"
area = [[80, 20], [120, 20], [120, 50], [80, 50]]

[exchanger]
system = "{system}"
length = {{ given = "600 ft", by = "test" }}
capacity = "3 ton"
entry = [100, 50]

{tables}

[rules]
books = {books}
"""
HEAT = """\
[loads]
heating = "36 MBH"
heating_hours = 1800
cooling = "24 MBH"
cooling_hours = 600
[ground]
temperature = "52 F"
conductivity = "1.2 Btu/h.ft.F"
diffusivity = "0.9 ft2/day"
"""
Planned = Callable[..., SitePlan]


@pytest.fixture
def planned(write_site: Callable[..., Path]) -> Planned:
    def built(
        tables: str = "", books: str = '["minnesota"]', system: System = "vertical"
    ) -> SitePlan:
        text = LOT.format(tables=tables, books=books, system=system)
        return unweighed(read_site(write_site(text)), system)

    return built


def book_of(text: str) -> Book:
    """Book with one bound."""
    head = 'id = "b"\ntitle = "Somewhere"\nread_on = 2026-01-31\n[[bound]]\nprinted = "as asked"\n'
    return read_book(tomllib.loads(head + 'source = "Code 1"\n' + text), "b.toml")


def judged(plan: SitePlan, text: str) -> tuple[Condition, ...]:
    """What one bound comes to on a plan."""
    drawn = plan.drawn
    return conditions_on(plan.site, (book_of(text),), drawn.system, drawn.layout)


def said(plan: SitePlan, text: str) -> list[Finding]:
    """Findings on one bound."""
    return list(bound_findings(judged(plan, text), plan.site))


def codes(plan: SitePlan) -> dict[str, Finding]:
    return {finding.code: finding for finding in plan.drawn.findings}


def test_minnesota_stops_a_plan_with_methanol(planned: Planned) -> None:
    # Minn. R. 4725.7050: food-grade or USP propylene glycol and potable water only
    plan = planned('[fluid]\nmixture = "methanol 20 %"\n')
    finding = codes(plan)["fluid-not-allowed"]
    assert not plan.fits
    assert (finding.severity, finding.rule) == ("error", "minnesota/fluid")
    assert "methanol 20 % is not allowed by Minn. R., 4725.7050" in plan.content().verdict


def test_the_mend_is_the_weakest_allowed_mixture_that_does_not_freeze(planned: Planned) -> None:
    plan = planned(f'{HEAT}\n[fluid]\nmixture = "methanol 20 %"\n')
    # entering at 32 F, and 5 K below the lowest: of propylene glycol only 25 % freezes so low
    words = in_words(codes(plan)["fluid-not-allowed"])
    assert words.endswith("potable water only. Use propylene glycol 25 % ([fluid] mixture).")


@pytest.mark.parametrize("mixture", ["water", "propylene glycol 20 %"])
def test_minnesota_allows_propylene_glycol_and_water(planned: Planned, mixture: str) -> None:
    plan = planned(f'[fluid]\nmixture = "{mixture}"\n')
    assert "fluid-not-allowed" not in codes(plan)


def test_a_fluid_that_nobody_stated_is_judged_as_assumed(planned: Planned) -> None:
    plan = planned()
    (fluid,) = judged(plan, 'of = "fluid"\nnames = ["water"]\n')
    assert (fluid.assumed, fluid.kept) == (True, False)
    (finding,) = bound_findings([fluid], plan.site)
    assert "The fluid, propylene glycol 25 % (assumed), is not one" in in_words(finding)
    (stated,) = judged(
        planned('[fluid]\nmixture = "methanol 10 %"\n'), 'of = "fluid"\nnames = ["methanol"]\n'
    )
    assert (stated.assumed, stated.kept) == (False, True)


def test_a_book_can_name_what_it_does_not_allow(planned: Planned) -> None:
    # as Quebec Q-2, r. 35.2, s. 29(3) does: no ethylene glycol, potassium acetate or methanol
    bound = 'of = "fluid"\nsays = "none of"\nnames = ["ethylene glycol", "methanol"]\n'
    plan = planned('[fluid]\nmixture = "methanol 10 %"\n', "[]")
    (finding,) = said(plan, bound)
    assert finding.code == "fluid-not-allowed"
    # water freezes; methanol and ethylene glycol are named
    assert in_words(finding).endswith(
        "as asked. Use ethanol 25 % or propylene glycol 25 % ([fluid] mixture)."
    )
    assert said(planned("", "[]"), bound) == []


def test_a_poison_is_proposed_only_where_a_book_lists_it(planned: Planned) -> None:
    # ethylene glycol: poisonous; many authorities forbid it; common practice, no source
    plan = planned('[fluid]\nmixture = "methanol 10 %"\n', "[]")
    (free,) = said(plan, 'of = "fluid"\nsays = "none of"\nnames = ["methanol"]\n')
    assert "ethylene" not in in_words(free)
    (listed,) = said(plan, 'of = "fluid"\nnames = ["ethylene glycol"]\n')
    assert "Use ethylene glycol 25 %" in in_words(listed)


def test_a_book_may_allow_no_fluid_that_does_not_freeze(planned: Planned) -> None:
    plan = planned('[fluid]\nmixture = "methanol 20 %"\n', "[]")
    # water freezes at 32 F, and the fluid enters the heat pump at 32 F
    (finding,) = said(plan, 'of = "fluid"\nnames = ["water"]\n')
    assert in_words(finding).endswith("allows (Code 1): as asked.")


def test_north_carolina_has_every_additive_approved(planned: Planned) -> None:
    # 15A NCAC 02C .0222(a): only additives that the state health division finds harmless
    plan = planned("", '["north-carolina"]')
    assert codes(plan)["fluid-needs-approval"].severity == "warning"
    assert plan.fits
    water = planned('[fluid]\nmixture = "water"\n', '["north-carolina"]')
    assert "fluid-needs-approval" not in codes(water)


def test_a_fluid_bound_for_bores_leaves_trenches_alone(planned: Planned) -> None:
    plan = planned('[fluid]\nmixture = "methanol 20 %"\n', system="horizontal")
    assert "fluid-not-allowed" not in codes(plan)
    # City of Mission Hills code 5-130.1(D): propylene glycol only, of any closed loop
    hills = planned(
        '[fluid]\nmixture = "methanol 20 %"\n', '["mission-hills-ks"]', system="horizontal"
    )
    assert "fluid-not-allowed" in codes(hills)


def test_an_open_loop_has_no_fluid_to_judge(planned: Planned) -> None:
    plan = planned('[open]\nflow = "5 gpm"\nyield = "9 gpm"\n', '["mission-hills-ks"]', "open")
    assert [one.bound.of for one in plan.content().conditions] == []


def test_a_grout_that_is_not_allowed_stops_the_plan(planned: Planned) -> None:
    bound = 'of = "grout"\nnames = ["bentonite", "cement"]\n'
    (assumed,) = said(planned("", "[]"), bound)
    assert (assumed.severity, assumed.code) == ("error", "grout-not-allowed")
    assert "bentonite and sand, from the toe up to the header (assumed)" in in_words(assumed)
    assert "Use bentonite or cement ([grout] material)." in in_words(assumed)
    assert said(planned('[grout]\nmaterial = "cement"\n', "[]"), bound) == []


def test_illinois_asks_for_grout_up_to_the_header_trench(planned: Planned) -> None:
    # 77 Ill. Adm. Code 920.180(a): from the bottom of the bore to the bottom of the header trench
    conditions = {one.bound.of: one for one in planned("", '["illinois"]').content().conditions}
    assert conditions["grout"].kept is True
    assert conditions["grout"].assumed


def test_plain_bentonite_needs_its_conductivity(write_site: Callable[..., Path]) -> None:
    tables = f'{HEAT}\n[grout]\nmaterial = "bentonite"\n'
    text = LOT.format(tables=tables, books="[]", system="vertical")
    with pytest.raises(InputError, match="is plain bentonite, and nobody says how it conducts"):
        read_site(write_site(text))
    stated = text.replace("[grout]", '[loop]\ngrout = "0.43 Btu/h.ft.F"\n[grout]')
    assert read_site(write_site(stated)).exchanger.piping.grout.material == "bentonite"


def test_a_thinner_pipe_than_asked_is_refused(planned: Planned) -> None:
    # Minn. R. 4725.7050: HDPE SDR-11
    thin = codes(planned(f"{HEAT}\n[loop]\ndimension_ratio = 13.5\n"))["pipe-not-allowed"]
    assert (thin.severity, thin.rule) == ("error", "minnesota/pipe")
    assert "Use pipe of dimension ratio 11 at most" in in_words(thin)
    # a lower ratio is a thicker wall
    assert "pipe-not-allowed" not in codes(planned(f"{HEAT}\n[loop]\ndimension_ratio = 9\n"))


def test_a_book_without_polyethylene_has_no_pipe_for_the_loop(planned: Planned) -> None:
    (finding,) = said(planned("", "[]"), 'of = "pipe"\nnames = ["copper"]\n')
    assert finding.code == "pipe-not-allowed"
    # Connecticut, 25-128-39c: HDPE or cathodically protected copper
    assert "pipe-not-allowed" not in codes(planned("", '["connecticut"]'))


def test_a_test_pressure_below_the_books_stops_the_plan(planned: Planned) -> None:
    # City of Mission Hills code 5-130.1(E)(1): 100 psi for at least 1 h
    low = planned('[circuits]\ntest_pressure = "90 psi"\n', '["mission-hills-ks"]')
    assert codes(low)["test-pressure-too-low"].severity == "error"
    assert not low.fits
    even = planned('[circuits]\ntest_pressure = "100 psi"\n', '["mission-hills-ks"]')
    assert even.fits


@pytest.mark.parametrize(
    ("stated", "pressure", "source"),
    [
        # Minn. R. 4725.7050: 15 min at 1.5 x operating or 75 psi, whichever is greater
        ("", 75 * PSI, "minnesota/test-pressure"),
        ('[circuits]\ntest_pressure = "120 psi"\n', 120 * PSI, "minnesota/test-pressure"),
    ],
)
def test_the_greater_of_the_own_and_the_asked_test_pressure_is_printed(
    planned: Planned, stated: str, pressure: float, source: str
) -> None:
    plan = planned(stated)
    tested = pressure_asked(plan.site, plan.content().conditions)
    assert tested is not None
    assert tested.values["pressure_pa"] == pytest.approx(pressure)
    assert tested.rule == source
    words = in_words(tested)
    assert "at 1.5 x the operating pressure where that is more, for 15 min" in words
    assert "(Minn. R., 4725.7050)" in words


def test_a_cover_below_the_books_is_told_with_the_depth_that_keeps_it(planned: Planned) -> None:
    # two pipes 5 ft deep, the uppermost on the bottom: 6 ft asked is 1 ft more
    plan = planned('[horizontal]\ndepth = "5 ft"\n', "[]", "horizontal")
    (trench,) = said(plan, 'of = "cover"\nfor = ["trench"]\nleast = "6 ft"\n')
    assert (trench.severity, trench.code, trench.subject) == ("error", "cover-below-book", "trench")
    assert trench.required_m == pytest.approx(6 * FT)
    cover = trench.measured_m
    assert cover is not None
    assert trench.values["deeper_m"] == pytest.approx(5 * FT + 6 * FT - cover)
    findings = said(plan, 'of = "cover"\nleast = "20 ft"\n')
    assert [finding.subject for finding in findings] == ["trench", "header"]
    assert said(plan, 'of = "cover"\nleast = "1 ft"\n') == []


def test_more_ties_than_buildings_have_corners_are_told_missing(planned: Planned) -> None:
    plan = planned("", "[]")
    # a house of four corners
    assert said(plan, 'of = "ties"\nleast = 4\n') == []
    (few,) = said(plan, 'of = "ties"\nleast = 5\n')
    assert (few.code, few.severity) == ("ties-too-few", "warning")


def test_new_hampshire_asks_for_three_ties() -> None:
    # We 602.17: exact distances to at least three permanent reference points
    assert ties_asked([load_book("new-hampshire")]) == 3
    assert ties_asked([load_book("maine")]) == 0


GOOD = 'of = "fluid"\nnames = ["water"]\n'


@pytest.mark.parametrize(
    ("bound", "message"),
    [
        ('of = "fluit"\n', "of: 'fluit' is not known; did you mean 'fluid'?"),
        ('of = "fluid"\n', "bound 'fluid': binds nothing. Give names."),
        ('of = "fluid"\nnames = ["methanl"]\n', "names: 'methanl' is not a known fluid; did you"),
        ('of = "grout"\nfull_depth = 3\n', "full_depth: 3 is neither true nor false"),
        ('of = "pipe"\ndimension_ratio = "11"\n', "dimension_ratio: '11' is not a number above"),
        ('of = "test pressure"\nleast = "75"\n', "least: '75' has no unit"),
        ('of = "cover"\nleast = "-4 ft"\n', "least: '-4 ft' is not above zero"),
        ('of = "cover"\nleast = "4 ft"\nfor = ["bore"]\n', "for: 'bore' is not a part; known: tr"),
        ('of = "ties"\nleast = 0\n', "least: 0 is not a number above zero"),
        ('of = "scale"\nscales = ["1/4 in"]\n', "scales: '1/4 in' is not a scale"),
        ('of = "scale"\nfrom = "1:500"\nto = "1:200"\n', "from: is a smaller scale than to"),
        (f'{GOOD}least = "4 ft"\n', "least: is not a key here"),
    ],
)
def test_a_faulty_bound_is_refused_with_the_mend(bound: str, message: str) -> None:
    with pytest.raises(RuleError, match=message.replace("?", r"\?").replace("(", r"\(")):
        book_of(bound)


def test_all_faults_of_a_bound_come_together_and_none_goes_without_source() -> None:
    text = 'id = "b"\ntitle = "B"\nread_on = 2026-01-31\n[[bound]]\nof = "fluid"\nnames = ["x"]\n'
    with pytest.raises(RuleError, match="source: is missing") as caught:
        read_book(tomllib.loads(text), "b.toml")
    assert len(caught.value.faults) == 3


def test_two_bounds_of_one_kind_need_ids_of_their_own() -> None:
    row = f'[[bound]]\nid = "f"\nprinted = "p"\nsource = "s"\n{GOOD}'
    text = f'id = "b"\ntitle = "B"\nread_on = 2026-01-31\n{row}{row}'
    with pytest.raises(RuleError, match="bound id 'f' is used twice"):
        read_book(tomllib.loads(text), "b.toml")


def test_conditions_stand_in_the_summary(planned: Planned) -> None:
    rows = planned('[fluid]\nmixture = "methanol 20 %"\n').summary()["conditions"]
    assert rows[0] == {
        "of": "fluid",
        "rule": "minnesota/fluid",
        "asked": "food-grade or USP propylene glycol and potable water only",
        "source": "Minn. R., 4725.7050",
        "here": "methanol 20 %",
        "assumed": False,
        "kept": False,
    }
    assert [(row["of"], row["kept"]) for row in rows[1:]] == [
        ("pipe", True),
        ("test pressure", True),
    ]


def test_a_loop_type_that_was_not_laid_out_is_judged_all_the_same(planned: Planned) -> None:
    plan = planned("", "[]")
    (fluid,) = conditions_on(plan.site, (book_of(GOOD),), "vertical", None)
    assert fluid.kept is False
    bare = dataclasses.replace(plan.site.exchanger.piping, fluid=None)
    site = dataclasses.replace(
        plan.site, exchanger=dataclasses.replace(plan.site.exchanger, piping=bare)
    )
    assert conditions_on(site, (book_of(GOOD),), "vertical", None) == ()


def test_a_book_limits_the_share_of_antifreeze(planned: Planned) -> None:
    # Denmark, municipal pages: at most 35 %
    text = 'of = "fluid"\nshare = "{} %"\n'
    plan = planned('[fluid]\nmixture = "propylene glycol 25 %"\n')
    kept = [judged(plan, text.format(most))[0].kept for most in (35, 25, 20)]
    assert kept == [True, True, False]
    (finding,) = said(plan, text.format(20))
    assert finding.code == "fluid-not-allowed"


def test_the_solids_of_the_grout_are_printed(planned: Planned) -> None:
    # South Carolina R.61-71.J.2(b): bentonite of 20 % solids
    (one,) = judged(planned(), 'of = "grout"\nsolids = "20 %"\n')
    assert in_words(one.here).endswith(
        "mixed to 20 % solids or more, from the toe up to the header"
    )


def test_tape_and_wire_lie_in_every_trench(planned: Planned) -> None:
    (one,) = judged(planned(), 'of = "marking"\nnames = ["warning tape", "tracer wire"]\n')
    assert (in_words(one.here), one.kept) == ("warning tape, tracer wire in every trench", True)


def test_the_fluids_temperatures_are_judged(planned: Planned) -> None:
    plan = planned(f'{HEAT}\n[fluid]\nmixture = "propylene glycol 25 %"\n')
    text = 'of = "fluid temperature"\nfrom = "{} C"\nto = "{} C"\n'
    (wide,) = judged(plan, text.format(-20, 60))
    assert wide.kept
    # entering at 32 F, 0 C: leaving colder than that
    (finding,) = said(plan, text.format(0, 60))
    assert (finding.code, finding.severity) == ("fluid-temperature-beyond", "warning")


def test_heat_at_the_line_is_calculated_where_it_can_be(planned: Planned) -> None:
    # District of Columbia 1823.6: no heating or cooling beyond the property line
    text = 'of = "heat at the line"\n'
    (told,) = said(planned(HEAT), text)
    assert (told.code, told.severity) == ("heat-at-the-line", "warning")
    assert "colder at the line after 25 years, calculated" in in_words(told)
    (unknown,) = judged(planned(), text)
    assert (in_words(unknown.here), unknown.kept) == ("not calculated: ask the designer", None)
    warm = HEAT.replace('heating = "36 MBH"', 'heating = "6 MBH"').replace("600", "1800")
    (told,) = judged(planned(warm), text)
    assert "warmer at the line" in in_words(told.here)


def test_a_bound_may_hold_for_deep_bores_alone(planned: Planned) -> None:
    # Missouri PUB2899: in bores of 200 ft or less a plug will do
    text = 'of = "grout"\nfull_depth = true\nwhen = {{ depth = {{ over = "{}" }} }}\n'
    plan = planned('[vertical]\ndepth = "250 ft"\n')
    assert len(judged(plan, text.format("200 ft"))) == 1
    assert judged(plan, text.format("300 ft")) == ()


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('of = "fluid"\nshare = "200 %"\n', "share: '200 %' is not a share"),
        ('of = "grout"\nsolids = 20\n', "solids: 20 is not a share"),
        ('of = "fluid temperature"\nfrom = "9 C"\nto = "3 C"\n', "from: is warmer than to"),
        ('of = "fluid temperature"\n', "binds nothing. Give from or to"),
        ('of = "marking"\nnames = ["tape"]\n', "'tape' is not a known marking"),
    ],
)
def test_a_faulty_bound_of_the_new_kinds_is_refused(text: str, message: str) -> None:
    with pytest.raises(RuleError, match=re.escape(message)):
        book_of(text)
