"""A checker that shares no code with the package finds nothing in one, and what was changed."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from package_checker import violations
from planned import planned


@pytest.fixture(scope="module")
def package(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("written") / "package"
    planned("small-suburban").write(folder)
    return folder


@pytest.fixture
def copied(package: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(package, tmp_path / "copy"))


def test_a_package_as_written_has_no_violation(package: Path) -> None:
    assert violations(package) == []


def test_a_changed_file_is_told_by_its_checksum(copied: Path) -> None:
    with (copied / "plan.dxf").open("a", encoding="utf-8") as file:
        file.write("\n")
    assert violations(copied) == ["checksum of plan.dxf is another"]


def test_an_element_moved_in_one_file_is_told(copied: Path) -> None:
    path = copied / "summary.json"
    summary = json.loads(path.read_text(encoding="utf-8"))
    summary["elements"][0]["x_m"] += 0.1
    path.write_text(json.dumps(summary), encoding="utf-8")
    first = summary["elements"][0]["id"]
    assert any(one.startswith(f"{first} stands 0.1") for one in violations(copied))


def test_a_falsified_separation_is_told(copied: Path) -> None:
    path = copied / "summary.json"
    summary = json.loads(path.read_text(encoding="utf-8"))
    row = next(row for row in summary["separations"] if row["says"] == "at least")
    row["provided_m"] = row["required_m"] - 0.1
    path.write_text(json.dumps(summary), encoding="utf-8")
    assert any(f"{row['element']} to {row['feature']}" in one for one in violations(copied))


def test_a_changed_tape_is_told(copied: Path) -> None:
    path = copied / "stakes.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    number = (
        lines[0]
        .split(",")
        .index(next(name for name in lines[0].split(",") if name.startswith("tape_1")))
    )
    at, cells = next(
        (k, line.split(",")) for k, line in enumerate(lines[1:], 1) if line.split(",")[number]
    )
    cells[number] = f"{float(cells[number]) + 1:.2f}"
    lines[at] = ",".join(cells)
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    assert any(one.startswith("tape from") for one in violations(copied))


def test_an_element_put_beside_another_is_told(copied: Path) -> None:
    path = copied / "summary.json"
    summary = json.loads(path.read_text(encoding="utf-8"))
    one, other = summary["elements"][:2]
    assert one["kind"] == "bore"
    one["x_m"], one["y_m"] = other["x_m"] + summary["spacing_m"] - 0.01, other["y_m"]
    path.write_text(json.dumps(summary), encoding="utf-8")
    assert any(f"{one['id']} and {other['id']} are" in each for each in violations(copied))
