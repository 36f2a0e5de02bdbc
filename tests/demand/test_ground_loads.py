"""Heat flows in the ground from the loads of a house: hand-worked."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from siteplan.demand.ground_loads import Pulses, month_flows, month_heats, pulses_of
from siteplan.heat_balance import Direction
from siteplan.site.energy import SideLoad
from siteplan.site.readers.site_file import read_site

LOADS = """
[loads]
heating = "9 kW"
heating_hours = {heating}
cooling = "6 kW"
cooling_hours = {cooling}
cop = 4.0
eer = 17.06
[ground]
temperature = "10 C"
conductivity = "1.5 W/m.K"
diffusivity = "0.05 m2/day"
"""
# COP 4 draws 3/4 of 9 kW; EER 17.06 is a COP of 5, which gives off 6/5 of 6 kW
DRAWN_W, GIVEN_W = 6750.0, 7200.0
YEAR_H = 8760


@pytest.fixture
def pulses(
    lot_text: str, write_site: Callable[..., Path]
) -> Callable[[Direction, int, int, bool], Pulses]:
    def ask(way: Direction, heating: int, cooling: int, first: bool) -> Pulses:
        loads = LOADS.format(heating=heating, cooling=cooling)
        text = lot_text.replace('capacity = "2 ton"\n', "")
        energy = read_site(write_site(f"{text}{loads}")).exchanger.energy
        assert energy is not None
        return pulses_of(energy, way, first=first)

    return ask


@pytest.mark.parametrize(
    ("way", "first", "net_wh"),
    [
        ("heating", False, DRAWN_W * 2000 - GIVEN_W * 500),
        ("cooling", False, GIVEN_W * 500 - DRAWN_W * 2000),
        # nothing has come back yet
        ("heating", True, DRAWN_W * 2000),
        ("cooling", True, GIVEN_W * 500),
    ],
)
def test_the_year_is_what_is_drawn_less_what_comes_back(
    pulses: Callable[..., Pulses], way: Direction, first: bool, net_wh: float
) -> None:
    assert pulses(way, 2000, 500, first).year_w == pytest.approx(net_wh / YEAR_H, rel=1e-4)


@pytest.mark.parametrize(
    ("way", "peak_w", "share"), [("heating", DRAWN_W, 0.22), ("cooling", GIVEN_W, 0.3)]
)
def test_the_hardest_month_has_its_share_of_the_year_and_no_more_than_the_design_hours(
    pulses: Callable[..., Pulses], way: Direction, peak_w: float, share: float
) -> None:
    # common practice, no source: 22 % of the heating and 30 % of the cooling in the hardest month
    few = pulses(way, 1000, 1000, False)
    assert few.peak_w == pytest.approx(peak_w, rel=1e-4)
    assert few.month_w == pytest.approx(peak_w * 1000 * share / (YEAR_H / 12), rel=1e-4)
    # 5,000 hours times the share are more than a month has
    assert pulses(way, 5000, 5000, False).month_w == pytest.approx(peak_w, rel=1e-4)


def test_the_year_takes_the_performance_in_the_middle_between_fluid_and_ground(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    # COP 3 at the design hour (0 C), 4 at 5 C, the middle between 0 C and ground of 10 C: in a
    # year 3/4 of 9 kW x 2,000 h come from the ground, not 2/3
    loads = LOADS.format(heating=2000, cooling=500).replace(
        "cop = 4.0", 'cop = { "0 C" = 3.0, "5 C" = 4.0, "10 C" = 5.0 }'
    )
    text = lot_text.replace('capacity = "2 ton"\n', "") + loads + '[fluid]\ncoldest = "0 C"\n'
    energy = read_site(write_site(text)).exchanger.energy
    assert energy is not None
    drawn, _ = month_heats(energy)
    assert drawn.sum() == pytest.approx(0.75 * 9000 * 2000)


@pytest.mark.parametrize(("cop", "share"), [(None, 1.0), (4.0, 0.75), (2.5, 0.6)])
def test_what_is_heated_beside_the_house_is_drawn_too(
    cop: float | None, share: float, lot_text: str, write_site: Callable[..., Path]
) -> None:
    text = lot_text.replace('capacity = "2 ton"\n', "") + LOADS.format(heating=2000, cooling=500)
    energy = read_site(write_site(text)).exchanger.energy
    assert energy is not None
    # of 3 MWh what the compressor does not give comes from the ground: (COP - 1) / COP
    beside = SideLoad("hot water", 2000.0, 3e6, 0.2, cop)
    more = replace(energy, loads=replace(energy.loads, sides=(beside, beside)))
    alone, other = (month_heats(each)[0] for each in (energy, more))
    assert (other - alone).sum() == pytest.approx(2 * share * 3e6, rel=1e-3)
    # a fifth of it in the hardest month, the same as that of the house
    assert (other - alone).max() == pytest.approx(0.2 * 2 * share * 3e6, rel=1e-3)
    assert int((other - alone).argmax()) == int(alone.argmax()) == 6
    # the same in the mean of a year of 8,760 hours, in which the half in winter is drawn first
    year, with_it = (pulses_of(each, "heating").year_w for each in (energy, more))
    assert with_it - year == pytest.approx(2 * share * 3e6 / YEAR_H, rel=1e-9)
    # what is given off in summer is no matter
    assert month_heats(more)[1] == pytest.approx(month_heats(energy)[1])


@pytest.mark.parametrize("way", ["heating", "cooling"])
@pytest.mark.parametrize(("first", "share"), [(True, 0.0), (False, 1.0)])
def test_the_months_of_a_year_add_up_to_what_is_drawn_less_what_comes_back(
    way: Direction, first: bool, share: float, lot_text: str, write_site: Callable[..., Path]
) -> None:
    # as few hours that no month is cut down to the design heat: the months keep the year's energy
    loads = LOADS.format(heating=1200, cooling=500)
    text = lot_text.replace('capacity = "2 ton"\n', "")
    energy = read_site(write_site(f"{text}{loads}")).exchanger.energy
    assert energy is not None
    drawn, given = DRAWN_W * 1200, GIVEN_W * 500
    own, other = (drawn, given) if way == "heating" else (given, drawn)
    flows = month_flows(energy, way, first=first)
    assert flows.sum() * YEAR_H / 12 == pytest.approx(own - share * other, rel=1e-3)
    # the hardest of either season are half a year apart (the bell of the year)
    assert int(flows.argmax()) == 6
    assert int(flows.argmin()) in (0, 11, 1)


def test_a_year_is_drawn_at_the_means_of_the_year_and_the_hour_at_its_worst(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    text = lot_text.replace('capacity = "2 ton"\n', "") + LOADS.format(heating=2000, cooling=500)
    energy = read_site(write_site(text)).exchanger.energy
    assert energy is not None
    # over the year a COP of 5 and an EER of 34.12, which is one of 10: 4/5 drawn, 11/10 given off
    seasonal = replace(energy, loads=replace(energy.loads, cop_year=5.0, eer_year=34.1214))
    found = pulses_of(seasonal, "heating", first=False)
    net_wh = 9000.0 * 4 / 5 * 2000 - 6000.0 * 11 / 10 * 500
    assert found.year_w == pytest.approx(net_wh / YEAR_H, rel=1e-4)
    assert found.peak_w == pulses_of(energy, "heating", first=False).peak_w
