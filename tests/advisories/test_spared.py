"""What is said of a field that keeps off ground to be spared."""

from __future__ import annotations

import tomllib

from planned import planned_once
from small_lot import GROUND
from wording import in_words

from siteplan.plan import SitePlan
from siteplan.site.readers.site_file import site_from

STREET = """\
[[feature]]
id = "road"
kind = "street"
line = [[-50, -20], [250, -20]]

"""
FIELD = """\
[exchanger]
system = "vertical"
entry = [[100, 42]]
[vertical]
length = { given = "1200 ft", by = "a designer" }
"""


def planned(street: str) -> SitePlan:
    return planned_once(site_from(tomllib.loads(GROUND + street + FIELD)))


def test_a_field_that_keeps_off_the_front_yard_says_so() -> None:
    # the house stands 40 ft behind the street side; its east wall is entered 2 ft behind its front
    plan, nearest = planned(STREET), planned("")
    (note,) = [each for each in plan.findings if each.code == "field-kept-off"]
    assert in_words(note).startswith("The field keeps off the front yard")
    assert min(bore.y_m for bore in plan.drawn.layout.elements) >= 40 * 0.3048 - 0.001
    # where no street says which yard is the front, the shortest header leads into it
    assert min(bore.y_m for bore in nearest.drawn.layout.elements) < 40 * 0.3048
    assert nearest.drawn.layout.header.length_m < plan.drawn.layout.header.length_m


def test_where_no_street_is_drawn_nothing_is_said_of_a_front_yard() -> None:
    assert "field-kept-off" not in [each.code for each in planned("").findings]
