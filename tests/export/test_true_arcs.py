"""A true arc of the property line is an arc in the drawing and on paper, and the audit knows it."""

from __future__ import annotations

import math
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from drawn_once import compose
from ezdxf.math import Matrix44

from siteplan.cli import main
from siteplan.export.ink import Stroke, ink
from siteplan.plan import plan_site
from siteplan.sheet.style.styles import layer
from siteplan.site.readers.site_file import read_site

SITE = """\
[project]
title = "Ground loop"
owner = "A. Owner"
date = 2026-03-14

[geometry.deed]
calls = [
    "N 00°00' E 220.00 feet",
    "N 90°00' E 110.00 feet",
    "curve to the right, tangent, radius 60 feet, delta 90°00'00\\"",
    "S 00°00' E 160.00 feet",
    "S 90°00' W 170.00 feet",
]

[[feature]]
kind = "house"
area = [[60, 30], [110, 30], [110, 60], [60, 60]]

[exchanger]
system = "horizontal"
entry = [[85, 60]]
length = { given = "200 ft", by = "the designer" }
"""
"""The arc of a quarter circle: 60 x pi / 2 = 94.25 ft long, its chord 60 x sqrt 2 = 84.85 ft."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("arc")
    (made / "site.toml").write_text(SITE, encoding="utf-8")
    plan_site(read_site(made)).write(made / "package")
    return made


def test_the_drawing_has_the_arc_with_the_radius_of_the_deed(folder: Path) -> None:
    model = ezdxf.readfile(folder / "package" / "plan.dxf").modelspace()
    (line,) = model.query(f'LWPOLYLINE[layer=="{layer("property")}"]')
    arcs = [each for each in line.virtual_entities() if each.dxftype() == "ARC"]
    assert arcs
    for arc in arcs:
        assert arc.dxf.radius == pytest.approx(60.0, abs=0.01)
        assert tuple(arc.dxf.center)[:2] == pytest.approx((110.0, 160.0), abs=0.02)
    turned = sum((arc.dxf.end_angle - arc.dxf.start_angle) % 360.0 for arc in arcs)
    assert turned == pytest.approx(90.0, abs=0.05)


def test_print_and_picture_have_the_curve(folder: Path) -> None:
    sheet = compose(plan_site(read_site(folder)).content())
    middle = sheet.view.to_paper(np.array([[110.0, 160.0]]) * 0.3048)[0]
    radius = 60.0 * 304.8 / sheet.view.ratio
    off = [
        abs(math.dist(middle, at) - radius)
        for mark in ink(sheet).marks if isinstance(mark, Stroke)
        for line in mark.lines if len(line) > 40
        for at in line[1:-1]
    ]  # fmt: skip
    # a degree of a circle apart, the points lie on it
    assert sum(each < 0.02 for each in off) >= 88


@pytest.mark.thorough
def test_the_audit_passes_it_and_puts_it_back_where_it_was_moved(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    drawn = folder / "package" / "plan.dxf"
    assert main(["audit", str(drawn), str(folder)]) == 0
    capsys.readouterr()
    document = ezdxf.readfile(drawn)
    for entity in document.modelspace():
        entity.transform(Matrix44.translate(100.0, 0.0, 0.0))
    document.saveas(folder / "moved.dxf")
    assert main(["audit", str(folder / "moved.dxf"), str(folder)]) == 1
    assert "The whole drawing lies 100.00 ft" in capsys.readouterr().out
