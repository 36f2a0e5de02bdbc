"""Things of a yard are known by the words that people have for them; common practice, no source."""

from __future__ import annotations

import datetime

import pytest

from siteplan.site.readers.site_file import site_from

HOUSE = {
    "kind": "house",
    "area": [[60, 60], [100, 60], [100, 90], [60, 90]],
    "id": "house",
}


@pytest.mark.parametrize(
    ("word", "shape", "kind", "label"),
    [
        ("telephone line", "line", "communication line", ""),
        ("Fiber Optic Cable", "line", "communication line", ""),
        ("gas pipeline", "line", "gas line", ""),
        ("drilled well", "at", "potable well", ""),
        ("sidewalk", "line", "paving", "sidewalk"),
        ("patio", "area", "paving", "patio"),
        ("brook", "line", "stream", "brook"),
        ("deck", "area", "other keep-out", "deck"),
        ("retaining wall", "line", "other keep-out", "retaining wall"),
        ("greenhouse", "area", "building", "greenhouse"),
        ("dry well", "at", "storm drain", "dry well"),
        ("D-box", "at", "septic tank", "D-box"),
        ("oak", "at", "tree", "oak"),
        ("irrigation line", "line", "water line", ""),
        ("dog kennel", "area", "livestock pen", "dog kennel"),
        ("loop field", "area", "energy well", "loop field"),
        ("bluff", "area", "steep slope", "bluff"),
        ("solar panels", "area", "other keep-out", "solar panels"),
        ("other keep-out", "line", "other keep-out", ""),
    ],
)
def test_a_thing_is_known_and_labelled_as_it_was_called(
    word: str, shape: str, kind: str, label: str
) -> None:
    places = {
        "at": [10, 10],
        "line": [[10, 10], [10, 40]],
        "area": [[10, 10], [30, 10], [30, 30], [10, 30]],
    }
    site = site_from(
        {
            "project": {"title": "t", "owner": "o", "date": datetime.date(2026, 3, 14)},
            "geometry": {"parcel": [[0, 0], [200, 0], [200, 200], [0, 200]]},
            "feature": [HOUSE, {"kind": word, shape: places[shape]}],
            "exchanger": {"capacity": "3 ton", "entry": [[80, 90]]},
        }
    )
    (thing,) = [feature for feature in site.features if feature.id != "house"]
    assert (thing.kind, thing.label) == (kind, label)
    # and named so in every sentence
    assert thing.id == f"{label or kind} 1"
