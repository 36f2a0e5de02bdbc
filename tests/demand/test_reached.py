"""How cold and how warm the fluid gets where the other season decides the length."""

from __future__ import annotations

from dataclasses import replace

import pytest
from planned import unweighed

from siteplan.demand.calculated import calculate_bores
from siteplan.demand.fluid_side import Flows
from siteplan.demand.reached import NEAR_K, TO_SPARE, fluid_reached
from siteplan.demand.required import LaidOut, required_of
from siteplan.heat_balance import balance_of, loop_flow

WARM = """
[loads]
heating = "5 kW"
heating_hours = 600
cooling = "12 kW"
cooling_hours = 1900
cop = 4.0
eer = 17.06

[ground]
temperature = "21 C"
conductivity = "2.0 W/m.K"
diffusivity = "1e-6 m2/s"

[fluid]
mixture = "water"
"""
"""A house in a warm country: cooling decides how long its loop is."""


def test_temperatures_add_up_by_the_pulse_equation(heated_site):
    # M. Philippe, M. Bernier and D. Marchio, ASHRAE Journal, July 2010, equation 1: for the same
    # pulses length times temperature difference is the same, where bores stand alone
    exchanger = heated_site(WARM).exchanger
    energy, flow = exchanger.energy, loop_flow(exchanger)
    laid = LaidOut(pipe="1 in", circuit_flow_m3s=flow.flow_m3s / 2)
    length_m = required_of(exchanger, "vertical", laid=laid).length_m
    flows = Flows(flow.flow_m3s / 2, flow)
    winter = calculate_bores(
        replace(energy, only="heating"), exchanger.vertical.diameter_m, flows=flows
    )
    reached = fluid_reached(exchanger, "vertical", laid, length_m)
    assert reached.warmest_c == energy.fluid.warmest_c
    there = balance_of(replace(energy, fluid=reached), "heating", flow)
    product = winter.sizing.length_m * winter.sizing.difference_k
    exchanging_m = length_m - energy.loop.top_m
    # warmer fluid is less viscous, which is worth a percent or two
    assert exchanging_m * (energy.earth.temperature_c - there.mean_c) == pytest.approx(
        product, rel=0.04
    )


@pytest.mark.parametrize(
    ("wanted", "decides"),
    [
        (WARM, "cooling"),
        (
            WARM.replace(
                'heating = "5 kW"\nheating_hours = 600', 'heating = "12 kW"\nheating_hours = 2500'
            )
            .replace(
                'cooling = "12 kW"\ncooling_hours = 1900', 'cooling = "3 kW"\ncooling_hours = 200'
            )
            .replace("21 C", "10 C"),
            "heating",
        ),
    ],
)
def test_what_decides_is_as_asked_for_and_the_other_just_enough(heated_site, wanted, decides):
    exchanger = heated_site(wanted).exchanger
    energy, laid = exchanger.energy, LaidOut(circuit_flow_m3s=3e-4)
    length_m = required_of(exchanger, "vertical", laid=laid).length_m
    reached = fluid_reached(exchanger, "vertical", laid, length_m)
    asked = energy.fluid.coldest_c, energy.fluid.warmest_c
    found, ground = (reached.coldest_c, reached.warmest_c), energy.earth.temperature_c
    kept = 0 if decides == "heating" else 1
    assert found[kept] == asked[kept]
    # between what may be and the ground: the ground's own temperature would take a loop without end
    assert asked[0] <= found[0] < ground < found[1] <= asked[1]
    other = "cooling" if decides == "heating" else "heating"
    just = replace(exchanger, energy=replace(energy, fluid=reached, only=other))
    assert required_of(just, "vertical", laid=laid).length_m <= length_m
    # a little nearer to the ground it would not be enough
    step = 2 * NEAR_K if other == "heating" else -2 * NEAR_K
    over = replace(
        reached,
        coldest_c=reached.coldest_c + step,
        warmest_c=reached.warmest_c + step,
    )
    lacking = replace(exchanger, energy=replace(energy, fluid=over, only=other))
    assert required_of(lacking, "vertical", laid=laid).length_m > length_m


def test_a_longer_loop_than_needed_by_whole_bores_leaves_the_temperature_asked_for(heated_site):
    exchanger = heated_site(WARM).exchanger
    laid = LaidOut(circuit_flow_m3s=3e-4)
    length_m = required_of(exchanger, "vertical", laid=laid).length_m * (1 + TO_SPARE / 2)
    assert fluid_reached(exchanger, "vertical", laid, length_m).warmest_c == (
        exchanger.energy.fluid.warmest_c
    )


def test_water_does_not_freeze_where_cooling_makes_the_loop_long(heated_site):
    site = heated_site(WARM)
    # nobody stated how cold the fluid may come: 32 F are assumed, at which water freezes
    assert site.exchanger.energy.fluid.coldest_c == pytest.approx(0.0)
    plan = unweighed(site, "vertical")
    assert plan.fits
    flow = plan.drawn.layout.piping.hydraulics
    winter = next(each for each in flow.balances if each.direction == "heating")
    assert winter.leaving_c > 10
    assert flow.lowest_c == pytest.approx(winter.leaving_c)
    assert flow.temperature_c == pytest.approx(winter.mean_c)
