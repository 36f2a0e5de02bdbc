"""The permit package: all of its files or none."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from siteplan.errors import ExportError
from siteplan.export.about import about
from siteplan.export.drawing.record import record_of
from siteplan.export.dxf import write_dxf, write_model
from siteplan.export.image import write_page, write_set
from siteplan.export.overwrite import OWNER_FILE, package_files, picture_name, refuse_to_overwrite
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

    Everything is written to a temporary folder beside the target and moved at the end.

    Raises
    ------
    ExportError
        A file is there already and ``force`` is not given, or cannot be written.
    """
    refuse_to_overwrite(folder, force=force)
    progress("composing the sheet")
    sheets, page = compose_set(content), owner_page(content)
    advice = paper_advice(sheets[0], content, told=len(sheets) > 1)
    if advice:
        advise(advice)
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".siteplan-", dir=folder.parent) as scratch:
            staged = Path(scratch)
            progress("drawing")
            _draw(sheets, staged, content)
            if page is not None:
                write_page(page, staged / OWNER_FILE)
            table = elements_csv(content.site, content.layout)
            (staged / "elements.csv").write_text(table, encoding="utf-8")
            pipes = takeoff_csv(content.site, content.layout)
            (staged / "takeoff.csv").write_text(pipes, encoding="utf-8")
            (staged / "stakes.csv").write_text(stakes_csv(content), encoding="utf-8")
            (staged / "summary.json").write_text(summary_json(summary), encoding="utf-8")
            write_geojson(content, staged / "elements.geojson")
            write_gpx(content, staged / "stakes.gpx")
            return _move(staged, folder)
    except OSError as error:
        raise ExportError(
            f"{folder}: cannot be written ({error.strerror or error}). Choose another folder "
            "with --out."
        ) from error


def _draw(sheets: tuple[Sheet, ...], folder: Path, content: PlanContent) -> None:
    """Write the drawing, the print and the pictures of all sheets."""
    record = record_of(content)
    write_dxf(sheets[0], folder / "plan.dxf", more=sheets[1:], record=record)
    write_model(sheets[0], folder / "model.dxf", record=record)
    pictures = [folder / picture_name(sheet.number) for sheet in sheets]
    write_set(sheets, pictures, folder / "plan.pdf", about=about(content.site.project))


def _move(staged: Path, folder: Path) -> list[Path]:
    """Move the staged files in one step where the folder is new, else one by one."""
    names = [name for name in package_files(staged) if (staged / name).exists()]
    if not folder.exists():
        shutil.copystat(folder.parent, staged)
        os.replace(staged, folder)
        staged.mkdir()  # so that the temporary folder can clean up after itself
    else:
        _swap(staged, folder)
    return [folder / name for name in names]


def _swap(staged: Path, folder: Path) -> None:
    """Put the new files in the place of old ones; where one cannot be, put the old ones back."""
    old = staged / "replaced"
    old.mkdir()
    placed: list[str] = []
    try:
        for name in package_files(folder, staged):
            if (folder / name).exists():
                os.replace(folder / name, old / name)
            placed.append(name)
            if (staged / name).exists():
                os.replace(staged / name, folder / name)
    except OSError:
        for name in placed:
            (folder / name).unlink(missing_ok=True)
            if (old / name).exists():
                os.replace(old / name, folder / name)
        raise
