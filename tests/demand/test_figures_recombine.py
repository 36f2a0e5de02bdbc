"""The figures told of a calculation are those that its length comes of.

Each equation is put together from what is told, beside what the calculation did itself: who checks
a permit by hand does just that.
"""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
from places import SAMPLES
from small_lot import FIELD, GROUND, HEATED

from siteplan.demand.model import Required
from siteplan.demand.required import required_of
from siteplan.findings.model import Reason
from siteplan.site.model import System
from siteplan.site.readers.site_file import read_site, site_from

YEAR_H = 8760.0


def told(figures: tuple[Reason, ...]) -> dict[str, dict[str, Any]]:
    """Values of each figure by its code."""
    assert len({figure.code for figure in figures}) == len(figures)
    return {figure.code.removeprefix("figure-"): dict(figure.values) for figure in figures}


def calculated(system: System) -> tuple[Required, dict[str, dict[str, Any]]]:
    text = f"{GROUND}{FIELD}[exchanger]\nentry = [[80, 70]]\n{HEATED}"
    required = required_of(site_from(tomllib.loads(text)).exchanger, system)
    assert required is not None
    return required, told(required.figures)


def loads_agree(of: dict[str, dict[str, Any]]) -> None:
    """A heat pump draws what it gives less what it takes of power: q (1 - 1/COP)."""
    house, design = of["heating-load"], of["design-hours"]["power_w"]
    assert design == pytest.approx(house["power_w"] * (1 - 1 / house["cop"]))
    assert of["net-of-year"]["energy_wh"] == pytest.approx(design * house["hours"])
    assert 0 < of["hardest-month"]["power_w"] < design
    assert of["mean-fluid"]["mean_c"] == pytest.approx(
        (of["entering"]["entering_c"] + of["leaving"]["leaving_c"]) / 2
    )


def test_a_bores_length_is_that_of_the_pulse_equation_of_its_own_figures() -> None:
    # S. P. Kavanaugh, K. Rafferty, "Geothermal Heating and Cooling" (ASHRAE 2014), ch. 4: pulses of
    # hours, a month and years, each with its resistance, and the bore's own for the hours
    required, of = calculated("vertical")
    loads_agree(of)
    hours, month = of["design-hours"]["power_w"], of["hardest-month"]["power_w"]
    year = of["net-of-year"]["energy_wh"] / YEAR_H
    through = {
        name: of[f"{name}-resistance"]["resistance"] for name in ("bore", "hours", "month", "years")
    }
    apart_k = of["ground-undisturbed"]["ground_c"] - of["mean-fluid"]["mean_c"]
    penalty_k = of["neighbours"]["penalty_k"]
    assert of["difference"]["difference_k"] == pytest.approx(apart_k - penalty_k)
    length_m = (
        hours * (through["bore"] + through["hours"])
        + month * through["month"]
        + year * through["years"]
    ) / (apart_k - penalty_k)
    assert of["exchanging"]["length_m"] == pytest.approx(length_m, rel=1e-6)
    assert of["exchanging-else"]["length_m"] < length_m
    # what lies above the U-bends' top is drilled as well, and the sum rounded up at output
    drilled_m = length_m + of["u-bend-top"]["top_m"]
    assert of["bore-required"]["length_m"] == pytest.approx(drilled_m, rel=1e-6)
    assert drilled_m - 1e-6 <= required.length_m < drilled_m + 0.01


def test_a_trenches_length_draws_the_heat_of_the_design_hours_by_its_own_figures() -> None:
    required, of = calculated("horizontal")
    loads_agree(of)
    hours, month = of["design-hours"]["power_w"], of["hardest-month"]["power_w"]
    assert of["run-fraction"]["run_fraction"] == pytest.approx(month / hours)
    (ground, *_) = of["ground-at-pipes"]["temperatures"]
    apart_k = ground.values["celsius"] - of["mean-fluid"]["mean_c"]
    assert of["difference"]["difference_k"] == pytest.approx(apart_k)
    # what each metre draws, along all metres
    assert of["drawn"]["line_power_wm"] * of["trench-required"]["length_m"] == pytest.approx(hours)
    needed_m = of["trench-required"]["length_m"]
    assert needed_m - 1e-6 <= required.length_m < needed_m + 0.01
    assert of["steady-form"]["length_m"] < 1.1 * needed_m


def test_a_ponds_pipe_is_heat_times_resistance_over_the_difference_of_its_own_figures() -> None:
    required = required_of(read_site(SAMPLES / "mill-pond").exchanger, "pond")
    assert required is not None
    of = told(required.figures)
    loads_agree(of)
    heat = of["design-hours"]["power_w"]
    water_c, mean_c = of["water-at-coils"]["water_c"], of["mean-fluid"]["mean_c"]
    # q = L (t_water - t_fluid) / R: definition of a resistance along a pipe
    pipe_m = heat * of["fluid-to-water"]["resistance"] / (water_c - mean_c)
    assert of["pipe-required"]["length_m"] == pytest.approx(pipe_m, rel=1e-6)
    # the pipe's outside lies between the two as the resistances up to it and behind it do
    inside = of["film-and-wall"]["resistance"] / of["fluid-to-water"]["resistance"]
    assert of["pipe-surface"]["surface_c"] == pytest.approx(mean_c + inside * (water_c - mean_c))
