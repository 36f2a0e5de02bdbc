"""A checker that shares no code with the package finds nothing in one, and what was changed."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from package_checker import violations
from places import SAMPLES
from planned import drawn_quickly, planned

SITE = SAMPLES / "small-suburban" / "site.toml"


@pytest.fixture(scope="module")
def package(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("written") / "package"
    with pytest.MonkeyPatch.context() as patch:
        drawn_quickly(patch)
        planned("small-suburban").write(folder)
    return folder


@pytest.fixture
def copied(package: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(package, tmp_path / "copy"))


def test_a_package_as_written_has_no_violation(package: Path) -> None:
    assert violations(package, SITE) == []


def changed(folder: Path, change: Callable[[dict[str, Any]], None]) -> list[str]:
    """What is told of a package whose summary was changed."""
    path = folder / "summary.json"
    summary = json.loads(path.read_text(encoding="utf-8"))
    change(summary)
    path.write_text(json.dumps(summary), encoding="utf-8")
    return violations(folder, SITE)


def move_first(x_m: float, y_m: float) -> Callable[[dict[str, Any]], None]:
    def move(summary: dict[str, Any]) -> None:
        summary["elements"][0]["x_m"], summary["elements"][0]["y_m"] = x_m, y_m

    return move


@pytest.mark.parametrize(
    ("change", "told"),
    [
        # 2 m north of the house's north wall at 72 ft, where common practice asks 10 ft
        (move_first(14.0, 23.95), "building-1|house.*building asks 3.048"),
        (move_first(14.0, 80.0), "leaves the parcel"),
        (move_first(14.0, 30.0), "is drawn"),
        (lambda s: s["header"]["runs_m"].pop(), "the header has"),
        (lambda s: s["header"]["runs_m"].append([[5.5, 11.0], [18.8, 21.0]]), "crosses house"),
        (lambda s: s["header"]["runs_m"].append([[9.5, 9.0], [9.5, 5.0]]), "lies in 2 pieces"),
        (lambda s: s["header"]["runs_m"].append([[3.0, 8.0], [15.0, 8.0]]), "sewer.*no crossing"),
        # the sewer stops at the wall, 3 cm short of this: the trench meets it
        (lambda s: s["header"]["runs_m"].append([[8, 10.39], [9, 10.39]]), "sewer.*no crossing"),
        (
            lambda s: s["header"]["crossings"].append({"feature": "sewer", "x_m": 8.5, "y_m": 9.0}),
            "crossing of sewer lies elsewhere",
        ),
        (lambda s: s["circuits"].pop(), "is in no circuit"),
        (lambda s: s["circuits"][0].update(length_m=99.0), "99.0 m told"),
        (lambda s: s.update(length_provided_m=s["length_provided_m"] + 1), "elements have"),
        (lambda s: s["take_off"][0].update(quantity=1), "takeoff.csv says"),
        (lambda s: s["elements"][0].update(depth_m=12.0), "has a depth"),
        (lambda s: s["separations"][0].update(provided_m=99.0), "says 99.0 m, measured"),
    ],
)
def test_what_a_summary_says_wrongly_is_told(
    copied: Path, change: Callable[[dict[str, Any]], None], told: str
) -> None:
    assert re.search(told, "\n".join(changed(copied, change)))


def test_a_base_line_and_a_tie_point_off_are_told(copied: Path) -> None:
    path = copied / "stakes.csv"
    head, first, *rest = path.read_text(encoding="utf-8").splitlines()
    cells = first.split(",")
    assert cells[1].endswith("corner")
    cells[2] = f"{float(cells[2]) + 1:.3f}"
    path.write_text("\n".join([head, ",".join(cells), *rest]) + "\n", encoding="utf-8")
    assert any("tie point" in one for one in violations(copied, SITE))


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
