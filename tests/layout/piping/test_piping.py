"""Flow, pressure drop, purge and choice of header, hand-worked and against published values."""

from dataclasses import replace

import pytest
from fluids.friction import Churchill_1977
from pipe_fields import FLUID, FT, GPM, bores, exchanger, trenches
from wording import in_words

from siteplan.hydraulics.fluids import fluid_state
from siteplan.layout.piping.pipes import with_pipes
from siteplan.site.piping import HeatPump
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
    assert flow.drop.circuit + flow.drop.header == pytest.approx(expected, rel=1e-6)
    # own reference calculation: Re 8446 and 1.941 ft per 100 ft for water of 10 C
    assert flow.reynolds == pytest.approx(8446, rel=2e-3)
    assert flow.height_m(flow.drop.circuit) / 120.0 == pytest.approx(0.01941, rel=3e-3)
    # one U-bend, 50 x 0.860 in = 43 in of the same pipe, and no heat pump
    assert flow.drop.fittings == pytest.approx(expected * 43 * 0.0254 / 132.0, rel=1e-6)
    assert flow.drop.heat_pump == 0.0
    assert flow.drop.total == pytest.approx(expected * (1 + 43 * 0.0254 / 132.0), rel=1e-6)


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


def test_a_heat_pump_adds_its_head_at_the_flow_of_the_circuits():
    # 10 ft of water of 15 C at 6 gpm; at 3 gpm a quarter: 2.5 x 0.3048 x 999.1 x 9.80665 = 7466
    pump = HeatPump(10 * FT, 6 * GPM)
    wanted = exchanger(circuits={"flow_m3s": 3 * GPM}, fluid=WATER)
    wanted = replace(wanted, piping=replace(wanted.piping, heat_pump=pump))
    flow = with_pipes(trenches([60.0]), wanted).piping.hydraulics
    assert flow.drop.heat_pump == pytest.approx(7466, rel=1e-3)
    pipes_alone = flow.drop.circuit + flow.drop.header + flow.drop.fittings
    assert flow.drop.total == pytest.approx(pipes_alone + flow.drop.heat_pump)
    assert flow.head_m == pytest.approx(flow.drop.total / (999.7 * 9.80665), rel=1e-3)


def test_the_fittings_of_a_row_add_up_by_hand():
    # three bores in a row, direct return: the last one's path, the worst, passes, there and back,
    # a tee straight through at each of the first two (20 diameters, of the pipe behind it) and an
    # elbow into its circuit (30); and one U-bend (50)
    wanted = exchanger(
        circuits={"flow_m3s": 9 * GPM}, header={"layout": "direct return"}, fluid=WATER
    )
    layout = with_pipes(bores(3, spacing=30.0), wanted)
    flow, state = layout.piping.hydraulics, fluid_state("water", 10.0)
    sizes = [piece.pipes[0].size for piece in layout.piping.pieces]
    assert len(sizes) == 3
    inner = {"1 in": 1.075, "1-1/4 in": 1.358, "1-1/2 in": 1.554, "2 in": 1.943}
    across = [inner[size] * 0.0254 for size in sizes]
    expected = sum(
        2 * drop(size, gpm, 20 * size, state) for size, gpm in zip(across[1:], (6, 3), strict=True)
    )
    circuit = inner["1 in"] * 0.0254
    expected += drop(circuit, 3, (2 * 30 + 50) * circuit, state)
    # a reducer of 10 diameters of the smaller pipe wherever the size changes, there and back
    changes = [(b, gpm) for a, b, gpm in zip(across, across[1:], (6, 3), strict=False) if a != b]
    changes += [(circuit, 3)] if across[-1] != circuit else []
    expected += sum(2 * drop(size, gpm, 10 * size, state) for size, gpm in changes)
    assert flow.drop.fittings == pytest.approx(expected, rel=1e-6)


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
    assert flow.easiest_drop_pa < flow.drop.total
    even = exchanger(circuits={"flow_m3s": 24 * GPM}, header={"layout": "reverse return"})
    flow_even = with_pipes(bores(8), even).piping.hydraulics
    worst = flow_even.drop.total
    assert (worst - flow_even.easiest_drop_pa) / worst < 0.1


def test_friction_is_that_of_the_mean_fluid_at_the_design_hour():
    # 4 tons at a COP of 3.5 draw 10.05 kW; 12 gpm of water at 10 C change by 3.17 K
    fluid = type(FLUID)(10.0, 32.0, mixture="water")
    flow = with_pipes(bores(4), exchanger(capacity_w=4 * TON, fluid=fluid)).piping.hydraulics
    drop = 4 * TON / 1.4 / (12 * GPM * 999.8 * 4194)
    assert flow.lowest_c == pytest.approx(10.0 - drop, abs=2e-3)
    assert flow.temperature_c == pytest.approx(10.0 - drop / 2, abs=2e-3)


def test_a_layout_without_header_has_no_pipes():
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
