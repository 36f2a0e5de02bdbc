"""Trench needed before anything is laid out: what the fewest circuits that may carry it need."""

from __future__ import annotations

import datetime
from typing import Any

import pytest

from siteplan.demand.required import LaidOut, required_of
from siteplan.heat_balance import loop_flow
from siteplan.hydraulics.pipes import pipes
from siteplan.site.model import Exchanger
from siteplan.site.readers.site_file import site_from

FT = 0.3048
LONGEST_M = {"3/4 in": 500 * FT, "1 in": 700 * FT}
"""Longest circuit of a pipe: common practice, no source."""


def exchanger(fluid: str, **trench: Any) -> Exchanger:
    values: dict[str, Any] = {
        "project": {"title": "t", "owner": "o", "date": datetime.date(2026, 1, 1)},
        "geometry": {"parcel": [[0, 0], [300, 0], [300, 300], [0, 300]]},
        "exchanger": {"entry": [[80, 70]]},
        "fluid": {"mixture": fluid},
        "horizontal": {"kind": "two pipes stacked", **trench},
        "loads": {
            "heating": "36 MBH",
            "heating_hours": 2000,
            "cooling": "18 MBH",
            "cooling_hours": 500,
        },
        "ground": {
            "coldest_day": "3 February",
            "swing": "18 F",
            "temperature": "49 F",
            "soil": "heavy clay, 15 % water",
        },
    }
    return site_from(values).exchanger


def least_by_trial(wanted: Exchanger, size: str) -> float:
    """First length, foot by foot, that so much trench needs in the fewest circuits [m]."""
    flow = loop_flow(wanted)
    assert flow is not None
    for feet in range(1, 9000):
        # two pipes in each trench
        circuits = -(-2 * feet * FT // LONGEST_M[size])
        laid = LaidOut(pipe=size, circuit_flow_m3s=flow.flow_m3s / circuits)
        needed = required_of(wanted, "horizontal", laid=laid)
        assert needed is not None
        if needed.length_m <= feet * FT + 1e-6:
            return feet * FT
    raise AssertionError("no length is enough")


@pytest.mark.parametrize("fluid", ["methanol 15 %", "propylene glycol 30 %"])
def test_it_is_the_first_length_that_the_fewest_circuits_are_content_with(fluid: str) -> None:
    # trenches of 100 ft: a loop out and home is shorter than a circuit of the usual pipe may be
    wanted = exchanger(fluid, longest="100 ft")
    needed = required_of(wanted, "horizontal")
    assert needed is not None
    assert needed.length_m == pytest.approx(least_by_trial(wanted, "3/4 in"), abs=FT)


def test_longer_loops_may_take_a_larger_pipe_and_fewer_circuits() -> None:
    short, long = (
        exchanger("propylene glycol 30 %", longest=length) for length in ("250 ft", "300 ft")
    )
    needed = [required_of(wanted, "horizontal") for wanted in (short, long)]
    assert needed[0] is not None
    assert needed[1] is not None
    assert needed[0].length_m == pytest.approx(least_by_trial(short, "3/4 in"), abs=FT)
    assert needed[1].length_m == pytest.approx(least_by_trial(long, "1 in"), abs=FT)
    assert needed[1].length_m < needed[0].length_m


def test_slow_flow_in_a_cold_mixture_takes_more_trench_than_turbulent_flow() -> None:
    # a thick fluid flows smoothly: its film then resists several times as much (textbook physics)
    wanted = exchanger("propylene glycol 30 %", longest="100 ft")
    needed, fast = (
        required_of(wanted, "horizontal", laid=laid)
        for laid in (LaidOut(), LaidOut(circuit_flow_m3s=0.01))
    )
    assert needed is not None
    assert fast is not None
    assert needed.length_m > 1.02 * fast.length_m
    assert pipes()["3/4 in"].circuit_m == pytest.approx(LONGEST_M["3/4 in"])
