"""What stands beside the plan speaks of the design, and leads to no place of a file."""

from __future__ import annotations

import re

import pytest

pytest.importorskip("starlette", reason="the extra edit is not installed")

from planned import planned

from siteplan.web.told import plan_told

OF_THE_FILE = re.compile(r"site file|\[[a-z_.]+\]|\b[a-z]+_[a-z]+\b|\.toml|= \"", re.IGNORECASE)


def strings(value):
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, inner in value.items():
            # paths and changes are for the program of the page, and nobody reads them
            if key not in ("ops", "assumed", "laid", "ground", "features"):
                yield from strings(inner)
    elif isinstance(value, (list, tuple)):
        for inner in value:
            yield from strings(inner)


@pytest.mark.parametrize("sample", ["tight-lot", "good-aquifer", "small-suburban"])
def test_nothing_beside_the_plan_names_a_place_of_the_file(sample):
    assert [each for each in strings(plan_told(planned(sample))) if OF_THE_FILE.search(each)] == []


def test_a_setback_is_told_between_two_things_each_named_once():
    rows = [row["what"] for row in plan_told(planned("tight-lot"))["separations"]]
    assert {"bore B2 to property line", "header to property line", "bore B1 to street"} <= set(rows)
    # a thing is called as its own form is headed: its name, and its kind behind it
    assert {"bore B1 to house (building)", "header to maple (tree)"} <= set(rows)
    assert "bore B1 to bore B2" in rows


def test_what_is_gravest_is_told_first():
    told = [severity for severity, _, _ in plan_told(planned("rural-acre"))["findings"]]
    assert {"warning", "note"} <= set(told)
    assert told == sorted(told, key=["error", "warning", "note"].index)


def test_a_verdict_that_nothing_fits_names_the_loop_type_it_speaks_of():
    told = plan_told(planned("tight-lot"))
    assert len(told["trials"]) > 1
    assert told["verdict"].startswith(f"DOES NOT FIT; closest is {told['system']}, as drawn: ")
