"""Inputs gone wrong, a few of each format: refused in a sentence, or read; nothing else.

``tests/benchmarks/mutated_inputs.py`` does the same with thousands.
"""

from __future__ import annotations

import stat
from collections.abc import Iterator
from pathlib import Path

import pytest
from campaign import several
from mutants import FORMATS, make
from tried import Outcome, Trier

EACH = several(5, 300)
FIRST = 1000
"""Seeds that the campaign by hand does not begin with."""


@pytest.fixture(scope="module")
def trier() -> Iterator[Trier]:
    with Trier() as trier:
        yield trier


def outcomes(trier: Trier, kind: str, seed: int, folder: Path) -> Iterator[tuple[str, Outcome]]:
    mutant = make(kind, seed, folder)
    for argv in mutant.commands:
        # twice the five seconds of the campaign: other tests run beside
        yield f"{mutant.name} {argv[0]} ({mutant.what})", trier.try_out(argv, folder, 10.0)


@pytest.mark.parametrize("kind", FORMATS)
def test_no_input_gone_wrong_is_a_fault_of_ours(kind: str, trier: Trier, tmp_path: Path) -> None:
    sorts: set[str] = set()
    for seed in range(FIRST, FIRST + EACH):
        folder = tmp_path / str(seed)
        folder.mkdir()
        for name, outcome in outcomes(trier, kind, seed, folder):
            assert outcome.sort in ("accepted", "refused"), f"{name}: {outcome}"
            sorts.add(outcome.sort)
    assert "refused" in sorts


def test_a_pipe_in_place_of_a_site_file_is_not_waited_for(trier: Trier, tmp_path: Path) -> None:
    import os

    os.mkfifo(tmp_path / "site.toml")
    assert stat.S_ISFIFO((tmp_path / "site.toml").stat().st_mode)
    told = trier.try_out(("read", "site.toml"), tmp_path)
    assert (told.sort, told.said) == (
        "refused",
        "siteplan: 1 fault in the input:\n"
        "  - site.toml: is no file. Give a file, no folder, pipe or device.\n",
    )


@pytest.mark.thorough
def test_the_trier_sees_what_is_wrong(trier: Trier, tmp_path: Path) -> None:
    told = trier.try_out(("hang",), tmp_path, 0.5)
    assert told.sort == "hang"
    assert trier.try_out(("break",), tmp_path).sort == "internal error"
    assert trier.try_out(("die",), tmp_path).sort == "crash"
    assert trier.try_out(("litter",), tmp_path).sort == "written"
