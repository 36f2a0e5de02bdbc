"""Deep bores: the circuit that a pipe allows, and the pressure at the bottom."""

import pytest
from planned import tried, unweighed
from wording import in_words

from siteplan.sheet.details.bore import bore_block
from siteplan.sheet.model import Text
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


def codes(trial):
    return {finding.code: finding for finding in trial.findings}


def test_bores_whose_depth_nobody_states_keep_the_circuit_limit(site_of):
    # 1 in pipe: 700 ft of circuit, common practice, no source: 350 ft down and up again
    site = site_of("")
    assert site.exchanger.vertical.depth_most_m == pytest.approx(350 * FT)
    trial = tried(site, "vertical")
    assert trial.fits
    assert max(circuit.length_m for circuit in trial.layout.circuits) <= 700 * FT
    assert not {"circuit-too-long", "bore-circuit-too-long"} & set(codes(trial))


@pytest.mark.parametrize(("depth", "size"), [(340, "1 in"), (400, "1-1/4 in"), (550, "1-1/2 in")])
def test_a_depth_stated_takes_pipe_in_which_the_circuit_may_be_so_long(site_of, depth, size):
    # 700, 1,000 and 1,200 ft of circuit, common practice, no source
    trial = tried(site_of(f'[vertical]\ndepth = "{depth} ft"\n'), "vertical")
    assert {circuit.pipe for circuit in trial.layout.circuits} == {size}
    assert "bore-circuit-too-long" not in codes(trial)


def test_a_longest_circuit_that_is_stated_holds(site_of):
    site = site_of('[circuits]\nlongest = "500 ft"\n')
    assert site.exchanger.vertical.depth_most_m == pytest.approx(250 * FT)


def test_a_circuit_longer_than_any_pipe_allows_is_an_error(site_of):
    # 900 ft down and up again: more than the 1,500 ft of 2 in pipe, the largest of U-bends
    trial = tried(site_of('[vertical]\ndepth = "900 ft"\n'), "vertical")
    assert not trial.fits
    assert codes(trial)["bore-circuit-too-long"].severity == "error"
    assert "is too long" in in_words(trial.why) or "bear" in in_words(trial.why)


@pytest.mark.parametrize(
    # 0.4335 psi a foot of water and 40 psi of filling, against PC = 2 x 1,000/(11 - 1) = 200 psi
    # (PPI) and twice that for a moment: 369 ft and 830 ft
    ("depth", "code"),
    [(360, None), (380, "pipe-pressure"), (820, "pipe-pressure"), (840, "pipe-pressure-too-high")],
)
def test_the_weight_of_the_fluid_is_held_against_the_pipe(site_of, depth, code):
    trial = tried(site_of(f'[vertical]\ndepth = "{depth} ft"\n'), "vertical")
    told = {"pipe-pressure", "pipe-pressure-too-high"} & set(codes(trial))
    assert told == ({code} if code else set())
    if code:
        expected = 0.43353 * depth + 40
        assert codes(trial)[code].values["pressure_psi"] == pytest.approx(expected, rel=1e-3)


def test_a_thicker_wall_bears_more(site_of):
    # DR 9: 250 psi (PPI), 484 ft of water and the filling
    deep = '[vertical]\ndepth = "400 ft"\n[loop]\ndimension_ratio = 9\n'
    assert "pipe-pressure" not in codes(tried(site_of(deep), "vertical"))


@pytest.mark.parametrize(
    # before grouting 0.4335 psi a foot of water and the test, against 1.5 times the pressure class
    # (PPI, recurring surge): 300 ft and 160 psi are 290 psi, 170 psi are 300.1 psi; DR 11 bears
    # 1.5 x 200 = 300 psi, DR 13.5 bears 1.5 x 160 = 240 psi, DR 9 bears 1.5 x 250 = 375 psi
    ("ratio", "test", "most"),
    [(11, 160, None), (11, 171, 169.9), (13.5, 100, None), (13.5, 115, 109.9), (9, 171, None)],
)
def test_the_test_of_a_loop_is_held_against_the_pipe(site_of, ratio, test, most):
    tables = (
        f'[vertical]\ndepth = "300 ft"\n[loop]\ndimension_ratio = {ratio}\n'
        f'[circuits]\ntest_pressure = "{test} psi"\n'
    )
    told = codes(tried(site_of(tables), "vertical")).get("test-pressure-too-high")
    assert (told is None) == (most is None)
    if told is not None:
        assert told.severity == "warning"
        assert told.values["most_pa"] / PSI == pytest.approx(most, abs=0.1)
        assert "at the toe of bore" in in_words(told)


@pytest.mark.parametrize(("test", "told"), [(295, False), (305, True)])
def test_a_trench_is_tested_with_no_water_over_it(site_of, test, told):
    # DR 11: 1.5 x 200 = 300 psi (PPI, recurring surge)
    given = '[horizontal]\nlength = { given = "300 ft", by = "J. Doe" }\n'
    site = site_of(f'{given}[circuits]\ntest_pressure = "{test} psi"\n')
    assert ("test-pressure-too-high" in codes(tried(site, "horizontal"))) == told


@pytest.mark.parametrize(
    # 25 x 1.315 in = 32.875 in for DR 11, 20 x 1.315 in = 26.3 in for DR 9 (PPI, open-cut bends);
    # a least radius in eighths of an inch is rounded up
    ("ratio", "radius"),
    [
        (11, '32 7/8" (25 x the diameter of DR 11 pipe'),
        (9, '26 3/8" (20 x the diameter of DR 9 pipe'),
    ],
)
def test_the_section_of_a_bore_says_how_its_legs_turn(site_of, ratio, radius):
    site = site_of(f'[vertical]\ndepth = "250 ft"\n[loop]\ndimension_ratio = {ratio}\n')
    block = bore_block(unweighed(site, "vertical").content(), 150.0, room_mm=150.0)
    texts = " ".join(item.text for item in block.items if isinstance(item, Text))
    assert radius in texts.replace("\u00a0", " ")
