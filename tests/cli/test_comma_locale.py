"""A decimal comma: where the language of a machine writes one, files are the same byte for byte."""

from __future__ import annotations

import locale
import os
import subprocess
import sys
from pathlib import Path

import pytest
from places import ROOT
from planned import planned

PLAN = """\
import locale, sys
locale.setlocale(locale.LC_ALL, sys.argv.pop(1))
print(locale.localeconv()["decimal_point"])
from siteplan.cli import main
sys.exit(main())
"""
"""Sets the locale of the whole process, as a program around the library may, before anything."""


def planned_in(name: str, folder: Path) -> str | None:
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


@pytest.mark.thorough
@pytest.mark.parametrize("name", ["de_DE.UTF-8", "fr_FR.UTF-8"])
def test_a_decimal_comma_changes_no_byte(name: str, tmp_path: Path) -> None:
    point = planned_in(name, tmp_path / "package")
    if point is None:
        pytest.skip(f"the machine has no locale {name}")
    assert point == ","
    # this process has a decimal point
    assert locale.localeconv()["decimal_point"] == "."
    planned("small-suburban").write(tmp_path / "plain")
    written = sorted(path.name for path in (tmp_path / "plain").iterdir())
    assert sorted(path.name for path in (tmp_path / "package").iterdir()) == written
    for file in written:
        there, plain = (tmp_path / folder / file for folder in ("package", "plain"))
        assert there.read_bytes() == plain.read_bytes(), file
