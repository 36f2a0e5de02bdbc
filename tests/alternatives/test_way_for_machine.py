"""Where no machine gets in, a way that is there and was not drawn is what helps."""

from __future__ import annotations

import datetime
from typing import Any

from siteplan.alternatives.remedies import remedies_of
from siteplan.available.prepared import lot_of
from siteplan.design.evaluate import try_system
from siteplan.site.readers.site_file import site_from

# no machine drives through an open ditch (common practice, no source), and it runs the whole width
DITCH = {"kind": "ditch", "line": [[0, 12], [100, 12]], "width": "5 ft"}
DRIVE = {"kind": "driveway", "area": [[10, 0], [22, 0], [22, 70], [10, 70]]}
LOT: dict[str, Any] = {
    "project": {"title": "t", "owner": "o", "date": datetime.date(2026, 3, 14)},
    "geometry": {"parcel": [[0, 0], [100, 0], [100, 190], [0, 190]]},
    "exchanger": {
        "system": "vertical",
        "entry": [[50, 90]],
        "length": {"given": "600 ft", "by": "a designer"},
    },
}
HOUSE = {"kind": "building", "area": [[40, 70], [80, 70], [80, 90], [40, 90]]}
STREET = {"kind": "street", "line": [[-50, -20], [150, -20]]}


def test_a_driveway_over_the_ditch_is_asked_for_and_helps() -> None:
    lot = lot_of(site_from({**LOT, "feature": [HOUSE, STREET, DITCH]}))
    trial = try_system(lot, "vertical")
    (remedy,) = remedies_of(lot, trial)
    assert (remedy.kind, remedy.change.code) == ("rig", "way-for-machine")
    drawn = lot_of(site_from({**LOT, "feature": [HOUSE, STREET, DITCH, DRIVE]}))
    assert try_system(drawn, "vertical").fits


def test_a_yard_behind_a_row_of_houses_needs_a_way_in_before_all_else() -> None:
    # a lot as wide as its house, between two others: no rig gets to the yard, and the usual 10 ft
    # from both side lines would leave nothing of its 20 ft (both common practice, no source)
    row = [[[x, 8], [x + 20, 8], [x + 20, 56], [x, 56]] for x in (-20, 0, 20)]
    houses = [{"kind": "building", "area": area} for area in row]
    given = {"given": "450 ft", "by": "a designer"}
    values = {
        **LOT,
        "geometry": {"parcel": [[0, 0], [20, 0], [20, 100], [0, 100]]},
        "exchanger": {"system": "vertical", "entry": [[10, 56]], "length": given},
        "vertical": {"depth": "450 ft"},
        "feature": [*houses, STREET],
    }
    lot = lot_of(site_from(values))
    trial = try_system(lot, "vertical")
    assert not remedies_of(lot, trial)
    (remedy,) = remedies_of(lot, trial, several=True)
    changes = remedy.change.values
    assert remedy.change.code == "both-changes"
    assert getattr(changes["first"], "code", "") == "way-in-besides"
    assert getattr(changes["second"], "code", "") == "below-common-practice"
    # with both it fits
    anyhow = {**values, "rig": {"access": "anywhere"}}
    closer = {"from": "property line", "for": "bore", "distance": "5 ft", "source": "the owner"}
    there = lot_of(site_from({**anyhow, "rules": {"own": [closer]}}))
    assert try_system(there, "vertical").fits
