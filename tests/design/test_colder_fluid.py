"""Where the fluid is assumed to be hardly colder than the ground, it is told what a kelvin does."""

from __future__ import annotations

from typing import Any

import pytest
from heated_lot import heated_lot
from wording import in_words

from siteplan.available.prepared import lot_of
from siteplan.design.evaluate import Trial, try_system
from siteplan.findings.model import Reason
from siteplan.site.readers.site_file import site_from

LOT = heated_lot(
    "sandy loam",
    exchanger={"system": "horizontal", "entry": [[70, 40]]},
    horizontal={"kind": "upright coil"},
    ground={"soil": "sandy loam", "temperature": "45 F"},
    excavator={"access": "anywhere"},
)


def tried(**changed: Any) -> Trial:
    return try_system(lot_of(site_from({**LOT, **changed})), "horizontal")


def told(trial: Trial) -> Reason | None:
    short = [why for why in whys(trial.why) if why.code == "falls-short"]
    return dict(short[0].pairs).get("colder") if short else None


def whys(why: Reason) -> list[Reason]:
    inner = [each for _, each in why.pairs if isinstance(each, Reason)]
    return [why, *(deeper for each in inner for deeper in whys(each))]


def test_what_is_told_is_about_what_a_loop_with_so_cold_a_fluid_needs() -> None:
    # all closed loops take the longer the nearer the fluid is to the ground, as Q = L dT/R has it:
    # common practice, no source
    trial = tried()
    assert trial.required is not None
    colder = told(trial)
    assert colder is not None
    figures = dict(colder.pairs)
    assert figures["assumed_c"] == pytest.approx(0.0)
    again = tried(fluid={"coldest": f"{figures['coldest_c']} C"})
    assert again.required is not None
    assert figures["needed_m"] == pytest.approx(again.required.length_m, rel=0.1)
    assert figures["needed_m"] < 0.67 * trial.required.length_m
    assert told(again) is None


def test_nothing_is_told_where_the_ground_is_warm() -> None:
    trial = tried(
        ground={"soil": "sandy loam", "temperature": "62 F"},
        loads={**LOT["loads"], "heating": "80 MBH"},
    )
    assert "short" in in_words(trial.why)
    assert told(trial) is None
