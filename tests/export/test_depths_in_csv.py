"""The depths of the table of elements are vertical, its lengths run along the element."""

import csv
import io
from collections.abc import Callable
from pathlib import Path

import pytest

from siteplan import read_site
from siteplan.export.tables import elements_csv
from siteplan.layout.elements import Bore, Well
from siteplan.layout.model import Layout


def test_an_inclined_bore_is_as_deep_as_its_toe_lies_and_as_long_as_it_is_drilled(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    site = read_site(write_site(lot_text))
    # 60.96 m = 200 ft drilled at 60 deg from the vertical: 200 x cos 60 deg = 100 ft deep
    bores = (Bore("B1", 3.0, 3.0, 0.15, 60.96, 60.0, 90.0), Bore("B2", 9.0, 3.0, 0.15, 60.96))
    text = elements_csv(site, Layout("vertical", bores, None, 3.0, 0.0))
    leaning, upright = csv.DictReader(io.StringIO(text))
    assert (leaning["length_ft"], leaning["depth_ft"]) == ("200.000", "100.000")
    assert (upright["length_ft"], upright["depth_ft"]) == ("200.000", "200.000")
    # its toe lies 200 x sin 60 deg = 173.205 ft to the east of its collar at 3 m = 9.843 ft
    assert float(leaning["easting_ft"]) == pytest.approx(9.843, abs=0.005)
    assert float(leaning["end_easting_ft"]) == pytest.approx(9.843 + 173.205, abs=0.005)
    assert upright["end_easting_ft"] == ""


def test_the_depth_of_a_well_that_was_there_before_is_left_empty(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    site = read_site(write_site(lot_text))
    wells = (
        Well("SUPPLY", 3.0, 3.0, 0.15, 0.0, "supply", "well"),
        Well("RETURN", 40.0, 3.0, 0.15, 30.48, "return"),
    )
    text = elements_csv(site, Layout("open", wells, None, 3.0, 0.0))
    old, new = csv.DictReader(io.StringIO(text))
    assert (old["depth_ft"], new["depth_ft"]) == ("", "100.000")
