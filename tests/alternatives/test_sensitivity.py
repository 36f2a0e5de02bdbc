"""How sure a calculated length is, and how spacing moves it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from planned import unweighed

from siteplan.alternatives.length_study import study_spacing
from siteplan.available.prepared import lot_of
from siteplan.export.curve import write_curve
from siteplan.plan import SitePlan
from siteplan.site.readers.site_file import read_site
from siteplan.units.systems import US

LOADS = """
[loads]
heating = "2 kW"
heating_hours = 1800
cooling = "1 kW"
cooling_hours = 400

[ground]
temperature = "10 C"
swing = "10 K"
coldest_day = "4 February"
conductivity = "1.6 W/m.K"
diffusivity = "0.06 m2/day"

[circuits]
flow = "6 gpm"

[loop]
grout = "0.9 Btu/h.ft.F"

[vertical]
depth = "150 ft"
"""


@pytest.fixture
def plan_of(lot_text: str, write_site: Callable[..., Path]) -> Callable[..., SitePlan]:
    def plan(system: str, tables: str = LOADS) -> SitePlan:
        text = lot_text.replace('capacity = "2 ton"\n', "") if "[loads]" in tables else lot_text
        site = read_site(write_site(f"{text}{tables}"))
        return unweighed(site, system)  # type: ignore[arg-type]

    return plan


@pytest.mark.parametrize("system", ["horizontal", "vertical"])
def test_a_better_ground_shortens_and_a_greater_load_lengthens(plan_of, system):
    changes = {one.figure: one for one in plan_of(system).changes}
    grout = {"grout conductivity"} if system == "vertical" else set()
    assert set(changes) == {"conductivity", "load", "COP", "spacing"} | grout
    # a better heat pump draws more from the ground
    assert changes["COP"].lower < 0 < changes["COP"].higher
    assert changes["conductivity"].lower > 0 > changes["conductivity"].higher
    assert changes["load"].lower < 0 < changes["load"].higher
    assert changes["spacing"].lower >= 0 >= changes["spacing"].higher
    # no figure moves the length by more than its own tenth, and what the fluid's mean adds
    assert all(abs(one.lower) < 0.16 and abs(one.higher) < 0.16 for one in changes.values())


def test_the_length_of_trench_moves_with_the_load_and_the_fluid_that_it_cools(plan_of):
    # a tenth more heat from the same flow of 6 gpm leaves the heat pump a tenth of its change
    # colder: the ground is farther above the mean fluid, and less than a tenth more length will do
    plan = plan_of("horizontal")
    load = next(one for one in plan.changes if one.figure == "load")
    assert 0.05 < load.higher < 0.1
    assert -0.1 < load.lower < -0.05


def test_well_water_moves_with_the_load_and_the_heat_pump(plan_of):
    plan = plan_of("open", LOADS + '[open]\nyield = "20 gpm"\n')
    changes = {change.figure: change for change in plan.changes}
    assert set(changes) == {"load", "COP"}
    assert changes["load"].higher == pytest.approx(0.1, abs=1e-6)


def test_a_screened_length_has_no_such_table(plan_of):
    plan = plan_of("vertical", "\n")
    assert plan.drawn.required.basis == "screening"
    assert plan.changes == ()


def test_wider_bores_need_less_and_the_lot_holds_less(plan_of, tmp_path):
    plan = plan_of("vertical")
    rows = study_spacing(lot_of(plan.site), "vertical", factors=(0.75, 1.0, 1.5))
    spacing = plan.site.exchanger.vertical.spacing_m
    assert [row.spacing_m / spacing for row in rows] == pytest.approx([0.75, 1.0, 1.5])
    required = [row.required_m for row in rows]
    assert required == sorted(required, reverse=True)
    held = [row.held_m for row in rows]
    assert held == sorted(held, reverse=True)
    picture = tmp_path / "curve.png"
    write_curve(rows, picture, title="t", of="bore", unit=US, asked_m=spacing)
    again = tmp_path / "again.png"
    write_curve(rows, again, title="t", of="bore", unit=US, asked_m=spacing)
    assert picture.read_bytes() == again.read_bytes()
