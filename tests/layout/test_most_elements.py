"""A field of more bores or coils than are laid out is refused, with the number and the limit."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from siteplan.cli import main
from siteplan.limits import MOST_ELEMENTS

PARCEL = "parcel = [[0, 0], [4000, 0], [4000, 4000], [0, 4000]]"
LOT = f"""\
[project]
title = "Large"
owner = "A. Owner"
date = 2026-03-14
units = "ft"
[geometry]
{PARCEL}
[[entry]]
id = "E"
at = [20, 20]
[rig]
access = "anywhere"
[exchanger]
system = "vertical"
length = {{ given = "LENGTH", by = "a designer" }}
"""


@pytest.mark.parametrize(
    ("length", "more"),
    [
        # 1,001 bores of 60 ft; a count and a grid that say as many
        (f"{MOST_ELEMENTS * 60 + 60} ft", '[vertical]\ndepth = "60 ft"\nspacing = "20 ft"\n'),
        ("60 ft", f"[vertical]\ncount = {MOST_ELEMENTS + 1}\n"),
        ("60 ft", "[vertical]\ngrid = { rows = 40, columns = 26 }\n"),
    ],
)
def test_a_field_beyond_the_limit_is_refused_and_nothing_is_written(
    length: str,
    more: str,
    tmp_path: Path,
    write_site: Callable[..., Path],
    capsys: pytest.CaptureFixture[str],
) -> None:
    path = write_site(LOT.replace("LENGTH", length) + more)
    assert main(["plan", str(path), "--out", str(tmp_path / "package")]) == 2
    told = capsys.readouterr().err
    assert f"at most {MOST_ELEMENTS:,} are laid out" in told
    assert "[vertical]" in told
    assert not (tmp_path / "package").exists()
