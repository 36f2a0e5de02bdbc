"""``siteplan audit`` on the command line: what it prints, and how it ends."""

from __future__ import annotations

import contextlib
import json
import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from audit_lots import changed, drawing_written, move, plan_of

from siteplan.cli import main
from siteplan.errors import ExportError
from siteplan.export.overwrite import SUMS_FILE, permit_package
from siteplan.export.together import NEW

pytestmark = pytest.mark.usefixtures("coarse")

Capture = pytest.CaptureFixture[str]


def run(*arguments: object) -> int:
    """Exit code of one command line."""
    return main(["audit", *(str(one) for one in arguments)])


def test_a_drawing_as_planned_ends_with_0_and_shows_the_table(capsys: Capture) -> None:
    plan = plan_of("bores")[1]
    site, path = drawing_written("bores")
    assert run(path, site.source) == 0
    shown = capsys.readouterr().out
    assert "PASSES" in shown
    assert shown.count("yes") >= len(plan.drawn.separations)


def test_a_drawing_that_breaks_a_rule_ends_with_1_and_names_the_bore(
    tmp_path: Path, capsys: Capture
) -> None:
    site, _, _ = plan_of("bores")
    with changed("bores", tmp_path, written=True) as doc:
        move(doc, "B1", 0.0, -30.0)
    assert run(tmp_path / "plan.dxf", site.source) == 1
    shown = capsys.readouterr().out
    assert "DOES NOT PASS" in shown
    assert "error: B1 (handle " in shown


def test_quiet_prints_nothing_in_whatever_order_site_and_drawing_are_named(
    capsys: Capture,
) -> None:
    site, path = drawing_written("bores")
    assert run(path, site.source, "--quiet") == 0
    assert run(site.source, path, "--quiet") == 0
    assert capsys.readouterr().out == ""


def test_json_has_the_elements_where_they_are_drawn(tmp_path: Path, capsys: Capture) -> None:
    site, plan, _ = plan_of("bores")
    with changed("bores", tmp_path, written=True) as doc:
        move(doc, "B1", 1.0, 0.0)
    assert run(tmp_path / "plan.dxf", site.source, "--json") == 1
    figures = json.loads(capsys.readouterr().out)
    assert figures["passes"] is False
    # one foot to the east, rounded to a tenth of a millimetre
    moved = figures["elements"][0]["x_m"] - plan.drawn.layout.elements[0].x_m
    assert moved == pytest.approx(0.3048, abs=1e-4)


def test_a_file_that_is_no_drawing_ends_with_2(tmp_path: Path, capsys: Capture) -> None:
    (tmp_path / "plan.dxf").write_text("no drawing", encoding="utf-8")
    assert run(tmp_path / "plan.dxf", plan_of("bores")[0].source) == 2
    assert "plan.dxf: is no" in capsys.readouterr().err


def test_a_plan_beside_a_drawing_is_refused(capsys: Capture) -> None:
    site, _, path = plan_of("bores")
    assert run(path, site.source, "--plan", path) == 2
    assert "--plan: is only for a list" in capsys.readouterr().err


def test_a_list_as_built_writes_its_files_and_shows_the_deviations(
    tmp_path: Path, capsys: Capture
) -> None:
    site, plan, path = plan_of("bores")
    rows = [f"{one.id},{one.x_m + 0.1:.4f} m,{one.y_m:.4f} m,{one.depth_m:.4f} m"
            for one in plan.drawn.layout.elements]  # fmt: skip
    text = "\n".join(["id,x,y,depth", *rows])
    (tmp_path / "list.csv").write_text(text, encoding="utf-8")
    out = tmp_path / "out"
    code = run(tmp_path / "list.csv", site.source, "--plan", path, "--out", out)
    shown = capsys.readouterr().out
    assert code == (0 if "PASSES" in shown.splitlines()[1] else 1)
    assert "+0.33" in shown  # 0.1 m in feet
    assert (out / "as-built.png").exists()


def test_a_list_with_a_fault_ends_with_2_and_writes_nothing(
    tmp_path: Path, capsys: Capture
) -> None:
    site, _, path = plan_of("bores")
    (tmp_path / "list.csv").write_text("id,x,y\nB1,here,there\n", encoding="utf-8")
    out = tmp_path / "out"
    assert run(tmp_path / "list.csv", site.source, "--plan", path, "--out", out) == 2
    assert "row 2, B1, x" in capsys.readouterr().err
    assert not out.exists()


def test_files_of_the_folder_that_are_not_of_this_plan_are_told(
    tmp_path: Path, capsys: Capture
) -> None:
    site, path = drawing_written("bores")
    folder = tmp_path / "permit"

    def draw(staged: Path) -> None:
        shutil.copy(path, staged / "plan.dxf")
        (staged / "elements.csv").write_text("of this plan", encoding="utf-8")

    permit_package(folder).write(draw)
    drawing = folder / "plan.dxf"
    drawing.write_text(drawing.read_text(encoding="utf-8") + "\n", encoding="utf-8")
    assert run(drawing, site.source) == 0
    assert "package.sha256" not in capsys.readouterr().out
    (folder / "elements.csv").write_text("of another", encoding="utf-8")
    assert run(drawing, site.source) == 0
    told = capsys.readouterr().out
    assert "warning: Not as they were written with the plan, or gone" in told
    assert "(package.sha256): elements.csv" in told


def test_a_folder_whose_files_were_half_replaced_does_not_pass(
    tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    site, path = drawing_written("bores")
    folder = tmp_path / "permit"
    package = permit_package(folder)

    def draw(staged: Path) -> None:
        shutil.copy(path, staged / "plan.dxf")

    for _ in range(2):
        with contextlib.suppress(ExportError):
            package.write(
                lambda staged: shutil.copy(path, staged / "plan.dxf") and None, force=True
            )
        # as if the disk had gone away before the last file came to its place
        monkeypatch.setattr(os, "replace", moving_all_but(os.replace, SUMS_FILE))
    monkeypatch.undo()
    shutil.copy(path, folder / "plan.dxf")
    assert run(folder / "plan.dxf", site.source) == 1
    assert "error: A run was broken off while it replaced" in capsys.readouterr().out


def moving_all_but(move: Callable[[Path, Path], None], last: str) -> Callable[[Path, Path], None]:
    """A disk that goes away for good when a file is to come to its place."""
    gone = False

    def moving(source: Path, target: Path) -> None:
        nonlocal gone
        gone = gone or (source.name == last and source.parent.name == NEW)
        if gone:
            raise OSError(5, "Input/output error")
        move(source, target)

    return moving
