"""Trench, pond pipe and well water calculated from a site file."""

from __future__ import annotations

from dataclasses import replace

import pytest
from planned import tried
from wording import in_words

from siteplan.demand.calculated_trench import calculate_trench, climate_of
from siteplan.demand.calculated_water import required_flow, required_pond
from siteplan.demand.ground_loads import pulses_of
from siteplan.demand.model import DemandError
from siteplan.demand.required import laid_out, required_of
from siteplan.findings.words import figure_words
from siteplan.hydraulics.pipes import pipes
from siteplan.plan import plan_site
from siteplan.site.model import Site
from siteplan.site.trench_kinds import trench_kinds
from siteplan.units.systems import METRIC

LOADS = """
[loads]
heating = "9 kW"
heating_hours = 2000
cooling = "6 kW"
cooling_hours = 500
cop = 4.0
eer = 17.06

[ground]
temperature = "10 C"
swing = "12 K"
coldest_day = "4 February"
conductivity = "1.5 W/m.K"
diffusivity = "0.05 m2/day"

[fluid]
mixture = "methanol 15 %"
coldest = "-1 C"
"""
PIPE = pipes()["3/4 in"]


def trench_of(site: Site, **options: object):
    wanted = site.exchanger
    climate = climate_of(wanted.energy, wanted.ground_year)
    horizontal = replace(wanted.horizontal, **options)
    return calculate_trench(wanted.energy, climate, horizontal, PIPE)


def test_the_pipe_sees_the_ground_of_the_day_of_the_design_hours(heated_site):
    found = trench_of(heated_site(LOADS), depth_m=1.5762)
    # pipe 3 in above the bottom: at 1.5 m; Kusuda's equation, Tm 10, As 12, a 0.05 m2/day. The
    # coldest day there, 36 days after the surface's, has 3.5598 C (own reference calculation); the
    # design hours end the month around the surface's, half a month on: by hand damping depth
    # 2.4102 m, 12 exp(-0.6224) cos(2 pi x 15.21/365 - 0.6224) = 6.0261 K below the mean
    assert found.day == pytest.approx(35 + 365 / 24)
    assert found.ground_c == pytest.approx((10 - 6.0261, 10 - 6.0261), abs=1e-3)
    # 9 kW at a COP of 4 draw 6.75 kW; 3 gpm a ton of 9 kW are 0.4843 L/s of methanol 15 %, a fifth
    # of the way from 0 to -5 C in the table: 981.7 kg/m3, 4,211 J/(kg K)
    assert found.side.balance.change_k == pytest.approx(6750 / (0.4843e-3 * 981.7 * 4211), rel=1e-3)
    assert found.side.mean_c == pytest.approx(-1 - found.side.balance.change_k / 2)
    assert found.decides == "heating"


def test_in_deep_ground_the_month_after_the_hardest_decides(heated_site):
    # Kusuda's equation as above: at 2.9 m, 1.2 damping depths, the ground is coldest 70 days after
    # the surface, when the hardest month is over; near the surface that month decides
    found = trench_of(heated_site(LOADS), depth_m=3.0)
    assert found.day == pytest.approx(35 + 365 / 24 + 365 / 12)


def test_deeper_trenches_and_more_pipe_need_less_length(heated_site):
    site = heated_site(LOADS)
    lengths = [trench_of(site, depth_m=depth).length_m for depth in (1.3, 1.6, 2.0)]
    assert lengths == sorted(lengths, reverse=True)
    kinds = trench_kinds()
    lengths = [
        trench_of(site, kind=name, pipes=kinds[name].pipes, depth_m=1.83).length_m
        for name in ("one pipe", "two pipes side by side", "four pipes", "six pipes")
    ]
    assert lengths == sorted(lengths, reverse=True)


def test_the_length_stands_in_the_band_of_practice(heated_site):
    # common practice, no source: 300 to 600 ft of two-pipe trench a ton in a cold climate
    site = heated_site(LOADS)
    found = trench_of(site)
    tons = site.exchanger.energy.loads.heating_w / 3517
    assert 300 < found.length_m / 0.3048 / tons < 600


def test_a_plan_lays_out_the_trench_that_its_circuits_need(heated_site):
    site = heated_site(LOADS.replace("9 kW", "3 kW").replace("6 kW", "2 kW"))
    trial = tried(site, "horizontal")
    required = trial.required
    assert required.basis == "calculated"
    again = required_of(site.exchanger, "horizontal", laid=laid_out(trial.layout))
    assert required.length_m == pytest.approx(again.length_m)
    assert trial.layout.obstacle is None
    assert trial.layout.length_m >= required.length_m
    assert "reynolds-number" in [
        figure.values["state"].code
        for figure in required.figures
        if figure.code == "figure-film-and-wall"
    ]


def test_without_the_swing_of_the_year_no_trench_is_calculated(heated_site):
    site = heated_site(LOADS.replace('swing = "12 K"\ncoldest_day = "4 February"\n', ""))
    trial = tried(site, "horizontal")
    assert trial.required is None
    assert "swing and coldest_day" in in_words(trial.why)


SILENT = LOADS.replace('swing = "12 K"\ncoldest_day = "4 February"\n', "").replace(
    'conductivity = "1.5 W/m.K"\ndiffusivity = "0.05 m2/day"\n', 'soil = "heavy clay, 15 % water"\n'
)


def test_on_a_named_soil_a_swing_is_taken_and_shown_as_assumed(heated_site):
    plan = plan_site(heated_site(SILENT), system="horizontal")
    assert plan.drawn.required.basis == "calculated"
    swing = next(one for one in plan.assumed if one.path == "ground.swing")
    # the safe side: the air's mean by the month swings 22 F on the north Atlantic coast (climate
    # normals, from memory), and the surface of the ground as far or less
    assert swing.value >= 22 * 5 / 9
    assert (
        swing.lower < 0 < swing.higher
    )  # the ground at the pipe is colder where it swings farther
    stated = SILENT.replace("[ground]\n", '[ground]\nswing = "25 F"\ncoldest_day = "5 February"\n')
    told = plan_site(heated_site(stated), system="horizontal")
    assert told.drawn.required.length_m == plan.drawn.required.length_m
    assert "ground.swing" not in [one.path for one in told.assumed]


def test_neither_rock_nor_a_test_of_a_bore_tells_of_trench(heated_site):
    for ground in ('soil = "granite"', 'conductivity = "1.5 W/m.K"\ndiffusivity = "0.05 m2/day"'):
        site = heated_site(SILENT.replace('soil = "heavy clay, 15 % water"', ground))
        assert required_of(site.exchanger, "horizontal") is None
        assert "ground.swing" not in site.exchanger.assumed


def test_ground_colder_than_the_fluid_is_told_and_other_types_are_tried(heated_site):
    site = heated_site(LOADS.replace('coldest = "-1 C"', 'coldest = "9 C"'))
    with pytest.raises(DemandError, match="ground-not-warmer"):
        required_of(site.exchanger, "horizontal")
    trials = {trial.system: trial for trial in plan_site(site).trials}
    told = in_words(trials["horizontal"].why, METRIC)
    assert "no length is enough" in told
    assert "the mean fluid of 7.3 °C is not colder" in told
    assert trials["vertical"].required.basis == "calculated"


def test_pond_pipe_is_heat_over_difference_times_resistance(heated_site):
    site = heated_site(LOADS)
    found = required_pond(site.exchanger.energy, site.exchanger.pond, PIPE)
    heat = pulses_of(site.exchanger.energy, "heating").peak_w
    # 6.75 kW between water of 39 F and mean fluid of -2.67 C, 0.15 to 0.20 m K/W in all
    assert heat == pytest.approx(6750)
    least, most = (heat * resistance / (3.89 + 2.67) for resistance in (0.15, 0.22))
    assert least < found.length_m < most


def test_a_pond_colder_than_the_fluid_is_refused(heated_site):
    site = heated_site(LOADS.replace('coldest = "-1 C"', 'coldest = "8 C"'))
    with pytest.raises(DemandError, match="water-not-warmer"):
        required_of(site.exchanger, "pond")


def test_well_water_carries_the_load_at_the_change_allowed(heated_site):
    site = heated_site(LOADS)
    found = required_flow(site.exchanger.energy)
    # heating 6.75 kW / (4.19 MJ/(m3 K) x 3.33 K) = 0.483 L/s;
    # cooling 6 x 1.2 = 7.2 kW / (4.19 x 5.56) = 0.309 L/s
    assert found.flow_m3s * 1000 == pytest.approx(0.483, abs=0.002)
    assert found.reason.values["decides"] == "heating"


def test_the_season_that_needs_more_water_sizes_the_wells(heated_site):
    # cooling of 24 kW at 13.648 Btu/Wh gives off 24 x (1 + 3.412 / 13.648) = 30 kW, which at a
    # change of 5.56 K take 30 / (4.19 x 5.56) = 1.29 L/s, more than any heating of 2 kW
    site = heated_site(
        '[loads]\nheating = "2 kW"\nheating_hours = 1000\ncooling = "24 kW"\ncooling_hours = 900\n'
        'eer = 13.648\n[ground]\ntemperature = "10 C"\nsoil = "granite"\n'
    )
    found = required_flow(site.exchanger.energy)
    assert found.reason.values["decides"] == "cooling"
    assert found.flow_m3s * 1000 == pytest.approx(1.29, abs=0.01)


def test_a_ton_takes_the_gallons_of_practice(heated_site):
    # common practice, no source: 1.5 to 3 gpm a ton. 6 F in heating at COP 3.5: 12,000 x 2.5/3.5
    # Btu/h / (500 x 6 F) = 2.86 gpm
    site = heated_site(
        '[loads]\nheating = "1 ton"\nheating_hours = 1000\ncop = 3.5\n'
        '[ground]\ntemperature = "50 F"\nsoil = "granite"\n'
    )
    flow = required_flow(site.exchanger.energy).flow_m3s
    assert flow * 60 / 0.003785411784 == pytest.approx(2.86, abs=0.03)


def test_well_water_that_would_freeze_is_refused(heated_site):
    site = heated_site(LOADS.replace('temperature = "10 C"', 'temperature = "3 C"'))
    with pytest.raises(DemandError, match="well-water-would-freeze"):
        required_of(site.exchanger, "open")


def test_the_reasoning_names_each_step(heated_site):
    site = heated_site(LOADS)
    for system in ("horizontal", "vertical", "pond", "open"):
        figures = required_of(site.exchanger, system).figures
        told = [figure_words(figure, METRIC) for figure in figures]
        assert told[0][0] == "design heating load"
        assert told[-1 if system != "horizontal" else -2][0].endswith("required")
        assert all(value for _, value, _ in told)


def test_a_length_stands_near_the_steady_form_of_practice(heated_site):
    # L = Q (Rp + F Rs)/dT in the coldest ground of the year, common practice: neither the hours of
    # a cold spell nor the ground that is warmer at midwinter are in it, and the two nearly cancel
    found = trench_of(heated_site(LOADS))
    assert found.length_m == pytest.approx(found.steady_m, rel=0.15)


def test_a_light_season_after_a_hard_one_asks_for_no_endless_length(heated_site):
    # little cooling after much heating: what the winter left helps more than the summer takes
    lengths = []
    for cooling in ("0.3 kW", "1 kW"):
        site = heated_site(LOADS.replace("6 kW", cooling))
        lengths.append(trench_of(site).length_m)
    assert lengths[0] == pytest.approx(lengths[1], rel=0.02)
