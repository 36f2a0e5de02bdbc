"""How much shorter a loop may be in the best ground of the name that was given."""

from __future__ import annotations

import pytest
from heated_lot import heated_lot

from siteplan.alternatives.assumptions import Assumption, assumptions, instead_words
from siteplan.available.prepared import lot_of
from siteplan.design.evaluate import try_system
from siteplan.site.readers.site_file import site_from

LOT = heated_lot("sand")


def told(ground: dict[str, str]) -> tuple[float, dict[str, Assumption]]:
    """Length required [m], and what is assumed."""
    lot = lot_of(site_from({**LOT, "ground": ground}))
    trial = try_system(lot, "vertical")
    assert trial.required is not None
    return trial.required.length_m, {each.path: each for each in assumptions(lot, trial)}


def test_the_length_falls_as_the_resistance_of_the_ground_does() -> None:
    length_m, assumed = told(LOT["ground"])
    conductivity = assumed["ground.conductivity"]
    assert conductivity.instead is not None
    assert conductivity.higher is not None
    # ASHRAE Handbook, Fundamentals, thermal conductivity of soils and rocks: of sands 5.4 to 15.6
    # Btu in/h ft2 F are recommended for design (from memory)
    assert conductivity.value == pytest.approx(5.4 / 12 * 1.730735, rel=1e-4)
    assert conductivity.instead.value == pytest.approx(15.6 / 12 * 1.730735, rel=1e-4)
    # each pulse of the length equation of the same handbook's HVAC Applications, geothermal energy
    # (from memory), meets ground of 1/k and a bore that is as it was: what a tenth more
    # conductivity does tells the share of the ground
    ground_share = -conductivity.higher / (1 - 1 / 1.1)
    expected = -ground_share * (1 - 5.4 / 15.6) * length_m
    assert conductivity.instead.more_m == pytest.approx(expected, rel=0.03)
    words = instead_words(conductivity, site_from(LOT).unit)
    assert words is not None
    assert words[2].endswith(" less")


def test_nothing_is_told_where_the_conductivity_is_stated() -> None:
    stated = {**LOT["ground"], "conductivity": "1.0 Btu/h.ft.F"}
    assert "ground.conductivity" not in told(stated)[1]
