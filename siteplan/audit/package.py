"""The files of a record as built: all of them or none."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, Final

from siteplan.audit.as_built import AsBuilt, Deviation
from siteplan.audit.sheet import as_built_content, as_built_owner_page, as_built_sheets
from siteplan.audit.summary import audit_summary
from siteplan.export.about import about
from siteplan.export.csv_text import csv_text
from siteplan.export.drawing.record import record_of
from siteplan.export.dxf import write_dxf
from siteplan.export.image import write_page, write_set
from siteplan.export.tables import decimal, summary_json
from siteplan.export.together import Together
from siteplan.layout.elements import Element
from siteplan.layout.outfall import called
from siteplan.sheet.content.ties import TiePoint
from siteplan.sheet.style.formats import east_north
from siteplan.site.model import Site
from siteplan.units.lengths import format_bearing, round_to

OWNER_FILE: Final = "as-built-owner.pdf"
SUMS_FILE: Final = "as-built.sha256"
FILES: Final = (
    "as-built.dxf", "as-built.png", "as-built.pdf", "as-built.csv", "as-built.json", OWNER_FILE,
)  # fmt: skip


def write_as_built(
    built: AsBuilt,
    folder: Path,
    *,
    force: bool = False,
    advise: Callable[[str], None] = lambda _: None,
) -> list[Path]:
    """Paths of the files written; ``advise`` is told what the sheet could not show.

    Raises
    ------
    ExportError
        A file is there already and ``force`` is not given, or cannot be written.
    """
    sheets, whole = as_built_sheets(built)
    page = as_built_owner_page(built)
    dxf, png, pdf, table, figures, _ = FILES

    def draw(staged: Path) -> None:
        record = record_of(as_built_content(built))
        write_dxf(sheets[0], staged / dxf, more=sheets[1:], record=record)
        pictures = [png, *(f"as-built-{sheet.number}.png" for sheet in sheets[1:])]
        said = about(built.audit.site.project)
        write_set(sheets, [staged / name for name in pictures], staged / pdf, about=said)
        (staged / table).write_text(as_built_csv(built), encoding="utf-8")
        (staged / figures).write_text(summary_json(as_built_summary(built)), encoding="utf-8")
        if page is not None:
            write_page(page, staged / OWNER_FILE)

    paths = as_built_record(folder).write(draw, force=force, advise=advise)
    if not whole:
        advise("the sheet has no room for the deviations: see as-built.csv")
    return paths


def as_built_record(folder: Path) -> Together:
    """Files of a record as built in a folder."""
    return Together(folder, SUMS_FILE, as_built_files)


def as_built_files(*folders: Path) -> list[str]:
    """Files that a record may have, with the pictures of further sheets that folders hold."""
    return [*FILES, *sorted({path.name for at in folders for path in at.glob("as-built-L*.png")})]


def as_built_csv(built: AsBuilt) -> str:
    """The list as built, completed: coordinates of both kinds, tapes, and the way from the plan.

    It can be audited again. Latitude and longitude are WGS 84 and stand only where the site is
    georeferenced.
    """
    site = built.audit.site
    unit = site.unit
    tapes = [f"from_{tie.name}_{unit}" for tie in built.ties]
    columns = [
            "id", "point", f"x_{unit}", f"y_{unit}", "latitude_wgs84", "longitude_wgs84", "kind",
            f"depth_{unit}", f"diameter_{unit}", f"planned_x_{unit}", f"planned_y_{unit}",
            f"dx_{unit}", f"dy_{unit}", f"distance_{unit}", "bearing", *tapes,
    ]  # fmt: skip
    elements = {element.id: element for element in built.audit.layout.elements}
    rows = (
        _row(deviation, elements[deviation.element], site, built.ties)
        for deviation in built.deviations
    )
    return csv_text([columns, *rows])


def _row(deviation: Deviation, element: Element, site: Site, ties: Sequence[TiePoint]) -> list[str]:
    unit = site.unit
    earth = ["", ""]
    if site.georeference is not None:
        earth = [f"{value:.6f}" for value in site.georeference.latitude_longitude(*deviation.at)]
    wide = decimal(2 * element.reach_m, unit) if element.reach_m else ""
    way = ["", "", "", "", "", ""]
    if deviation.planned is not None:
        dx, dy = deviation.at[0] - deviation.planned[0], deviation.at[1] - deviation.planned[1]
        bearing = format_bearing(dx, dy) if deviation.away_m > 0.0005 else ""
        lengths = (*deviation.planned, dx, dy, deviation.away_m)
        way = [*(decimal(value, unit) for value in lengths), bearing]
    depth = "" if deviation.depth_m is None else decimal(deviation.depth_m, unit)
    tapes = [decimal(math.dist(deviation.at, tie.at), unit) for tie in ties]
    place = [decimal(value, unit) for value in deviation.at]
    names = (deviation.element, deviation.name)
    return [*names, *place, *earth, called(element), depth, wide, *way, *tapes]


def as_built_summary(built: AsBuilt) -> dict[str, Any]:
    """The record in figures: the audit at the places measured, and the deviations [m]."""
    rows = [
        {
            "point": deviation.name,
            "element": deviation.element,
            "x_m": round_to(deviation.at[0], 4),
            "y_m": round_to(deviation.at[1], 4),
            "planned_m": deviation.planned and [round_to(v, 4) for v in deviation.planned],
            "distance_m": None if deviation.planned is None else round_to(deviation.away_m, 4),
            "depth_m": None if deviation.depth_m is None else round_to(deviation.depth_m, 4),
        }
        for deviation in built.deviations
    ]
    ties = [{"name": tie.name, "at_m": [round_to(v, 4) for v in tie.at]} for tie in built.ties]
    return audit_summary(built.audit) | {"deviations": rows, "ties": ties}


def tie_words(ties: Sequence[TiePoint], site: Site) -> str:
    """Where the points lie from which elements are taped."""
    places = (f"{tie.name} {tie.what} {east_north(tie.at, site.unit)}" for tie in ties)
    return "; ".join(places)
