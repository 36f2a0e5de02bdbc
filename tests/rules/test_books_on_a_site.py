"""Shipped books at work: what they decide on the small lot of the tests."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from wording import in_words

from siteplan.findings.model import Finding
from siteplan.plan import lay_out, plan_site
from siteplan.rules.ruleset import rules_of
from siteplan.site.model import Site, System
from siteplan.site.readers.site_file import read_site

FT = 0.3048
Read = Callable[..., Site]


@pytest.fixture
def lot(lot_text: str, write_site: Callable[..., Path]) -> Read:
    def read(*books: str, more: str = "", **changes: str) -> Site:
        text = lot_text
        for old, new in changes.items():
            text = text.replace(old, new)
        names = ", ".join(f'"{book}"' for book in books)
        return read_site(write_site(f"{text}{more}\n[rules]\nbooks = [{names}]\n"))

    return read


def findings(site: Site, system: System) -> list[Finding]:
    return list(lay_out(site, system).findings)


def test_the_stricter_of_two_books_holds_and_both_are_named(lot: Read) -> None:
    # Maine: 45 ft from a private potable well; Washington: 100 ft from any water-supply well
    site = lot("maine", "washington")
    holding = rules_of(site).holding("bore", site.of_kind("potable well")[0])
    assert [(rule.book, rule.printed) for rule in holding] == [
        ("washington", "100 ft"),
        ("maine", "45 ft"),
    ]
    rows = lay_out(site, "vertical").separations
    (row,) = [row for row in rows if row.part == "bore" and row.feature == "well"]
    assert (row.rule.book, [other.book for other in row.others]) == ("washington", ["maine"])


def test_what_a_book_leaves_open_falls_to_common_practice_and_is_told(lot: Read) -> None:
    site = lot("maine")
    house = rules_of(site).deciding("bore", site.of_kind("building")[0])
    assert house is not None
    assert house.book == "common-practice"
    notes = [in_words(f) for f in findings(site, "vertical") if f.code == "common-practice"]
    assert notes[0].startswith("For the bore maine leaves open: building.")


@pytest.mark.parametrize(
    ("use", "rate", "feet"),
    # Maine 10-144 CMR ch. 232 ch. 6 s. 600: private 45; public by pump rate 45, 75, 125, 200 ft
    [
        ("private", "", 45),
        ("public", "10 gpm", 45),
        ("public", "25 gpm", 75),
        ("public", "50 gpm", 125),
        ("public", "51 gpm", 200),
        ("public", "", 200),
    ],
)
def test_maine_tells_public_wells_apart_by_pump_rate(
    lot_text: str, write_site: Callable[..., Path], use: str, rate: str, feet: float
) -> None:
    stated = f'use = "{use}"\n' + (f'pump_rate = "{rate}"\n' if rate else "")
    text = lot_text.replace('kind = "potable well"', f'kind = "potable well"\n{stated}')
    site = read_site(write_site(f'{text}[rules]\nbooks = ["maine"]\n'))
    rule = rules_of(site).deciding("bore", site.of_kind("potable well")[0])
    assert rule is not None
    assert rule.distance_m == pytest.approx(feet * FT)


def test_a_class_that_is_not_stated_is_told(lot: Read) -> None:
    messages = [in_words(f) for f in findings(lot("maine"), "vertical") if f.severity == "warning"]
    assert any("field (drainfield) states no daily_flow" in message for message in messages)


def test_wisconsin_wants_approval_near_a_municipal_well(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    # NR 812.151(4)(b): within 400 ft of a municipal well the department must approve
    text = lot_text.replace(
        'kind = "potable well"', 'kind = "potable well"\nuse = "public municipal"'
    )
    site = read_site(write_site(f'{text}[rules]\nbooks = ["wisconsin"]\n'))
    (approval,) = [f for f in findings(site, "vertical") if f.code == "approval"]
    assert approval.subject == "well"
    assert "within 400 ft the authority must approve" in in_words(approval)
    assert "812.151" in in_words(approval)


@pytest.mark.parametrize(
    "book", ["jordan-mn", "mission-hills-ks", "middleburg-heights-oh", "hanover-township-pa"]
)
def test_towns_that_ban_open_loops_stop_them(
    lot_text: str, write_site: Callable[..., Path], book: str
) -> None:
    tables = f'[open]\nyield = "20 gpm"\n[rules]\nbooks = ["{book}"]\n'
    site = read_site(write_site(lot_text + tables))
    trial = lay_out(site, "open")
    assert not trial.fits
    assert in_words(trial.why).startswith(f"not allowed here by {book}")


def test_minnesota_does_not_regulate_trenches_and_the_plan_says_so(lot: Read) -> None:
    messages = [in_words(f) for f in findings(lot("minnesota"), "horizontal")]
    assert any("A trench is not regulated by minnesota" in message for message in messages)


def test_maine_keeps_the_return_well_near_the_supply_well(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    # ch. 232 5-501.6: not more than 200 ft; a wanted separation of 210 ft cannot be
    text = lot_text.partition("[[feature]]")[0].replace("200", "400")
    text += '[exchanger]\ncapacity = "2 ton"\nentry = [[200, 200]]\n[open]\nyield = "20 gpm"\n'
    rules = '[rules]\nbooks = ["maine"]\n'
    near = plan_site(read_site(write_site(f'{text}separation = "150 ft"\n{rules}')), system="open")
    assert near.fits, in_words(near.drawn.why)
    (row,) = [row for row in near.drawn.separations if row.rule.says == "at most"]
    assert 150 * FT - 1e-6 <= row.provided_m <= 200 * FT + 1e-6
    far = plan_site(read_site(write_site(f'{text}separation = "210 ft"\n{rules}')), system="open")
    assert (
        in_words(far.drawn.why)
        == "the wells must stand 210 ft apart, but a rule allows at most 200 ft"
    )


@pytest.mark.parametrize(
    ("voltage", "clearance_ft"),
    # 29 CFR 1926.1408 Table A, and 20 ft where the voltage is unknown
    [("", 20), ("13.8 kV", 10), ("115 kV", 15), ("345 kV", 20), ("500 kV", 25), ("765 kV", 45)],
)
def test_a_rig_keeps_off_power_lines_by_voltage(
    lot_text: str, write_site: Callable[..., Path], voltage: str, clearance_ft: float
) -> None:
    stated = f'voltage = "{voltage}"\n' if voltage else ""
    line = f'[[feature]]\nid = "wire"\nkind = "overhead power line"\n{stated}'
    line += "line = [[-20, 100], [220, 100]]\n[exchanger]"
    site = read_site(write_site(lot_text.replace("[exchanger]", line)))
    safety = [
        rule
        for rule in rules_of(site).holding("bore", site.of_kind("overhead power line")[0])
        if rule.book == "us-safety"
    ]
    assert [rule.distance_m for rule in safety] == [pytest.approx(clearance_ft * FT)]
    rows = lay_out(site, "vertical").separations
    (row,) = [row for row in rows if row.feature == "wire" and row.part == "bore"]
    # measured from the rig, 5 ft beyond the bore's own 3 in: the bore stands that much farther
    assert row.provided_m >= clearance_ft * FT - 1e-6


def test_nothing_relaxes_a_safety_rule(lot_text: str, write_site: Callable[..., Path]) -> None:
    line = '[[feature]]\nid = "main"\nkind = "gas line"\nline = [[0, 100], [200, 100]]\n[exchanger]'
    own = '[[rules.own]]\nfrom = "gas line"\ndistance = "0 ft"\nsource = "a wish"\n'
    site = read_site(write_site(lot_text.replace("[exchanger]", line) + own))
    rule = rules_of(site).deciding("trench", site.of_kind("gas line")[0])
    assert rule is not None
    # CGA Best Practices 5.19: 18 in on each side
    assert (rule.book, rule.distance_m) == ("us-safety", pytest.approx(1.5 * FT))


def test_a_ban_on_the_thing_itself_leaves_common_practice_in_force(lot: Read) -> None:
    # Minn. R. 4725.2175: not inside a building; common practice keeps 10 ft from it
    site = lot("minnesota")
    house = site.of_kind("building")[0]
    holding = rules_of(site).holding("bore", house)
    assert [(rule.book, rule.says) for rule in holding] == [
        ("common-practice", "at least"),
        ("minnesota", "not allowed"),
    ]


def test_a_rule_that_only_might_hold_does_not_relax_common_practice(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    # NR 812.151(4)(a): 10 ft from a non-municipal well; a plain "public" well may be municipal
    text = lot_text.replace('kind = "potable well"', 'kind = "potable well"\nuse = "public"')
    site = read_site(write_site(f'{text}[rules]\nbooks = ["wisconsin"]\n'))
    rule = rules_of(site).deciding("bore", site.of_kind("potable well")[0])
    assert rule is not None
    assert (rule.book, rule.printed) == ("common-practice", "50 ft")


def test_a_relaxed_common_practice_is_told(lot_text: str, write_site: Callable[..., Path]) -> None:
    own = '[[rules.own]]\nfrom = "building"\ndistance = "4 ft"\nsource = "owner"\n'
    site = read_site(write_site(lot_text + own))
    (finding,) = [f for f in findings(site, "vertical") if f.code == "relaxed"]
    assert "asks 4 ft between bore and building (owner); common practice is 10.0 ft" in in_words(
        finding
    )


def test_of_two_books_the_nearer_return_well_holds(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    # ch. 232 5-501.6 of maine: not more than 200 ft; an own rule asks for no more than 160 ft
    own = '[[rules.own]]\nfrom = "supply well"\nfor = "return well"\nsays = "at most"\n'
    own += 'distance = "160 ft"\nsource = "letter of the authority"\n'
    rules = rules_of(read_site(write_site(f'{lot_text}[rules]\nbooks = ["maine"]\n{own}')))
    rule = rules.farthest_return()
    assert rule is not None
    assert rule.distance_m == pytest.approx(160 * FT)
    # whichever is named first
    assert replace(rules, rules=rules.rules[::-1]).farthest_return() == rule
