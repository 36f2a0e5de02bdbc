"""Which of several rules hold, with rules of a few metres made up for it."""

from __future__ import annotations

import dataclasses

import pytest
from shapely import LineString, Point, box

from siteplan.rule_books.loader import load_book
from siteplan.rule_books.model import (
    COMMON_PRACTICE,
    EACH_OTHER,
    OWN_BOOK,
    SAFETY,
    Measure,
    Part,
    Rule,
)
from siteplan.rules.measuring import Measuring
from siteplan.rules.ruleset import RuleSet, safety_clearance
from siteplan.site.model import Feature

OAK = Feature("oak", "tree", Point(0, 0))
ELM = Feature("elm", "tree", Point(9, 0))
HOUSE = Feature("house", "building", box(0, 0, 10, 10), overhang_m=1.0)


def rule(name: str, distance_m: float, book: str = "county", subject: str = "tree") -> Rule:
    return Rule(name, subject, ("bore",), distance_m, "", book, "s")


def ruleset(*rules: Rule) -> RuleSet:
    return RuleSet(rules, (), Measuring())


def names(rules: tuple[Rule, ...]) -> list[str]:
    return [one.id for one in rules]


def test_a_clearance_for_one_tree_does_not_bind_another() -> None:
    own = dataclasses.replace(rule("own", 4.0, OWN_BOOK), feature="oak")
    rules = ruleset(own)
    assert names(rules.holding("bore", OAK)) == ["own"]
    assert rules.holding("bore", ELM) == ()


def test_what_is_kept_from_the_property_line_is_kept_from_no_tree_and_the_other_way_round() -> None:
    rules = ruleset(rule("line", 3.0, subject="property line"), rule("trees", 5.0))
    assert names(rules.holding("bore", None)) == ["line"]
    assert names(rules.holding("bore", OAK)) == ["trees"]


def test_where_a_book_speaks_common_practice_is_silent_though_it_asks_for_more() -> None:
    rules = ruleset(rule("book", 2.0), rule("usual", 3.0, COMMON_PRACTICE))
    assert names(rules.holding("bore", OAK)) == ["book"]
    replaced = rules.replaced("bore", OAK, 0.0)
    assert replaced is not None
    assert replaced.id == "usual"
    farther = rule("far", 5.0, COMMON_PRACTICE)
    told = ruleset(*rules.rules, farther).replaced("bore", OAK, 0.0)
    assert told == farther
    lenient = ruleset(rule("book", 4.0), rule("usual", 3.0, COMMON_PRACTICE))
    assert lenient.replaced("bore", OAK, 0.0) is None


def test_a_safety_rule_and_a_clearance_of_one_thing_leave_common_practice_in_force() -> None:
    usual = rule("usual", 3.0, COMMON_PRACTICE)
    own = dataclasses.replace(rule("own", 1.0, OWN_BOOK), feature="oak")
    forbids = dataclasses.replace(rule("forbids", 0.0), says="not allowed")
    for other in (rule("safety", 1.0, SAFETY), own, forbids):
        assert names(ruleset(other, usual).holding("bore", OAK)) == ["usual", other.id]


def test_the_rule_that_decides_is_the_farthest_from_the_drawn_wall() -> None:
    # 2.5 m from the roof, which stands out 1 m, is 3.5 m from the wall: more than 3 m from it
    wall = rule("wall", 3.0, subject="building")
    roof = dataclasses.replace(rule("roof", 2.5, subject="building"), measure="overhang")
    rules = ruleset(wall, roof)
    assert rules.asked(roof, "bore", HOUSE, 0.1) == 3.6
    deciding = rules.deciding("bore", HOUSE, 0.1)
    assert deciding is not None
    assert deciding.id == "roof"


MACHINE, STRIP, HEADER = 4.0, 3.0, 0.3
PIPE = Feature("gas", "gas line", LineString([(0, 0), (9, 0)]), width_m=0.2)


@pytest.mark.parametrize(
    ("thing", "measure", "part", "reach_m", "asked_m"),
    [
        # 5 m, and what the part reaches around its centre
        (OAK, "nearest part", "bore", 0.1, 5.1),
        (OAK, "centre", "bore", 0.1, 5.0),
        (None, "nearest part", "bore", 0.1, 5.1),
        (None, "nearest part", "bore", None, 5.0),
        (None, "centre", "bore", 0.1, 5.0),
        # half of what a pipe is wide, what a roof stands out, what a machine needs besides
        (PIPE, "nearest part", "bore", 0.1, 5.2),
        (HOUSE, "overhang", "bore", 0.1, 6.1),
        (HOUSE, "machine", "bore", 0.1, 5.1 + MACHINE),
        (PIPE, "alongside", "header", 0.0, 5.1 + HEADER),
        (HOUSE, "nearest part", "trench", 0.5, 5.5 + STRIP),
        (HOUSE, "centre", "trench", 0.5, 5.5 + STRIP),
        (HOUSE, "machine", "trench", 0.5, 5.5 + MACHINE),
    ],
)
def test_what_a_rule_keeps_is_its_distance_and_what_reaches_towards_it(
    thing: Feature | None, measure: Measure, part: Part, reach_m: float | None, asked_m: float
) -> None:
    subject = "property line" if thing is None else thing.kind
    asks = dataclasses.replace(rule("r", 5.0, subject=subject), measure=measure, parts=(part,))
    rules = RuleSet((asks,), (), Measuring(MACHINE, STRIP, HEADER))
    given = () if reach_m is None else (reach_m,)
    assert rules.asked(asks, part, thing, *given) == pytest.approx(asked_m)
    if measure != "alongside":
        assert rules.deciding(part, thing, *given) == asks


def test_common_practice_along_a_line_is_no_distance_that_a_book_has_replaced() -> None:
    book = dataclasses.replace(rule("book", 2.0, subject="gas line"), parts=("header",))
    usual = dataclasses.replace(book, id="usual", book=COMMON_PRACTICE, distance_m=3.0)
    along = dataclasses.replace(usual, id="along", distance_m=4.0, measure="alongside")
    # nor is a longer one of another book, which holds beside it
    state = dataclasses.replace(book, id="state", book="state", distance_m=1.0)
    replaced = ruleset(book, usual, along, state).replaced("header", PIPE, 0.0)
    assert replaced is not None
    assert replaced.id == "usual"
    assert ruleset(book, along, state).replaced("header", PIPE, 0.0) is None


def test_of_two_limits_between_the_wells_the_shorter_holds() -> None:
    far, near = (
        dataclasses.replace(
            rule(name, distance, subject="supply well"), parts=("return well",), says="at most"
        )
        for name, distance in (("far", 90.0), ("near", 60.0))
    )
    assert ruleset(far, near).farthest_return() == near
    # and of two that keep them off each other the longer
    apart = [dataclasses.replace(each, says="at least") for each in (far, near)]
    assert ruleset(*apart).nearest_return() == apart[0]
    assert ruleset(*apart[::-1]).nearest_return() == apart[0]


def test_without_a_rule_only_that_one_is_gone_and_relaxed_only_that_one_asks_for_less() -> None:
    first, second = rule("a", 3.0), rule("a", 4.0, "state")
    rules = ruleset(first, second)
    assert rules.without(first).rules == (second,)
    relaxed = rules.relaxed(first, 1.0).rules
    assert [one.distance_m for one in relaxed] == [1.0, 4.0]


def test_bans_and_approvals_speak_of_their_part_alone() -> None:
    ban = dataclasses.replace(rule("ban", 0.0, subject="anywhere"), says="not allowed")
    free = dataclasses.replace(rule("free", 0.0, subject="anywhere"), says="not regulated")
    asks = dataclasses.replace(rule("asks", 30.0), says="approval within")
    rules = ruleset(ban, free, asks)
    assert (rules.ban("bore"), rules.ban("trench")) == (ban, None)
    assert (rules.unregulated("bore"), rules.unregulated("trench")) == (free, None)
    assert (rules.approvals("bore", OAK), rules.approvals("trench", OAK)) == ((asks,), ())
    assert rules.holding("bore", OAK) == ()


def test_a_power_line_keeps_machines_off_by_its_voltage() -> None:
    # 29 CFR 1926.1408 Table A: to 50 kV 10 ft, over 50 to 200 kV 15 ft, over 200 to 350 kV 20 ft
    for kilovolts, feet in ((13.8, 10), (50, 10), (138, 15), (345, 20)):
        course = LineString([(0, 0), (9, 0)])
        line = Feature("l", "overhead power line", course, voltage_v=1000.0 * kilovolts)
        clearance = safety_clearance(line)
        assert clearance is not None
        assert round(clearance.distance_m / 0.3048, 6) == feet
        assert clearance.measure == "machine"


def test_of_two_clearances_for_machines_the_wider_holds(monkeypatch: pytest.MonkeyPatch) -> None:
    # whoever works near a line keeps every rule about it, and with that the widest
    near, wide = (
        dataclasses.replace(rule(name, far, SAFETY, "overhead power line"), measure="machine")
        for name, far in (("near", 3.0), ("wide", 4.5))
    )
    line = Feature("line", "overhead power line", LineString([(0, 0), (9, 0)]))
    for rows in ((near, wide), (wide, near)):
        book = dataclasses.replace(load_book(SAFETY), rules=rows)
        monkeypatch.setattr("siteplan.rules.ruleset.load_book", lambda _, book=book: book)
        assert safety_clearance(line) == wide


@pytest.mark.parametrize("order", [1, -1])
def test_of_two_rules_of_parts_of_a_kind_the_longer_holds(order: int) -> None:
    # whoever keeps the longer keeps both
    pair = [rule(name, far, subject=EACH_OTHER) for name, far in (("near", 3.0), ("far", 5.0))]
    found = ruleset(*pair[::order]).apart("bore")
    assert found is not None
    assert found.distance_m == 5.0
    assert ruleset(*pair).apart("trench") is None
