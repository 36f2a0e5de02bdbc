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
