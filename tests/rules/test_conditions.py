"""When a rule binds: uses, classes, and what is not stated."""

from __future__ import annotations

import dataclasses

import pytest
from shapely import LineString, Point

from siteplan.errors import Fault
from siteplan.reading import Table
from siteplan.rule_books.conditions import read_condition
from siteplan.rule_books.when import Condition
from siteplan.rules.conditions import binds
from siteplan.site.model import Feature
from siteplan.units.lengths import parse_flow

WELL = Feature("w", "potable well", Point(0, 0), use="public")
LINE = Feature("l", "overhead power line", LineString([(0, 0), (1, 0)]))


def condition(when: dict[str, object]) -> Condition:
    faults: list[Fault] = []
    found = read_condition(Table({"when": when}, "rule", faults))
    assert faults == []
    return found


@pytest.mark.parametrize(
    ("rate", "holds"), [("10 gpm", False), ("10.1 gpm", True), ("25 gpm", True), ("26 gpm", False)]
)
def test_a_class_holds_its_upper_bound_and_not_its_lower(rate: str, holds: bool) -> None:
    # Maine 10-144 CMR ch. 232: public wells of more than 10 and up to 25 gpm
    class_b = condition({"use": "public", "pump_rate": {"over": "10 gpm", "to": "25 gpm"}})
    well = dataclasses.replace(WELL, pump_rate_m3s=parse_flow(rate))
    assert binds(class_b, well) is holds


def test_below_leaves_the_bound_out_and_from_takes_it_in() -> None:
    small = condition({"daily_flow": {"below": "2000 gpd"}})
    large = condition({"daily_flow": {"from": "2000 gpd"}})
    field = Feature("f", "drainfield", Point(0, 0).buffer(1), daily_flow_m3s=parse_flow("2000 gpd"))
    assert (binds(small, field), binds(large, field)) == (False, True)


def test_what_is_not_stated_counts_as_binding() -> None:
    assert binds(condition({"pump_rate": {"over": "50 gpm"}}), WELL)
    assert binds(condition({"loop_flow": {"from": "25,000 gpd"}}), WELL)


def test_an_unstated_voltage_has_its_own_row() -> None:
    unknown, middle = condition({"voltage": "unknown"}), condition({"voltage": {"to": "50 kV"}})
    assert (binds(unknown, LINE), binds(middle, LINE)) == (True, False)
    stated = dataclasses.replace(LINE, voltage_v=13_800.0)
    assert (binds(unknown, stated), binds(middle, stated)) == (False, True)


def test_faults_of_a_condition_are_named() -> None:
    faults: list[Fault] = []
    read_condition(Table({"when": {"pump_rate": {}, "voltge": "x"}}, "rule 'r'", faults))
    assert [str(fault) for fault in faults] == [
        "rule 'r', [when.pump_rate]: has no bound. Give one of: over, from, to, below.",
        "rule 'r', [when], voltge: is not a key here; did you mean 'voltage'?",
    ]
