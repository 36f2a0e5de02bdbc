"""Bore length calculated from a site file, for the bores where they stand."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from planned import tried, unweighed
from wording import in_words

from siteplan.demand.calculated import calculate_bores, distances_of, required_bores
from siteplan.demand.fluid_side import Flows, u_bend_pipe
from siteplan.demand.ground_loads import SEASON_YEARS, pulses_of
from siteplan.demand.required import required_of
from siteplan.errors import InputError
from siteplan.heat_balance import ground_share, loop_flow
from siteplan.layout.elements import Bore
from siteplan.plan import plan_site

FT = 0.3048
LOADS = """
[loads]
heating = "12 kW"
heating_hours = 2000
cooling = "8 kW"
cooling_hours = 500
cop = 4.0
eer = 17.06

[ground]
temperature = "10 C"
conductivity = "2.0 W/m.K"
diffusivity = "1e-6 m2/s"
"""


def bores(spacing: float, count: int = 4) -> list[Bore]:
    return [Bore(f"B{k}", k * spacing, 0.0, 0.15, 80.0) for k in range(count)]


def test_at_a_cop_of_five_four_fifths_of_the_heat_come_from_the_ground(heated_site):
    # common practice, no source
    energy = heated_site(LOADS.replace("cop = 4.0", "cop = 5")).exchanger.energy
    assert ground_share(energy, "heating") == pytest.approx(0.8)
    # and the energy bought falls by 80 % against direct electric heat
    assert 1 - 1 / energy.loads.cop == pytest.approx(0.8)


def test_pulses_follow_from_loads_and_full_load_hours(heated_site):
    pulses = pulses_of(heated_site(LOADS).exchanger.energy, "heating")
    # 12 kW x 3/4 = 9 kW; 9 kW x 2,000 h = 18,000 kWh, 22 % in 730 h: 5.425 kW
    assert pulses.peak_w == pytest.approx(9000)
    assert pulses.month_w == pytest.approx(18e6 * 0.22 / 730)
    # cooling 8 kW x (17.06 + 3.412)/17.06 = 9.6 kW, x 500 h = 4,800 kWh given back
    assert pulses.year_w == pytest.approx((18e6 - 4.8e6) / 8760)


def test_the_pipe_of_a_u_bend_is_named_by_its_outer_diameter():
    # 1 in pipe is 1.315 in across (ASTM D3035, iron pipe sizes), with DR 11 its wall is an eleventh
    def pipe(outer_m):
        loop = SimpleNamespace(pipe_diameter_m=outer_m, dimension_ratio=11.0)
        return u_bend_pipe(SimpleNamespace(loop=loop))

    assert pipe(1.315 * 0.0254).size == "1 in"
    assert pipe(0.0334).size == "1 in"
    assert pipe(1.315 * 0.0254).inner_m == pytest.approx(1.315 * 0.0254 * 9 / 11)
    for outer in (0.0300, 0.0450, 0.2):
        assert (pipe(outer).size, pipe(outer).outer_m) == ("", outer)


def test_cooling_decides_where_it_asks_for_more(heated_site):
    tables = LOADS.replace('cooling = "8 kW"', 'cooling = "20 kW"').replace("= 500", "= 1800")
    energy = heated_site(tables).exchanger.energy
    assert calculate_bores(energy, 0.15).decides == "cooling"
    assert calculate_bores(heated_site(LOADS).exchanger.energy, 0.15).decides == "heating"


def test_each_bore_is_drilled_through_its_top_as_well_and_takes_no_water(heated_site):
    # a driller is paid from the ground on, and the pipes give heat below the header trench alone:
    # common practice, no source. Before any bore stands there is one at least
    energy = heated_site(LOADS).exchanger.energy
    assert energy.loop.top_m > 0.5
    for stand, tops in (((), 1), (bores(6.0, 1), 1), (bores(6.0, 3), 3)):
        required = required_bores(energy, 0.15, stand)
        active = calculate_bores(energy, 0.15, stand).sizing.length_m
        drilled = active + tops * energy.loop.top_m
        assert required.length_m == pytest.approx(drilled, abs=1e-3)
        assert required.flow_m3s == 0.0


def test_bores_that_stand_closer_need_more_length(heated_site):
    energy = heated_site(LOADS).exchanger.energy
    lengths = [
        calculate_bores(energy, 0.15, bores(s)).sizing.length_m for s in (30.0, 10.0, 6.0, 4.0)
    ]
    assert lengths == sorted(lengths)
    assert lengths[0] > calculate_bores(energy, 0.15).sizing.length_m


def test_leaning_bores_count_by_their_mean_distance():
    upright = [Bore("B1", 0.0, 0.0, 0.15, 60.0), Bore("B2", 2.0, 0.0, 0.15, 60.0)]
    leaning = [replace(upright[0]), replace(upright[1], tilt_deg=20.0, azimuth_deg=90.0)]
    assert distances_of(upright) == pytest.approx([2.0])
    # at 60 m along: 2 + 60 sin 20 = 22.5 m aside and 3.6 m higher; about half of it on average
    assert distances_of(leaning)[0] == pytest.approx(12.4, abs=0.4)


def test_a_shorter_neighbour_is_a_neighbour_as_far_down_as_it_goes():
    short = Bore("B1", 0.0, 0.0, 0.15, 30.0)
    long = Bore("B2", 3.0, 1.0, 0.15, 90.0, tilt_deg=20.0, azimuth_deg=60.0)
    # the azimuth is clockwise from north; a thousand places along both, down to 30 m
    along = (np.arange(1000) + 0.5) / 1000 * 30.0
    aside = along * math.sin(math.radians(20.0))
    x = 3.0 + aside * math.sin(math.radians(60.0))
    y = 1.0 + aside * math.cos(math.radians(60.0))
    higher = along * (1 - math.cos(math.radians(20.0)))
    mean = float(np.sqrt(x**2 + y**2 + higher**2).mean())
    assert distances_of([short, long]) == pytest.approx([mean], rel=1e-4)
    assert distances_of([long, short]) == pytest.approx([mean], rel=1e-4)


@pytest.mark.parametrize(("cooling_kw", "way"), [(8, "heating"), (40, "cooling")])
def test_the_fluid_is_colder_than_the_ground_for_heating_and_warmer_for_cooling(
    heated_site, cooling_kw, way
):
    tables = LOADS.replace('cooling = "8 kW"', f'cooling = "{cooling_kw} kW"')
    found = calculate_bores(heated_site(tables).exchanger.energy, 0.15)
    assert found.decides == way
    colder = 10.0 - found.side.mean_c
    assert found.sizing.difference_k == pytest.approx(colder if way == "heating" else -colder)
    assert found.sizing.difference_k > 0


def test_a_plan_lays_out_what_its_bores_need_where_they_stand(heated_site):
    site = heated_site(LOADS + '\n[vertical]\nspacing = "15 ft"\ndepth = "250 ft"\n')
    plan = unweighed(site, "vertical")
    found = plan.drawn.layout.elements
    flow = plan.drawn.layout.piping.hydraulics.circuit_flow_m3s
    flows = Flows(flow, loop_flow(site.exchanger))
    diameter_m = site.exchanger.vertical.diameter_m
    need = calculate_bores(site.exchanger.energy, diameter_m, found, flows=flows)
    assert plan.fits
    assert plan.drawn.required.basis == "calculated"
    # the U-bends begin 4 ft down, where the header lies
    drilled = need.sizing.length_m + len(found) * 4 * FT
    assert plan.drawn.required.length_m == pytest.approx(drilled, abs=2e-3)
    assert plan.drawn.layout.length_m >= drilled
    assert plan.drawn.required.reason.values["neighbours"].code == "neighbours-take"


def test_a_wider_spacing_asks_for_less(heated_site):
    def needed(spacing: str) -> float:
        tables = LOADS + f'\n[vertical]\nspacing = {{ least = "{spacing}", most = "{spacing}" }}\n'
        site = heated_site(f'{tables}depth = "200 ft"\n')
        return tried(site, "vertical").required.length_m

    assert needed("25 ft") < needed("15 ft")


def test_a_length_given_comes_before_a_calculated_one(heated_site):
    tables = LOADS + '\n[vertical]\nlength = { given = "700 ft", by = "T. Est" }\n'
    plan = plan_site(heated_site(tables), system="vertical")
    assert plan.drawn.required.basis == "given"


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('"2.0 W/m.K"', '"-2.0 W/m.K"', r"\[ground\], conductivity: '-2.0 W/m.K' is out of range"),
        ('"2.0 W/m.K"', "2.0", r"2.0 has no unit; write a conductivity such as"),
        ('temperature = "10 C"\n', "", r"temperature: is missing"),
        ("cop = 4.0", "cop = 0.9", r"cop: 0.9 is not a number from 1.01 to 10"),
        ("heating_hours = 2000\n", "", r"heating_hours: is missing"),
        (
            "[ground]",
            '[fluid]\ncoldest = "60 F"\n[ground]',
            r"coldest: of 60.0 °F is not colder",
        ),
        ("[ground]", '[fluid]\ncoldest = "10 F"\n[ground]', r"Give 23 °F to 104 °F"),
        ("eer", "err", r"did you mean .?eer"),
    ],
)
def test_what_cannot_be_is_refused_by_name(heated_site, old, new, message):
    with pytest.raises(InputError, match=message):
        heated_site(LOADS.replace(old, new))


def test_ground_without_loads_calculates_nothing(heated_site):
    tables = LOADS[LOADS.index("[ground]") :]
    exchanger = heated_site('capacity = "2 ton"\n' + tables).exchanger
    assert required_of(exchanger, "vertical").basis == "screening"
    assert "[ground] temperature" in exchanger.idle


def test_a_u_bend_that_does_not_fit_the_bore_is_refused(heated_site):
    site = heated_site(LOADS + '\n[loop]\npipe = "2 in"\n[vertical]\ndiameter = "4 in"\n')
    plan = plan_site(site, system="vertical")
    assert not plan.fits
    assert "pipes of the U-bend do not fit in the bore" in in_words(plan.drawn.why)


def test_bores_no_deeper_than_where_their_u_bend_begins_are_refused(heated_site):
    tables = (
        LOADS + '\n[loop]\ntop = "10 ft"\n[vertical]\ndepth = { least = "9 ft", most = "60 ft" }\n'
    )
    with pytest.raises(InputError, match=r"least of 9\.0 ft is no deeper than where the U-bend"):
        heated_site(tables)


def test_five_hundred_bores_are_sized_as_one_field(heated_site):
    energy = heated_site(LOADS).exchanger.energy
    many = [Bore(f"B{k}", 6.0 * (k % 25), 6.0 * (k // 25), 0.15, 80.0) for k in range(500)]
    scaled = replace(energy, loads=replace(energy.loads, heating_w=2.4e6, cooling_w=1.6e6))
    found = calculate_bores(scaled, 0.15, many)
    assert math.isfinite(found.sizing.length_m)
    assert found.sizing.penalty_k > 1.0


def test_no_credit_is_taken_that_has_not_come_in(heated_site):
    # much more comes back than is drawn: of the last year alone the length would fall with every
    # hour of cooling; the first season, in which nothing has come back, asks for as much as without
    def needed(hours: int) -> float:
        more = LOADS.replace("cooling_hours = 500", f"cooling_hours = {hours}")
        assert more != LOADS or hours == 500
        energy = heated_site(more).exchanger.energy
        calculated = calculate_bores(energy, 0.15)
        assert calculated.decides == "heating"
        return calculated

    large, larger = needed(2500), needed(2700)
    assert large.years == larger.years == SEASON_YEARS
    # half a year from the first start to the hardest month: common practice, no source
    assert SEASON_YEARS == 0.5
    assert large.sizing.length_m == pytest.approx(larger.sizing.length_m)
    assert large.other.length_m > larger.other.length_m
    # with little cooling the ground cools from year to year, and the last one decides
    assert needed(100).years == 25
