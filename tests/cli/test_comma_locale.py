"""A decimal comma: where the language of a machine writes one, files are the same byte for byte."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from campaign import thorough
from places import ROOT

PLAN = """\
import locale, sys
locale.setlocale(locale.LC_ALL, sys.argv.pop(1))
print(locale.localeconv()["decimal_point"])
from siteplan.cli import main
sys.exit(main())
"""
"""Sets the locale of the whole process, as a program around the library may, before anything."""


def planned(name: str, folder: Path) -> str | None:
    """Decimal point in a locale, and a sample planned there; None where the machine lacks it."""
    asked = ["plan", str(ROOT / "samples/small-suburban"), "--quiet", "--out", str(folder)]
    environment = {**os.environ, "LC_ALL": name, "LANG": name, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        [sys.executable, "-c", PLAN, name, *asked],
        env=environment, cwd=folder.parent, capture_output=True, text=True, check=False,
    )  # fmt: skip
    if "unsupported locale setting" in done.stderr:
        return None
    assert done.returncode == 0, done.stderr
    return done.stdout.splitlines()[0]


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("plain") / "package"
    assert planned("C", folder) == "."
    return folder


@pytest.mark.parametrize("name", ["de_DE.UTF-8", thorough("fr_FR.UTF-8")])
def test_a_decimal_comma_changes_no_byte(name: str, plain: Path, tmp_path: Path) -> None:
    point = planned(name, tmp_path / "package")
    if point is None:
        pytest.skip(f"the machine has no locale {name}")
    assert point == ","
    written = sorted(path.name for path in plain.iterdir())
    assert sorted(path.name for path in (tmp_path / "package").iterdir()) == written
    for file in written:
        assert (tmp_path / "package" / file).read_bytes() == (plain / file).read_bytes(), file
