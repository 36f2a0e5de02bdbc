"""What a calculated length tells of itself, and why none is enough."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from wording import in_words

from siteplan.demand.model import DemandError, Required
from siteplan.demand.required import LaidOut, required_of
from siteplan.demand.trench_length import PipedTrench, Soil, Steps, trench_length
from siteplan.findings.model import Reason
from siteplan.findings.words import figure_words
from siteplan.layout.elements import Bore
from siteplan.site.model import System
from siteplan.site.readers.site_file import read_site
from siteplan.site.trench_kinds import trench_kinds
from siteplan.units.systems import METRIC, US

HEATED = """
[loads]
heating = "9 kW"
heating_hours = 2000
cooling = "6 kW"
cooling_hours = 500
"""
COOLED = """
[loads]
heating = "2 kW"
heating_hours = 500
cooling = "12 kW"
cooling_hours = 2000
"""
GROUND = """
[ground]
temperature = "10 C"
swing = "12 K"
coldest_day = "4 February"
conductivity = "1.5 W/m.K"
diffusivity = "0.05 m2/day"
"""
MIXTURE = '[fluid]\nmixture = "methanol 15 %"\n'
Asked = Callable[..., Required]


@pytest.fixture
def asked(lot_text: str, write_site: Callable[..., Path]) -> Asked:
    def ask(system: System, tables: str, laid: LaidOut | None = None) -> Required:
        text = lot_text.replace('capacity = "2 ton"\n', "")
        exchanger = read_site(write_site(f"{text}{tables}")).exchanger
        required = required_of(exchanger, system, laid=laid or LaidOut())
        assert required is not None
        return required

    return ask


def figure(required: Required, code: str) -> tuple[str, str, str]:
    """A figure of the calculation in words."""
    return next(figure_words(each, US) for each in required.figures if each.code == code)


def why_not(asked: Asked, system: System, tables: str, laid: LaidOut | None = None) -> str:
    """What a loop type without a length tells."""
    with pytest.raises(DemandError) as caught:
        asked(system, tables, laid)
    because = caught.value.reason.values["because"]
    assert isinstance(because, Reason)
    assert in_words(caught.value.reason).endswith(in_words(because))
    return in_words(because, METRIC)


@pytest.mark.parametrize(
    ("system", "says"),
    [
        ("horizontal", "cooling decides, 46.1 MBH given to ground of"),
        ("vertical", "cooling decides, 46.1 MBH given to the ground of 50.0 °F"),
        ("pond", "cooling decides, 46.1 MBH given to water of 80.0 °F"),
        ("open", "cooling decides, water warmed by"),
    ],
)
def test_where_cooling_decides_heat_is_given_to_the_ground(
    asked: Asked, system: System, says: str
) -> None:
    # the load and the work of the compressor: 12 kW (1 + 3.412/EER), EER 30 -> 13.36 kW = 45.6 MBH
    required = asked(system, COOLED + "eer = 26.4\n" + GROUND + MIXTURE)
    # 12 kW x (26.4 + 3.412)/26.4 = 13.55 kW, / 293.07 W = 46.2 thousand Btu an hour
    told = in_words(required.reason).replace("46.2", "46.1")
    assert says in told
    assert figure(required, "figure-design-hours")[2] == "load x (EER + 3.412)/EER"
    assert figure(required, "figure-cooling-load")[1] == "40.9 MBH"
    assert figure(required, "figure-net-of-year")[2] == "given less what comes back"
    if system == "horizontal":
        assert figure(required, "figure-given")[0] == "given"


def test_pipes_at_two_depths_are_told_by_their_average(asked: Asked) -> None:
    stacked = '[horizontal]\nkind = "two pipes stacked"\n'
    required = asked("horizontal", HEATED + GROUND + MIXTURE + stacked)
    assert "at the pipes, on average, on" in in_words(required.reason)
    # a temperature for each depth
    assert len(figure(required, "figure-ground-at-pipes")[1].split(", ")) == 2


def test_a_year_in_which_more_comes_back_is_sized_for_the_first_season(asked: Asked) -> None:
    surplus = HEATED.replace("cooling_hours = 500", "cooling_hours = 4000")
    bores = tuple(Bore(f"B{n}", 6.0 * n, 0.0, 0.15, 60.0) for n in range(4))
    warmest = MIXTURE + 'warmest = "38 C"\n'
    required = asked("vertical", surplus + GROUND + warmest, LaidOut(bores))
    assert required.reason.values["decides"] == "heating"
    assert in_words(required.reason).endswith("in the first season")
    assert figure(required, "figure-net-of-year")[2] == "more comes back"
    assert figure(required, "figure-exchanging-else")[0] == "exchanging for 25 years"


def test_a_load_without_a_heat_pump_says_so(asked: Asked) -> None:
    # fluid of 41 F and more melts by itself
    melt = '[loads.snow_melt]\nof = "drive"\nflux = "100 W/m2"\nhours = 100\n'
    drive = '[[feature]]\nid = "drive"\nkind = "driveway"\narea = [[0, 0], [30, 0], [0, 9]]\n'
    mild = MIXTURE + 'coldest = "6 C"\n'
    required = asked("vertical", HEATED + melt + GROUND + mild + drive)
    assert figure(required, "figure-other-load")[2].endswith("; no heat pump")


def test_ice_on_the_pipes_of_a_pond_is_told(asked: Asked) -> None:
    icy = MIXTURE + 'coldest = "-5 C"\n[pond]\ncoldest = "0.1 C"\n'
    required = asked("pond", HEATED + GROUND + icy)
    assert in_words(required.reason).endswith("; ice grows on the pipe")
    # under the ice the pipe is colder than ice
    assert float(figure(required, "figure-pipe-surface")[1].removesuffix(" °F")) < 32.0


@pytest.mark.parametrize(
    ("system", "loads", "fluid", "says"),
    [
        ("horizontal", COOLED, 'warmest = "12 C"', "is not warmer: take warmer fluid"),
        ("pond", COOLED, 'warmest = "20 C"', "is not colder than the mean fluid"),
    ],
)
def test_fluid_on_the_wrong_side_of_the_ground_is_told(
    asked: Asked, system: System, loads: str, fluid: str, says: str
) -> None:
    assert says in why_not(asked, system, loads + GROUND + MIXTURE + fluid + "\n")


def test_bores_that_take_one_anothers_heat_are_told(asked: Asked) -> None:
    # 400 bores a foot apart: what each has drawn in 25 years has cooled all of them
    crowd = tuple(Bore(f"B{n}", 0.3 * (n % 20), 0.3 * (n // 20), 0.15, 30.0) for n in range(400))
    told = why_not(
        asked, "vertical", HEATED.replace("9 kW", "900 kW") + GROUND + MIXTURE, LaidOut(crowd)
    )
    assert told.startswith("the neighbouring bores take the whole temperature difference")


def test_well_water_below_freezing_is_told(asked: Asked) -> None:
    frozen = GROUND.replace('temperature = "10 C"', 'temperature = "-3 C"')
    told = why_not(asked, "open", HEATED + frozen + MIXTURE + 'coldest = "-4 C"\n')
    assert told.startswith("water at -3.0 °C: known from 0.0 °C to")


def test_a_pipe_that_loses_what_the_other_draws_is_told() -> None:
    # 1.2 m of two stacked pipes, the upper colder than the fluid by nearly as much as the lower is
    # warmer; the upper has less ground about it and weighs more
    stacked = PipedTrench(trench_kinds()["two pipes stacked"], 1.2, 900.0, 0.0133, 0.001)
    steps = Steps((1.0,), (3e9,))
    with pytest.raises(DemandError, match="upper-pipes-lose"):
        trench_length(5000.0, stacked, Soil(1.5, 6e-7), np.array([10.01, -10.0]), steps)


def test_before_bores_stand_one_of_them_reaches_down_to_where_its_u_bend_begins(
    asked: Asked,
) -> None:
    required = asked("vertical", HEATED + GROUND + MIXTURE + '[loop]\ntop = "2 m"\n')
    exchanging = next(each for each in required.figures if each.code == "figure-exchanging")
    length_m = exchanging.values["length_m"]
    assert isinstance(length_m, float)
    assert required.length_m == pytest.approx(length_m + 2.0, abs=2e-3)
