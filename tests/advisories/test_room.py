"""Room to dig, worked by hand: the width that one trench takes, and the heap beside it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
import shapely
from shapely import LineString
from wording import in_words

from siteplan.advisories.room import room_remarks, spoil_lacks
from siteplan.errors import InputError
from siteplan.findings.model import Finding
from siteplan.layout.elements import Trench
from siteplan.layout.model import Layout
from siteplan.plan import plan_site
from siteplan.rules.ruleset import rules_of
from siteplan.site.model import Site
from siteplan.site.readers.site_file import read_site

FT = 0.3048
Make = Callable[..., Site]


@pytest.fixture
def make(lot_text: str, write_site: Callable[..., Path]) -> Make:
    """Bare parcel of the size given, 200 ft long."""

    def built(tables: str = "", *, width: float = 200, more: str = "") -> Site:
        bare = lot_text.partition("[[feature]]")[0]
        parcel = f"[[0, 0], [200, 0], [200, {width}], [0, {width}]]"
        bare = bare.replace("[[0, 0], [200, 0], [200, 200], [0, 200]]", parcel)
        own = '[exchanger]\nlength = { given = "300 ft", by = "x" }\nentry = [[100, 12]]\n'
        return read_site(write_site(f"{bare}{more}{own}{tables}"))

    return built


def trench(name: str, north_ft: float) -> Trench:
    line = LineString([(20 * FT, north_ft * FT), (180 * FT, north_ft * FT)])
    return Trench(name, line, 2 * FT, 5 * FT, 2)


def found(site: Site, code: str, *north_ft: float) -> list[Finding]:
    trenches = tuple(trench(f"T{k}", north) for k, north in enumerate(north_ft, start=1))
    layout = Layout("horizontal", trenches, None, 10 * FT, 0.0)
    return [one for one in room_remarks(site, layout) if one.code == code]


def test_a_trench_whose_spoil_covers_the_next_one_is_dug_alone(make: Make) -> None:
    # 2 ft + 2 ft + heap: 10 sq ft x 1.25 loose; triangle at 1.5 to 1: width (4 x 1.5 x 12.5)^0.5
    # = 8.66 ft; together 12.66 ft, more than 10 ft
    (finding,) = found(make(), "one-trench-at-a-time", 50, 60)
    assert finding.severity == "note"
    assert (
        "a strip 12.7 ft wide (2.0 ft trench, 2.0 ft to the spoil pile, 8.7 ft pile)"
        in in_words(finding)
    )
    assert "more than the 10.0 ft spacing" in in_words(finding)


def test_room_between_trenches_is_no_finding(make: Make) -> None:
    assert not found(make('[horizontal]\nspacing = "13 ft"\n'), "one-trench-at-a-time", 50, 63)
    assert not found(make(), "one-trench-at-a-time", 50)


def test_a_strip_wider_than_the_spacing_is_said_once(make: Make) -> None:
    # soil C at 5 ft: 2 + 2 x 1.5 x 5 = 17 ft, more than 10 ft: said by the note on slopes
    site = make('[horizontal]\nsoil = "C"\nprotection = "slope"\n')
    assert not found(site, "one-trench-at-a-time", 50, 60)


def test_spoil_has_room_on_one_side_of_the_trench_at_the_line(make: Make) -> None:
    # from the middle 1 + 2 + 8.66 = 11.66 ft: not to the south of 11 ft, but to the north
    assert not found(make(), "no-room-for-spoil", 11)


def test_spoil_without_room_on_either_side_names_the_trench_and_what_lacks(make: Make) -> None:
    # parcel 22 ft wide: 11 ft to each side of the middle, 0.66 ft short; at 9 ft 13 ft to one side
    site = make(width=22)
    (finding,) = found(site, "no-room-for-spoil", 11, 9)
    assert finding.severity == "warning"
    assert finding.subject == "T1"
    assert "1 of 2 trenches (T1 is 0.7 ft short): haul it off" in in_words(finding)
    assert finding.measured_m == pytest.approx(0.66 * FT, abs=0.01 * FT)
    assert finding.rule == "29 CFR 1926.651(j)(2)"


def test_three_trenches_without_room_are_named_and_the_others_counted(make: Make) -> None:
    # each 11 ft from both lines, 0.66 ft short
    (finding,) = found(make(width=22), "no-room-for-spoil", 11, 11, 11, 11, 11)
    named = "T1 is 0.7 ft short, T2 is 0.7 ft short, T3 is 0.7 ft short and 2 more"
    assert f"5 of 5 trenches ({named})" in in_words(finding)


def test_spoil_does_not_lie_on_a_building(make: Make) -> None:
    # house from 24 ft on, along half of the trench: 13 ft of room on that side for 11.66 ft, then 8
    house = (
        '[[feature]]\nid = "h"\nkind = "building"\n'
        "area = [[20, {y}], [90, {y}], [90, 40], [20, 40]]\n\n"
    )
    assert not found(make(more=house.format(y=24)), "no-room-for-spoil", 11)
    (finding,) = found(make(more=house.format(y=19)), "no-room-for-spoil", 11)
    # 11 ft to the line is the better side: 0.66 ft lack
    assert "T1 is 0.7 ft short" in in_words(finding)


def test_both_sides_of_a_bent_trench_are_looked_at() -> None:
    # an L in a yard 10 m wide in each leg: middle line 4 m off the outer edge, 6 m off the inner
    yard = shapely.box(0, 0, 60, 60).difference(shapely.box(10, 10, 60, 60))
    bent = Trench("T1", LineString([(4, 50), (4, 4), (50, 4)]), 0.6, 1.5, 2)
    assert spoil_lacks(bent, yard, 5.9) == 0.0
    assert spoil_lacks(bent, yard, 6.5) == pytest.approx(0.5)


TREE = '[[feature]]\nid = "oak"\nkind = "tree"\nat = [100, 100]\n{canopy}\n'


@pytest.mark.parametrize(
    ("canopy", "trench_ft", "header_ft"),
    [
        ("", 10, 5),  # common practice
        ('canopy = "40 ft"', 20, 20),  # half of the crown is more
        ('canopy = "14 ft"', 10, 7),  # more than 5 ft, less than 10 ft
    ],
)
def test_trench_and_header_keep_off_the_crown_or_what_rules_ask(
    make: Make, canopy: str, trench_ft: float, header_ft: float
) -> None:
    site = make(more=TREE.format(canopy=canopy))
    rules, (oak,) = rules_of(site), site.of_kind("tree")
    asked = [rules.deciding(part, oak) for part in ("trench", "header")]
    assert [rule and rule.distance_m / FT for rule in asked] == pytest.approx(
        [trench_ft, header_ft]
    )


def test_a_plan_keeps_off_a_crown(make: Make) -> None:
    tree = TREE.replace("[100, 100]", "[100, 40]").format(canopy='canopy = "40 ft"')
    plan = plan_site(make(more=tree), system="horizontal")
    assert plan.fits
    rows = [one for one in plan.drawn.separations if one.feature == "oak"]
    assert {one.part for one in rows} == {"trench", "header"}
    assert all(one.provided_m >= 20 * FT - 1e-6 for one in rows)
    assert not [one for one in plan.drawn.findings if one.code == "relaxed"]


def test_a_crown_of_a_tree_drawn_as_an_area_is_refused(make: Make) -> None:
    area = TREE.replace("at = [100, 100]", "area = [[90, 90], [99, 90], [99, 99]]")
    with pytest.raises(InputError, match="canopy: is given for a tree drawn as an area"):
        make(more=area.format(canopy="canopy = 9"))


def test_a_crown_of_something_else_is_refused(make: Make) -> None:
    with pytest.raises(InputError, match="canopy: is not a key here"):
        make(more=TREE.replace('"tree"', '"hydrant"').format(canopy="canopy = 9"))
