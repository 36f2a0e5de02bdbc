"""Deep bores: the circuit that a pipe allows, and the pressure at the bottom."""

import pytest
from planned import unweighed
from wording import in_words

from siteplan.site.readers.site_file import read_site

FT = 0.3048
PSI = 6894.757
LOADS = """
[loads]
heating = "40 MBH"
heating_hours = 1800
cop = 3.5

[ground]
temperature = "52 F"
conductivity = "1.2 Btu/h.ft.F"
diffusivity = "0.9 ft2/day"

[fluid]
mixture = "methanol 20 %"
"""


@pytest.fixture
def site_of(lot_text, write_site):
    def read(tables: str):
        text = lot_text.replace('capacity = "2 ton"\n', "")
        return read_site(write_site(f"{text}{LOADS}{tables}"))

    return read


def codes(plan):
    return {finding.code: finding for finding in plan.drawn.findings}


def test_bores_whose_depth_nobody_states_keep_the_circuit_limit(site_of):
    # 1 in pipe: 700 ft of circuit, common practice, no source: 350 ft down and up again
    site = site_of("")
    assert site.exchanger.vertical.depth_most_m == pytest.approx(350 * FT)
    plan = unweighed(site, "vertical")
    assert plan.fits
    assert max(circuit.length_m for circuit in plan.drawn.layout.circuits) <= 700 * FT
    assert not {"circuit-too-long", "bore-circuit-too-long"} & set(codes(plan))


@pytest.mark.parametrize(("depth", "size"), [(340, "1 in"), (400, "1-1/4 in"), (550, "1-1/2 in")])
def test_a_depth_stated_takes_pipe_in_which_the_circuit_may_be_so_long(site_of, depth, size):
    # 700, 1,000 and 1,200 ft of circuit, common practice, no source
    plan = unweighed(site_of(f'[vertical]\ndepth = "{depth} ft"\n'), "vertical")
    assert {circuit.pipe for circuit in plan.drawn.layout.circuits} == {size}
    assert "bore-circuit-too-long" not in codes(plan)


def test_a_longest_circuit_that_is_stated_holds(site_of):
    site = site_of('[circuits]\nlongest = "500 ft"\n')
    assert site.exchanger.vertical.depth_most_m == pytest.approx(250 * FT)


def test_a_circuit_longer_than_any_pipe_allows_is_an_error(site_of):
    # 900 ft down and up again: more than the 1,500 ft of 2 in pipe, the largest of U-bends
    plan = unweighed(site_of('[vertical]\ndepth = "900 ft"\n'), "vertical")
    assert not plan.fits
    assert codes(plan)["bore-circuit-too-long"].severity == "error"
    assert "is too long" in in_words(plan.drawn.why) or "bear" in in_words(plan.drawn.why)


@pytest.mark.parametrize(
    # 0.4335 psi a foot of water and 40 psi of filling, against PC = 2 x 1,000/(11 - 1) = 200 psi
    # (PPI) and twice that for a moment: 369 ft and 830 ft
    ("depth", "code"),
    [(360, None), (380, "pipe-pressure"), (820, "pipe-pressure"), (840, "pipe-pressure-too-high")],
)
def test_the_weight_of_the_fluid_is_held_against_the_pipe(site_of, depth, code):
    plan = unweighed(site_of(f'[vertical]\ndepth = "{depth} ft"\n'), "vertical")
    told = {"pipe-pressure", "pipe-pressure-too-high"} & set(codes(plan))
    assert told == ({code} if code else set())
    if code:
        expected = 0.43353 * depth + 40
        assert codes(plan)[code].values["pressure_psi"] == pytest.approx(expected, rel=1e-3)


def test_a_thicker_wall_bears_more(site_of):
    # DR 9: 250 psi (PPI), 484 ft of water and the filling
    deep = '[vertical]\ndepth = "400 ft"\n[loop]\ndimension_ratio = 9\n'
    assert "pipe-pressure" not in codes(unweighed(site_of(deep), "vertical"))
