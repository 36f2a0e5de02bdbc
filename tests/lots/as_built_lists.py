"""Lists of measured places that the tests of what was built share."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from audit_lots import FOOT, plan_of, site_of

from siteplan.audit.as_built import as_built
from siteplan.audit.measured import read_measured
from siteplan.sheet.content.setting_out import record_ties
from siteplan.sheet.content.ties import TiePoint

TIES = (TiePoint("A", (0.0, 0.0), "corner"), TiePoint("B", (6 * FOOT, 0.0), "corner"))


def listed(tmp_path: Path, text: str, name: str = "bores", ties=TIES, frame=None):
    path = tmp_path / "as-built.csv"
    path.write_text(text, encoding="utf-8")
    site = site_of(name)
    return read_measured(path, replace(site, georeference=frame or site.georeference), ties)


def planned_rows(name: str, *, unit: float = FOOT):
    """Every place of a plan as a row of a list, to a thousandth of the display unit."""
    rows = []
    for element in plan_of(name)[1].drawn.layout.elements:
        line = getattr(element, "line", None)
        points = line.coords if line is not None else [(element.x_m, element.y_m)]
        deep = getattr(element, "depth_m", 0.0) / unit if line is None else 0.0
        rows += [[element.id, x / unit, y / unit, deep] for x, y in points]
    return rows


def text_of(rows) -> str:
    lines = [f"{name},{x:.4f},{y:.4f},{deep or ''}" for name, x, y, deep in rows]
    return "\n".join(["id,x,y,depth", *lines, ""])


def built_of(tmp_path: Path, name: str, rows):
    site, plan, _ = plan_of(name)
    ties = record_ties(site, plan.drawn.layout)
    points = listed(tmp_path, text_of(rows), name, ties)
    return as_built("as-built.csv", site, plan.drawn.layout, points, ties)
