"""What the loop carries beside the heating of the house, left to other heat."""

from __future__ import annotations

import pytest
from heated_lot import heated_lot

from siteplan.alternatives.other_heat import other_heat
from siteplan.available.prepared import lot_of
from siteplan.design.evaluate import try_system
from siteplan.site.readers.site_file import site_from

DRIVE = {"id": "drive", "kind": "paving", "area": [[10, 0], [30, 0], [30, 40], [10, 40]]}
HOUSE = {"kind": "building", "area": [[50, 10], [90, 10], [90, 40], [50, 40]]}
LOADS = {"heating": "20 MBH", "heating_hours": 2000}
# a drive of 800 sq ft at 125 Btu/hr ft2 takes 100 MBH, five times the house: what a contractor
# leaves to a boiler first (common practice, no source)
MELT = {"of": "drive", "flux": "125 Btu/h.ft2", "hours": 150, "cop": 3}
THREE = {"count": 3, "depth": "400 ft"}


def lot_with(loads):
    return lot_of(
        site_from(heated_lot("clay", feature=[HOUSE, DRIVE], loads=loads, vertical=THREE))
    )


def test_snow_melt_is_left_to_other_heat_before_hot_water_is() -> None:
    water = {"people": 4, "cop": 2.5}
    lot = lot_with({**LOADS, "hot_water": water, "snow_melt": MELT})
    trial = try_system(lot, "vertical")
    assert not trial.fits
    (change,) = other_heat(lot, trial)
    assert change.values["use"] == "snow melt"
    # what is told is what a lot without it needs, by a trial of its own
    alone = try_system(lot_with({**LOADS, "hot_water": water}), "vertical")
    assert alone.fits
    assert alone.required is not None
    assert change.values["length_m"] == pytest.approx(alone.required.length_m)


def test_nothing_is_left_out_of_a_house_that_is_only_heated() -> None:
    lot = lot_with(LOADS | {"heating": "80 MBH"})
    trial = try_system(lot, "vertical")
    assert not trial.fits
    assert list(other_heat(lot, trial)) == []
