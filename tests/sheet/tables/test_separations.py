"""A distance from an overhang is named so, in the table, on its line and in the legend."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

import pytest
from drawn_once import compose
from legible import plot_faults, sheet_texts

from siteplan.plan import plan_site
from siteplan.sheet.model import Polyline
from siteplan.sheet.tables.separations import separation_table
from siteplan.site.readers.site_file import site_from

FT = 0.3048


def house(more: Sequence[Any] = (), keeps: Sequence[str] = (), **roof: Any) -> Any:
    """What a lot shows where wells keep 10 ft from an overhang, with more things to keep off."""
    own = {"from": "building", "for": ["supply well", "return well"], "distance": "10 ft"}
    wall = [[10, 10], [85, 10], [85, 60], [10, 60]]
    values = {
        "project": {"title": "t", "owner": "o", "date": date(2026, 1, 2), "units": "ft"},
        "geometry": {"parcel": [[0, 0], [95, 0], [95, 120], [0, 120]]},
        "feature": [{"id": "house", "kind": "building", "area": wall, **roof}, *more],
        "entry": [{"id": "e", "at": [50, 60]}],
        "exchanger": {"system": "open"},
        "open": {
            "flow": "9 gpm",
            "yield": "15 gpm",
            "separation": "50 ft",
            "drift": {"by": "a study"},
        },
        "rules": {
            "own": [
                {**own, "measure": "overhang", "source": "a county's code"},
                *({**own, "from": kind, "distance": "2 ft", "source": "deed"} for kind in keeps),
            ]
        },
        "staking": {"allowance": "0 ft"},
    }
    return plan_site(site_from(values)).content()


def test_an_overhang_is_named_where_it_counts_and_drawn() -> None:
    content = house(overhang="8 ft")
    assert "SUPPLY – HOUSE (BUILDING) OVERHANG" in [
        row[0] for row in separation_table(content).rows
    ]
    sheet = compose(content)
    words = " ".join(text.text for text in sheet_texts(sheet))
    assert "10' BUILDING OVERHANG SEPARATION" in words
    assert "ROOF OVERHANG" in words
    drawn = [
        line
        for line in sheet.of_type(Polyline)
        if line.style == "overhang" and line.space == "model"
    ]
    # 8 ft around a house from 10 to 85 ft east and 10 to 60 ft north
    xs, ys = zip(*(point for line in drawn for point in line.points), strict=True)
    assert (min(xs), max(xs)) == pytest.approx((2 * FT, 93 * FT))
    assert (min(ys), max(ys)) == pytest.approx((2 * FT, 68 * FT))
    assert plot_faults(sheet) == ()


def test_things_are_called_as_on_the_plan_and_by_their_kind_where_that_does_not_say_it() -> None:
    walk = [[30, 62], [40, 62], [40, 66], [30, 66]]
    drive = [[88, 0], [94, 0], [94, 9], [88, 9]]
    drives = [
        {"id": name, "kind": "driveway", "area": area}
        for name, area in (("walk", walk), ("drive", drive))
    ]
    content = house(more=drives, keeps=("driveway",))
    things = {row[0].split(" – ")[1] for row in separation_table(content).rows}
    names = " ".join(text.text for text in sheet_texts(compose(content)))
    assert things - {"PROPERTY LINE", "RETURN spacing"} == {
        "HOUSE (BUILDING) OVERHANG", "DRIVEWAY WALK",
    }  # fmt: skip
    assert "DRIVEWAY WALK" in names
    assert "HOUSE" in names


def test_a_house_without_an_overhang_has_none_in_the_legend() -> None:
    sheet = compose(house())
    assert "ROOF OVERHANG" not in " ".join(text.text for text in sheet_texts(sheet))
