"""Lots beside the lot: drawn as a plat draws them, and a plan is the same without them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import ezdxf
import pytest
import shapely
from drawn_once import compose_set
from legible import plot_faults

from siteplan import site_from
from siteplan.audit.audit import audit_drawing
from siteplan.audit.redrawn import DrawnAnew, drawn_anew
from siteplan.errors import InputError
from siteplan.plan import SitePlan, plan_site
from siteplan.sheet.model import Polyline, Sheet, Text
from siteplan.sheet.plan_view.adjoining import lines_of_adjoining

pytestmark = pytest.mark.usefixtures("coarse")

LAYER = "V-PROP-ADJN-E"
# the second lies over the lot by two feet, as two maps of one line do
BESIDE = [
    {"kind": "adjoining parcel", "label": "12-035",
     "area": [[150, 0], [300, 0], [300, 220], [150, 220]]},
    {"kind": "abutter", "label": "12-033", "area": [[2, 0], [2, 220], [-150, 220], [-150, 0]]},
]  # fmt: skip


def values(*features: dict[str, Any]) -> dict[str, Any]:
    house = {"kind": "house", "area": [[55, 60], [95, 60], [95, 90], [55, 90]]}
    street = {"kind": "street", "line": [[-30, -15], [180, -15]]}
    return {
        "project": {"title": "Lot 34", "owner": "A. Owner", "date": date(2026, 3, 14)},
        "geometry": {"parcel": [[0, 0], [150, 0], [150, 220], [0, 220]]},
        "exchanger": {
            "system": "horizontal", "entry": [[75, 90]],
            "length": {"given": "600 ft", "by": "A. D."},
        },
        "feature": [house, street, *features],
    }  # fmt: skip


@cache
def planned(number: int) -> SitePlan:
    return plan_site(site_from(values(*BESIDE[:number])))


@cache
def sheets_of(number: int) -> tuple[Sheet, ...]:
    return compose_set(planned(number).content())


def drawn(number: int) -> Iterator[Any]:
    return (each for each in sheets_of(number)[0].primitives if each.layer == LAYER)


def test_nothing_of_the_plan_changes_with_lots_beside() -> None:
    bare, with_lots = planned(0), planned(2)
    assert bare.site == replace(with_lots.site, adjoining=())
    assert bare.drawn.layout == with_lots.drawn.layout
    assert bare.drawn.separations == with_lots.drawn.separations
    assert bare.drawn.findings == with_lots.drawn.findings
    without = {**with_lots.summary(), "site": None}
    assert without == {**bare.summary(), "site": None}


def test_they_are_thin_lines_with_their_numbers_and_a_line_of_the_legend() -> None:
    assert {each.text for each in drawn(2) if isinstance(each, Text)} == {"12-035", "12-033"}
    lines = [each for each in drawn(2) if isinstance(each, Polyline)]
    assert {each.style for each in lines} == {"adjoining"}
    legend = [each.text for each in sheets_of(2)[0].primitives if isinstance(each, Text)]
    assert "ADJOINING PARCEL" in legend
    assert not list(drawn(0))
    for sheet in sheets_of(2):
        assert plot_faults(sheet) == ()


def test_the_line_shared_with_the_lot_is_drawn_once() -> None:
    site = planned(2).site
    own = site.parcel.exterior
    # 2 ft of overlap are within what two maps differ by
    assert all(line.distance(own) >= 0.99 for line in lines_of_adjoining(site))
    lines = shapely.union_all(list(lines_of_adjoining(site)))
    assert lines.length == pytest.approx(sum(line.length for line in lines_of_adjoining(site)))


def anew() -> DrawnAnew:
    return drawn_anew(planned(2))


@pytest.mark.thorough
def test_an_untouched_drawing_with_them_passes_and_one_without_is_told(tmp_path: Path) -> None:
    planned(2).write(tmp_path)
    path, site = tmp_path / "plan.dxf", planned(2).site
    assert not audit_drawing(path, site, anew).findings
    doc = ezdxf.readfile(path)
    gone = [each for each in doc.modelspace() if each.dxf.layer == LAYER]
    assert gone
    for each in gone:
        doc.modelspace().delete_entity(each)
    doc.saveas(path)
    assert {each.code for each in audit_drawing(path, site, anew).findings} == {"redrawn"}


@pytest.mark.parametrize(
    ("feature", "message"),
    [
        ({"kind": "adjoining parcel", "at": [9, 9]}, "but not an area"),
        ({"kind": "adjoining parcel", "area": [[0, 0], [9, 9], [9, 0], [0, 8]]}, "crosses itself"),
        (
            {"kind": "adjoining parcel", "area": [[0, 0], [9, 9], [9, 0]], "clearance": "9 ft"},
            "clearance",
        ),
    ],
)
def test_what_is_no_lot_beside_is_refused(feature: dict[str, Any], message: str) -> None:
    with pytest.raises(InputError, match=message):
        site_from(values(feature))


def test_no_rule_can_speak_of_them() -> None:
    asked = values(*BESIDE)
    rule = {"from": "adjoining parcel", "for": ["trench"], "distance": "9 ft", "source": "s"}
    with pytest.raises(InputError, match="adjoining parcel"):
        site_from({**asked, "rules": {"own": [rule]}})
