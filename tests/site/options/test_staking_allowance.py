"""How exactly a lot is staked, as the site file says it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from siteplan.errors import InputError
from siteplan.site.loop_options import staked
from siteplan.site.readers.site_file import read_site

WANTED = """\
[project]
title = "Test lot"
owner = "A. Owner"
date = 2026-03-14
units = "ft"
[geometry]
parcel = [[0, 0], [200, 0], [200, 200], [0, 200]]
[exchanger]
capacity = "2 ton"
entry = [[80, 70]]
"""
FT = 0.3048


@pytest.mark.parametrize(
    ("said", "message"),
    [
        ('"9 ft"', r"\[staking\], allowance: '9 ft' is too large. Give 0 to 5 ft"),
        ('"-1 ft"', r"\[staking\], allowance: '-1 ft' is too small. Give 0 to 5 ft"),
    ],
)
def test_an_allowance_out_of_range_is_refused_with_its_range(
    write_site: Callable[..., Path], said: str, message: str
) -> None:
    with pytest.raises(InputError, match=message):
        read_site(write_site(f"{WANTED}[staking]\nallowance = {said}\n"))


def test_half_a_foot_is_kept_where_nothing_is_said(write_site: Callable[..., Path]) -> None:
    # common practice, no source
    wanted = read_site(write_site(WANTED)).exchanger
    assert wanted.allowance_m == pytest.approx(0.5 * FT)
    laid = staked(wanted)
    assert laid.vertical.spacing_m == pytest.approx(wanted.vertical.spacing_m + 0.5 * FT)
    assert laid.horizontal.spacing_m == pytest.approx(wanted.horizontal.spacing_m + 0.5 * FT)
    assert laid.pond.shore_m == pytest.approx(wanted.pond.shore_m + 0.5 * FT)
