"""The flow of a sample by its own pieces of header: what goes in comes out, and what it loses."""

from __future__ import annotations

import math
from collections import Counter
from typing import Any

import pytest
from planned import planned

GRAVITY = 9.80665
GALLON_L = 3.785411784
INCH = 0.0254
SDR = 11
OUTSIDE_IN = {"3/4 in": 1.05, "1 in": 1.315, "1-1/4 in": 1.66, "1-1/2 in": 1.9, "2 in": 2.375}
"""Outside diameters of pipe sized by iron pipe (ASTM D3035, from memory) [in]."""
TEES = ["rural-acre", "mill-pond"]
NAMES = [*TEES, "small-suburban"]


def inside_m(size: str) -> float:
    """Inside diameter: the wall is the outside diameter over the ratio (ASTM D3035) [m]."""
    return OUTSIDE_IN[size] * (1 - 2 / SDR) * INCH


def colebrook(reynolds: float) -> float:
    """Darcy friction factor of a smooth pipe, by C. F. Colebrook 1939, by repeated insertion."""
    factor = 0.03
    for _ in range(50):
        factor = (2 * math.log10(reynolds * math.sqrt(factor) / 2.51)) ** -2
    return factor


def drop_kpa(
    size: str, flow_l_s: float, length_m: float, viscosity: float, density: float
) -> float:
    """Loss of a straight smooth pipe by Darcy and Weisbach [kPa]."""
    inside = inside_m(size)
    speed = flow_l_s / 1000 / (math.pi * inside**2 / 4)
    reynolds = speed * inside / viscosity
    # J. L. M. Poiseuille: 64 / Re while the flow is laminar
    factor = 64 / reynolds if reynolds < 2300 else colebrook(reynolds)
    return factor * length_m / inside * density * speed**2 / 2 / 1000


def flow_of(name: str) -> tuple[dict[str, Any], dict[str, Any]]:
    summary = planned(name).summary()
    return summary, summary["flow"]


@pytest.mark.parametrize("name", TEES)
def test_what_flows_into_each_tee_flows_out_of_it(name: str) -> None:
    summary, flow = flow_of(name)
    ends = Counter(
        tuple(round(value, 2) for value in place)
        for each in summary["elements"]
        for place in (each["line_m"][:1] if "line_m" in each else [(each["x_m"], each["y_m"])])
    )
    left: Counter[tuple[float, ...]] = Counter()
    for piece in flow["pieces"]:
        supply = sum(pipe["flow_l_s"] for pipe in piece["pipes"] if pipe["role"] == "supply")
        left[tuple(round(value, 2) for value in piece["from_m"])] -= supply
        left[tuple(round(value, 2) for value in piece["to_m"])] += supply
    taken = {place: round(amount / flow["circuit_l_s"], 1) for place, amount in left.items()}
    # at the entry all of it comes, at each element it takes what its circuits carry
    (entry,) = [place for place, amount in taken.items() if amount < 0]
    assert taken.pop(entry) == -len(summary["circuits"])
    assert {place: amount for place, amount in taken.items() if amount} == dict(ends)
    assert flow["total_l_s"] == pytest.approx(
        flow["circuit_l_s"] * len(summary["circuits"]), abs=1e-3
    )


@pytest.mark.parametrize("name", NAMES)
def test_the_fluid_fills_the_pipes_listed(name: str) -> None:
    summary, flow = flow_of(name)
    lengths: Counter[str] = Counter(flow["header_pipe_m"])
    header: Counter[str] = Counter()
    for piece in flow["pieces"]:
        for pipe in piece["pipes"]:
            header[pipe["size"]] += piece["length_m"]
    assert dict(header) == pytest.approx(flow["header_pipe_m"], abs=0.01)
    for circuit in summary["circuits"]:
        lengths[circuit["pipe"]] += circuit["length_m"]
    litres = sum(1000 * math.pi / 4 * inside_m(size) ** 2 * m for size, m in lengths.items())
    # told in whole gallons, rounded up
    assert 0.99 * litres <= flow["volume_l"] <= 1.01 * litres + GALLON_L
    share = float(flow["mixture"].split()[-2]) / 100
    assert share * flow["volume_l"] <= flow["antifreeze_l"] <= share * flow["volume_l"] + GALLON_L


@pytest.mark.parametrize("name", NAMES)
def test_losses_of_pipes_are_those_of_darcy_and_weisbach_and_add_up_to_the_head(name: str) -> None:
    summary, flow = flow_of(name)
    longest = max(summary["circuits"], key=lambda each: float(each["length_m"]))
    size, each = longest["pipe"], flow["circuit_l_s"]
    # of the fluid is told how it flows in a circuit: Re = 4 Q / (pi d nu)
    viscosity = 4 * each / 1000 / (math.pi * inside_m(size) * flow["reynolds"])
    parts = ("circuit_drop_kpa", "header_drop_kpa", "fittings_drop_kpa", "heat_pump_drop_kpa")
    total = sum(flow[part] or 0.0 for part in parts)
    density = total * 1000 / GRAVITY / flow["head_m"]
    # methanol of 15 % is a little lighter than water, propylene glycol of 30 % a little heavier
    # (handbooks, from memory)
    least, most = (970, 1000) if flow["mixture"].startswith("methanol") else (1000, 1045)
    assert least < density < most
    assert flow["hydraulic_power_w"] == pytest.approx(total * flow["total_l_s"], rel=2e-3)
    # between laminar and turbulent a flow is neither: there the table of neither holds
    if not 2300 < flow["reynolds"] < 4500:
        own = drop_kpa(size, each, longest["length_m"], viscosity, density)
        assert flow["circuit_drop_kpa"] == pytest.approx(own, rel=0.02)
    # all pipes of a circuit's way lie within the header: their loss is no more than that of all
    losses = [
        drop_kpa(pipe["size"], pipe["flow_l_s"], piece["length_m"], viscosity, density)
        for piece in flow["pieces"]
        for pipe in piece["pipes"]
    ]
    assert 0 < flow["header_drop_kpa"] <= 1.03 * sum(losses)
