"""Shared by all tests: a small lot in feet whose distances anybody can work out by hand."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import settings

# no test fails by the clock: machines differ and drift
settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")

SAMPLES = Path(__file__).parent.parent / "samples"

LOT = """\
[project]
title = "Test lot"
owner = "A. Owner"
date = 2026-03-14
units = "ft"

[geometry]
parcel = [[0, 0], [200, 0], [200, 200], [0, 200]]

[[feature]]
id = "house"
kind = "building"
area = [[60, 40], [100, 40], [100, 70], [60, 70]]

[[feature]]
id = "well"
kind = "potable well"
at = [20, 180]

[[feature]]
id = "field"
kind = "drainfield"
area = [[150, 20], [190, 20], [190, 50], [150, 50]]

[exchanger]
capacity = "2 ton"
entry = [[80, 70]]
"""


@pytest.fixture
def lot_text() -> str:
    """Site file of the small lot."""
    return LOT


@pytest.fixture
def write_site(tmp_path: Path):  # type: ignore[no-untyped-def]
    """Function that writes a site file and gives its path."""

    def write(text: str, name: str = "site.toml") -> Path:
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return write


@pytest.fixture(params=sorted(path.name for path in SAMPLES.iterdir() if path.is_dir()))
def sample(request: pytest.FixtureRequest) -> Path:
    """Folder of each sample in turn."""
    return SAMPLES / str(request.param)
