"""The tables [open] and [aquifer]: what is refused, what is worked out, what counts as assumed."""

from __future__ import annotations

from typing import Any

import pytest
from site_values import small_lot

from siteplan.errors import InputError
from siteplan.site.open_loop import Aquifer
from siteplan.site.readers.site_file import site_from


def read(aquifer: dict[str, Any], **more: Any) -> Aquifer:
    return site_from({**small_lot(), "aquifer": aquifer, **more}).exchanger.open.aquifer


def faults_of(aquifer: dict[str, Any]) -> list[tuple[str, str]]:
    with pytest.raises(InputError, match="aquifer") as caught:
        read(aquifer)
    return [(fault.where.rpartition(", ")[2], f"{fault.what} {fault.mend}")
            for fault in caught.value.faults]  # fmt: skip


def test_two_of_three_give_the_third() -> None:
    both = read({"hydraulic_conductivity": "1e-3 m/s", "thickness": "8 m"})
    assert both.transmissivity == pytest.approx(8e-3)
    thick = read({"hydraulic_conductivity": "1e-3 m/s", "transmissivity": "0.012 m2/s"})
    assert thick.thickness_m == pytest.approx(12.0)
    assert read({"transmissivity": "0.02 m2/s"}).transmissivity == pytest.approx(0.02)


def test_three_that_do_not_agree_are_refused() -> None:
    said = {"hydraulic_conductivity": "1e-3 m/s", "thickness": "8 m"}
    read({**said, "transmissivity": "0.008 m2/s"})
    (fault,) = faults_of({**said, "transmissivity": "0.02 m2/s"})
    assert fault[0] == "transmissivity"
    assert "Leave out one of the three" in fault[1]


def test_all_faults_are_told_at_once_with_their_range() -> None:
    faults = faults_of({
        "storativity": 1.5, "thickness": "-3 m", "porosity": 0.9, "gradient": 0.5,
        "transmissivity": "0 m2/s", "temperature": "60 C", "direction": "up", "iron": -1,
    })  # fmt: skip
    told = dict(faults)
    assert set(told) == {
        "storativity", "thickness", "porosity", "gradient", "transmissivity", "temperature",
        "direction", "iron",
    }  # fmt: skip
    assert "from 1e-07 to 1" in told["storativity"]
    assert "more than zero" in told["thickness"]
    assert "from 0.01 to 0.7" in told["porosity"]


@pytest.mark.parametrize("key", ["gradient", "direction"])
def test_gradient_and_direction_go_together(key: str) -> None:
    value = {"gradient": 0.002, "direction": "S 30 E"}
    ((where, said),) = faults_of({key: value[key]})
    assert where == key
    assert "without a" in said
    assert read(value).direction_deg == pytest.approx(150.0)
    # a level that does not fall needs no direction
    assert read({"gradient": 0}).gradient == 0.0


def test_what_is_not_stated_counts_as_assumed() -> None:
    every = ("hydraulic_conductivity", "thickness", "storativity", "porosity", "gradient")
    assert read({}).assumed == every
    assert read({"transmissivity": "0.02 m2/s"}).assumed == every[1:]
    both = {"transmissivity": "0.02 m2/s", "hydraulic_conductivity": "1e-3 m/s"}
    assert read({**both, "gradient": 0}).assumed == ("storativity", "porosity")


def test_an_existing_supply_tells_its_yield_and_level() -> None:
    values = small_lot()
    well = {"id": "old", "kind": "potable well", "at": [20, 30], "yield": "20 gpm",
            "static_level": "18 ft"}  # fmt: skip
    values["feature"] = [*values["feature"], well]
    wanted = site_from({**values, "open": {"supply": "old"}}).exchanger.open
    assert wanted.yield_m3s == pytest.approx(20 * 3.785411784e-3 / 60)
    assert wanted.level_m == pytest.approx(18 * 0.3048)
    own = site_from({**values, "open": {"supply": "old", "static_level": "20 ft"}}).exchanger.open
    assert own.level_m == pytest.approx(20 * 0.3048)


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"outfall": "house"}, "'house' is not a pond or stream of this site"),
        ({"discharge": {"by": "Water Authority"}}, "is given without an outfall"),
    ],
)
def test_an_outfall_wants_water_and_a_permit_an_outfall(said: dict[str, Any], told: str) -> None:
    with pytest.raises(InputError, match=told):
        site_from({**small_lot(), "open": said})
