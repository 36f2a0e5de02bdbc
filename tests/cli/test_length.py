"""``siteplan length``: the reasoning on screen, as JSON, and as a picture."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from places import SAMPLES

from siteplan.cli import main

LOADS = """
[loads]
heating = "4 kW"
heating_hours = 1800

[ground]
temperature = "10 C"
soil = "granite"

[vertical]
depth = "150 ft"
"""


@pytest.fixture
def lot(lot_text: str, write_site: Callable[..., Path]) -> Path:
    return write_site(lot_text.replace('capacity = "2 ton"\n', "") + LOADS)


def test_the_reasoning_is_printed_line_by_line(lot, capsys):
    assert main(["length", str(lot), "--system", "vertical"]) == 0
    text = capsys.readouterr().out
    for words in (
        "design heating load",
        "bore resistance Rb",
        "granite, low by common practice",
        "a tenth more",
    ):
        assert words in text


def test_the_same_is_told_in_json(lot, capsys):
    assert main(["length", str(lot), "--system", "vertical", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["systems"]["vertical"]["basis"] == "calculated"
    assert told["systems"]["vertical"]["length_m"] > 30
    assert told["systems"]["vertical"]["lines"][-1]["what"] == "bore required"
    assert {one["figure"] for one in told["changes"]} == {
        "conductivity", "load", "COP", "spacing", "grout conductivity",
    }  # fmt: skip


def test_a_length_that_nothing_states_is_exit_code_one(lot, capsys):
    assert main(["length", str(lot), "--system", "horizontal"]) == 1
    assert "swing and coldest_day" in capsys.readouterr().out


def test_a_screening_says_that_it_is_never_for_a_permit(lot_text, write_site, capsys):
    assert main(["length", str(write_site(lot_text)), "--system", "vertical"]) == 0
    assert "never for a permit" in capsys.readouterr().out


def test_no_picture_replaces_another_unasked(lot, tmp_path, capsys):
    picture = tmp_path / "curve.png"
    picture.write_text("mine")
    assert main(["length", str(lot), "--system", "vertical", "--plot", str(picture)]) == 2
    assert "--force" in capsys.readouterr().err
    assert picture.read_text() == "mine"


def test_a_pond_draws_the_year_of_its_water(tmp_path):
    picture = tmp_path / "year.png"
    assert main(["length", str(SAMPLES / "mill-pond"), "--plot", str(picture), "--quiet"]) == 0
    # the PNG specification: eight bytes that every file begins with
    assert picture.read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
    again = tmp_path / "again.png"
    main(["length", str(SAMPLES / "mill-pond"), "--plot", str(again), "--quiet"])
    assert again.read_bytes() == picture.read_bytes()


def test_the_drift_of_a_supply_well_is_drawn(tmp_path, capsys):
    picture = tmp_path / "drift.png"
    assert main(["length", str(SAMPLES / "good-aquifer"), "--plot", str(picture)]) == 0
    assert picture.read_bytes().startswith(b"\x89PNG")
    told = capsys.readouterr().out
    assert "greatest drift of the supply" in told
    assert "A. C. Gringarten and J. P. Sauty 1975" in " ".join(told.split())


def test_water_has_no_spacing_to_study(lot, tmp_path, capsys):
    picture = str(tmp_path / "curve.png")
    assert main(["length", str(lot), "--system", "open", "--plot", picture]) == 2
    assert "no spacing to study" in capsys.readouterr().err
