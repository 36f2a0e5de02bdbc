"""The permit package: all of its files or none."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from siteplan.export.about import about
from siteplan.export.drawing.record import record_of
from siteplan.export.dxf import write_dxf, write_model
from siteplan.export.image import write_page, write_set
from siteplan.export.overwrite import OWNER_FILE, permit_package, picture_name
from siteplan.export.stakes import stakes_csv, write_geojson, write_gpx
from siteplan.export.tables import elements_csv, summary_json
from siteplan.export.takeoff import takeoff_csv
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.kept import composing
from siteplan.sheet.model import Sheet
from siteplan.sheet.pages.advice import paper_advice
from siteplan.sheet.pages.owner import owner_page
from siteplan.sheet.pages.set import compose_set


@composing()
def write_package(
    content: PlanContent,
    summary: Mapping[str, Any],
    folder: Path,
    *,
    force: bool = False,
    progress: Callable[[str], None] = lambda _: None,
    advise: Callable[[str], None] = lambda _: None,
) -> list[Path]:
    """Paths of the files written.

    Raises
    ------
    ExportError
        A file is there already and ``force`` is not given, another run is writing there, or a file
        cannot be written.
    """
    package = permit_package(folder)
    package.refuse_to_overwrite(force=force)
    progress("composing the sheet")
    sheets, page = compose_set(content), owner_page(content)
    advice = paper_advice(sheets[0], content, told=len(sheets) > 1)
    if advice:
        advise(advice)

    def draw(staged: Path) -> None:
        progress("drawing")
        _draw(sheets, staged, content)
        if page is not None:
            write_page(page, staged / OWNER_FILE)
        _tabulate(content, summary, staged)

    return package.write(draw, force=force, advise=advise)


def _draw(sheets: tuple[Sheet, ...], folder: Path, content: PlanContent) -> None:
    """Write the drawing, the print and the pictures of all sheets."""
    record = record_of(content)
    write_dxf(sheets[0], folder / "plan.dxf", more=sheets[1:], record=record)
    write_model(sheets[0], folder / "model.dxf", record=record)
    pictures = [folder / picture_name(sheet.number) for sheet in sheets]
    write_set(sheets, pictures, folder / "plan.pdf", about=about(content.site.project))


def _tabulate(content: PlanContent, summary: Mapping[str, Any], folder: Path) -> None:
    """Write the tables, the summary, and what a receiver reads."""
    site, layout = content.site, content.layout
    texts = {
        "elements.csv": elements_csv(site, layout),
        "takeoff.csv": takeoff_csv(site, layout),
        "stakes.csv": stakes_csv(content),
        "summary.json": summary_json(summary),
    }
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8")
    write_geojson(content, folder / "elements.geojson")
    write_gpx(content, folder / "stakes.gpx")
