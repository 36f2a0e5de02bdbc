"""Flow, pressure drop, purge and choice of header, hand-worked and against published values."""

import pytest
from fluids.friction import Churchill_1977
from pipe_fields import FLUID, FT, GPM, bores, exchanger, trenches
from wording import in_words

from siteplan.hydraulics.fluids import fluid_state
from siteplan.layout.piping.pipes import with_pipes
from siteplan.units.lengths import TON

# nothing tells the heat: the stated change holds, and the mean is 10 C
WATER = type(FLUID)(10 + 5 / 3, 32.0, 10 / 3, 5.0, "water")


def drop(size_m, gpm, length_m, state):
    """Darcy-Weisbach by hand [Pa]."""
    area = 3.141592653589793 * size_m**2 / 4
    speed = gpm * GPM / area
    reynolds = state.density * speed * size_m / state.viscosity
    return (
        Churchill_1977(reynolds, 1.5e-6 / size_m) * length_m / size_m * state.density * speed**2 / 2
    )


def test_one_circuit_loses_what_a_straight_pipe_of_its_length_and_the_header_does():
    # 3/4 in: ID 0.860 in; 2 x 60 m of circuit, and 2 x 6 m home: 132 m at 3 gpm
    layout = with_pipes(trenches([60.0]), exchanger(circuits={"flow_m3s": 3 * GPM}, fluid=WATER))
    flow, state = layout.piping.hydraulics, fluid_state("water", 10.0)
    assert layout.piping.layout == "home run"
    expected = drop(0.860 * 0.0254, 3, 132.0, state)
    assert flow.circuit_drop_pa + flow.header_drop_pa == pytest.approx(expected, rel=1e-6)
    # own reference calculation: Re 8446 and 1.941 ft per 100 ft for water of 10 C
    assert flow.reynolds == pytest.approx(8446, rel=2e-3)
    assert flow.head_m / 132.0 == pytest.approx(0.01941, rel=3e-3)


def test_the_head_of_a_pressure_is_that_of_a_published_worked_example():
    # Cengel, Fluid Mechanics, chapter 8: 1700 lbf/ft2 of water are 27.3 ft; 461 W at 0.2 ft3/s
    from siteplan.hydraulics.friction import head

    state = fluid_state("water", 15.0)
    pascal = 1700 * 47.880259
    assert head(pascal, state) / FT == pytest.approx(27.3, abs=0.1)
    assert 0.2 * FT**3 * pascal == pytest.approx(461, abs=1)


def test_the_power_is_flow_times_pressure():
    # 0.18858 W per gpm and foot of water: 6.309e-5 m3/s x 2989 Pa
    layout = with_pipes(trenches([60.0]), exchanger(circuits={"flow_m3s": 3 * GPM}, fluid=WATER))
    flow = layout.piping.hydraulics
    assert flow.power_w == pytest.approx(0.18858 * 3 * flow.head_m / FT, rel=1e-3)


def test_the_flow_comes_from_the_capacity_where_none_is_stated():
    # 4 ton x 3 gpm a ton
    flow = with_pipes(bores(4), exchanger(capacity_w=4 * TON)).piping.hydraulics
    assert flow.flow_m3s == pytest.approx(12 * GPM)
    assert flow.circuit_flow_m3s == pytest.approx(3 * GPM)
    assert "capacity" in flow.basis


def test_a_flow_stated_comes_before_the_capacity():
    wanted = exchanger(capacity_w=4 * TON, circuits={"flow_m3s": 10 * GPM})
    assert with_pipes(bores(4), wanted).piping.hydraulics.flow_m3s == pytest.approx(10 * GPM)


def test_nothing_is_invented_where_no_flow_is_known():
    piping = with_pipes(bores(8), exchanger()).piping
    assert piping.hydraulics is None
    assert "flow not known" in in_words(piping.unknown)
    assert set(piping.lengths_m) == {""}
    assert piping.fittings.tees == 14
    assert piping.fittings.reducers == 0


def test_few_circuits_near_the_entry_get_home_runs_and_others_a_reverse_return():
    assert with_pipes(bores(4), exchanger()).piping.layout == "home run"
    assert with_pipes(bores(5), exchanger()).piping.layout == "reverse return"
    assert with_pipes(bores(4, lead=40.0), exchanger()).piping.layout == "reverse return"
    direct = exchanger(header={"layout": "direct return"})
    assert with_pipes(bores(4), direct).piping.layout == "direct return"


def test_header_pipe_is_the_smallest_that_loses_no_more_than_four_feet_in_a_hundred():
    # 24 gpm of PG 20 % at 0 C: Churchill by hand for the size taken and the next smaller one
    wanted = exchanger(circuits={"flow_m3s": 24 * GPM}, header={"layout": "direct return"})
    size = with_pipes(bores(8), wanted).piping.pieces[0].pipes[0].size
    inner = {"1-1/4 in": 1.358, "1-1/2 in": 1.554, "2 in": 1.943}
    state = fluid_state("propylene glycol 20 %", 0.0)
    loss = {name: drop(across * 0.0254, 24, 1.0, state) / state.density / 9.80665
            for name, across in inner.items()}  # fmt: skip
    assert loss[size] <= 0.04
    assert loss[list(inner)[list(inner).index(size) - 1]] > 0.04


def test_purging_takes_two_feet_a_second_in_all_circuits_at_once():
    # 1 in: 5.66 gpm each; 8 bores, 45.3 gpm; 2 in header: 18.5 gpm
    wanted = exchanger(circuits={"flow_m3s": 24 * GPM})
    flow = with_pipes(bores(8), wanted).piping.hydraulics
    assert flow.purge_m3s / GPM == pytest.approx(8 * 5.66, rel=1e-3)


def test_purging_one_thin_circuit_takes_what_the_thick_header_needs():
    wanted = exchanger(circuits={"flow_m3s": 30 * GPM}, header={"layout": "direct return"})
    layout = with_pipes(trenches([60.0]), wanted)
    size = layout.piping.pieces[0].pipes[0].size
    assert size in ("2 in", "3 in")
    assert layout.piping.hydraulics.purge_m3s / GPM > 18.0


def test_the_worst_path_of_a_direct_return_is_that_of_the_last_circuit():
    wanted = exchanger(circuits={"flow_m3s": 24 * GPM}, header={"layout": "direct return"})
    flow = with_pipes(bores(8), wanted).piping.hydraulics
    assert flow.easiest_drop_pa < flow.circuit_drop_pa + flow.header_drop_pa
    even = exchanger(circuits={"flow_m3s": 24 * GPM}, header={"layout": "reverse return"})
    flow_even = with_pipes(bores(8), even).piping.hydraulics
    worst = flow_even.circuit_drop_pa + flow_even.header_drop_pa
    assert (worst - flow_even.easiest_drop_pa) / worst < 0.1


def test_friction_is_that_of_the_mean_fluid_at_the_design_hour():
    # 4 tons at a COP of 3.5 draw 10.05 kW; 12 gpm of water at 10 C change by 3.17 K
    fluid = type(FLUID)(10.0, 32.0, mixture="water")
    flow = with_pipes(bores(4), exchanger(capacity_w=4 * TON, fluid=fluid)).piping.hydraulics
    drop = 4 * TON / 1.4 / (12 * GPM * 999.8 * 4194)
    assert flow.lowest_c == pytest.approx(10.0 - drop, abs=2e-3)
    assert flow.temperature_c == pytest.approx(10.0 - drop / 2, abs=2e-3)


def test_a_layout_without_header_has_no_pipes():
    from dataclasses import replace

    layout = replace(bores(2), header=None)
    assert with_pipes(layout, exchanger()) is layout


def test_many_circuits_that_begin_together_take_a_direct_return():
    # 12 pipes are 6 loops of 280 m each: more than a few, all at the start of the one trench
    layout = with_pipes(trenches([140.0], pipes=12), exchanger())
    assert len(layout.circuits) == 6
    assert (layout.piping.layout, layout.piping.why.code) == (
        "direct return",
        "circuits-begin-together",
    )
