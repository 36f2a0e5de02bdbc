"""An entry that says no more than which wall the pipes come in through."""

from __future__ import annotations

import datetime
from typing import Any

import pytest
from wording import in_words

from siteplan.alternatives.other_entry import entry_findings
from siteplan.available.prepared import lot_of
from siteplan.design.evaluate import try_system
from siteplan.errors import InputError
from siteplan.site.model import Site
from siteplan.site.readers.site_file import site_from

HOUSE = [[50, 10], [90, 10], [90, 40], [50, 40]]
# its corners point north, east, south and west
ACROSS = [[70, 10], [90, 30], [70, 50], [50, 30]]


def site(entry: str, area: list[list[int]]) -> Site:
    values: dict[str, Any] = {
        "project": {"title": "t", "owner": "o", "date": datetime.date(2026, 3, 14)},
        "geometry": {"parcel": [[0, 0], [140, 0], [140, 150], [0, 150]]},
        "feature": [{"kind": "building", "id": "house", "area": area}],
        "exchanger": {
            "system": "vertical", "entry": entry, "length": {"given": "600 ft", "by": "a designer"},
        },
        "rig": {"access": "anywhere"},
    }  # fmt: skip
    return site_from(values)


def test_places_in_that_wall_alone_are_tried() -> None:
    read = site("South  wall", HOUSE)
    # 4 ft from the corners and in the middle; common practice, no source
    assert [entry.point.y / 0.3048 for entry in read.entries] == pytest.approx([10, 10, 10])
    assert sorted(entry.point.x / 0.3048 for entry in read.entries) == pytest.approx([54, 70, 86])
    lot = lot_of(read)
    (told,) = entry_findings(lot, try_system(lot, "vertical"))
    assert told.code == "entry-in-wall-assumed"
    assert "only the wall is stated" in in_words(told)


def test_of_a_house_across_the_compass_walls_that_nearly_face_so_are_taken() -> None:
    assert {entry.label.split()[0] for entry in site("north wall", ACROSS).entries} == {
        "northeast",
        "northwest",
    }


def test_a_wall_that_the_house_does_not_have_is_told_with_those_it_has() -> None:
    with pytest.raises(InputError, match="faces north") as told:
        site("north wall", [[50, 10], [62, 10], [56, 70]])
    assert "Its walls face" in str(told.value)


def test_another_word_is_told_what_may_stand_there() -> None:
    with pytest.raises(InputError, match="neither a point nor one of the words"):
        site("the mechanical room", HOUSE)
