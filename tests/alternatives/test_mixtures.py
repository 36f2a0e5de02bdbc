"""A fluid that no book allows is mended by one that it names."""

from __future__ import annotations

import datetime
from typing import Any

from siteplan.alternatives.remedies import remedies_of
from siteplan.available.prepared import lot_of
from siteplan.comparison.compare import compared
from siteplan.design.evaluate import try_system
from siteplan.site.readers.site_file import site_from

LOT: dict[str, Any] = {
    "project": {"title": "t", "owner": "o", "date": datetime.date(2026, 3, 14), "units": "m"},
    "geometry": {"parcel": [[0, 0], [30, 0], [30, 45], [0, 45]]},
    "feature": [{"kind": "building", "area": [[8, 6], [20, 6], [20, 15], [8, 15]]}],
    "exchanger": {"system": "vertical", "entry": [[14, 15]]},
    "vertical": {"count": 2},
    "rules": {"books": ["denmark"]},
    "loads": {"heating": "4 kW", "heating_hours": 1500},
    "ground": {"conductivity": "2.2 W/m.K", "diffusivity": "0.08 m2/day", "temperature": "9 C"},
    "rig": {"access": "anywhere"},
}


def test_a_fluid_of_the_book_is_a_remedy_that_works() -> None:
    # BEK 240/2017 on ground source heating, as the municipal forms of Slagelse and Dragor print it:
    # IPA spirit, ethylene glycol, propylene glycol; ethanol is none of them
    lot = lot_of(site_from({**LOT, "fluid": {"mixture": "ethanol 25 %"}}))
    trial = try_system(lot, "vertical")
    assert [one.code for one in trial.findings if one.severity == "error"] == ["fluid-not-allowed"]
    (taken,) = compared(lot, [trial])
    assert [hinge.code for hinge in taken.hinges][:1] == ["hinges-on-fluid-allowed"]
    (remedy,) = remedies_of(lot, trial)
    assert (remedy.kind, remedy.steps) == ("fluid", 1)
    mixture = remedy.change.values["mixture"]
    assert str(mixture).startswith(("propylene glycol", "ethylene glycol", "isopropanol"))
    mended = lot_of(site_from({**LOT, "fluid": {"mixture": mixture}}))
    assert try_system(mended, "vertical").fits
