"""The layout that was to be built: from a drawing, from a summary, or planned anew."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from shapely import LineString

from siteplan.audit.compare import boundary_findings
from siteplan.audit.drawing import read_drawing
from siteplan.audit.rebuild import rebuilt
from siteplan.audit.settled import settled_by_drawing, settled_by_summary
from siteplan.available.area import wall_entries
from siteplan.errors import Fault, InputError
from siteplan.findings.model import Finding
from siteplan.findings.words import words_of
from siteplan.layout.elements import Bore, Coil, Element, Trench, Well
from siteplan.layout.header.shore import landings_on
from siteplan.layout.model import Header, Layout
from siteplan.layout.outfall import Outfall
from siteplan.layout.piping_model import Crossover
from siteplan.layout.pit import HeaderPit
from siteplan.layout.pond import with_plates
from siteplan.limits import MOST_SUMMARY_BYTES
from siteplan.plan import plan_site
from siteplan.reading import load_json
from siteplan.site.model import Entry, Site

ROUNDED_M: Final = 1e-3
"""How far a place of a summary may lie from where it was, by rounding [m]."""
MEND = "Give the summary.json or plan.dxf that siteplan plan wrote for this site."


def planned_layout(
    path: Path | None, site: Site, *, progress: Callable[[str], None] = lambda _: None
) -> Layout:
    """Layout of a plan; without a file the one that the site gives today.

    Raises
    ------
    InputError
        The file is no plan of this site, or the plan has no element.
    """
    if path is None:
        layout = plan_site(site, progress=progress).drawn.layout
        where = str(site.source)
    elif path.suffix.lower() == ".json":
        layout, where = _of_summary(path, site), path.name
    else:
        layout, where = _of_drawing(path, site), path.name
    if layout is None or not layout.elements:
        raise InputError([Fault(where, "has no element that could be built.", MEND)])
    return layout


def _of_drawing(path: Path, site: Site) -> Layout:
    drawing = read_drawing(path)
    rebuild = rebuilt(drawing, settled_by_drawing(site, drawing))
    wrong: Sequence[Finding] = [*boundary_findings(drawing, site), *rebuild.findings]
    faults = [
        Fault(path.name, words_of(finding, site.unit), "Audit the drawing and mend it first.")
        for finding in wrong
        if finding.severity == "error"
    ]
    if faults:
        raise InputError(faults)
    return rebuild.layout


def _of_summary(path: Path, site: Site) -> Layout:
    summary = load_json(path, MOST_SUMMARY_BYTES, MEND)
    try:
        return _layout(summary, settled_by_summary(site, summary))
    except (KeyError, TypeError, ValueError) as error:
        what = f"is no summary of a plan ({type(error).__name__}: {error})."
        raise InputError([Fault(path.name, what, MEND)]) from error


def _layout(summary: Mapping[str, Any], site: Site) -> Layout:
    elements = tuple(_element(row, site) for row in summary["elements"])
    header = _header(summary["header"], site) if summary["header"] else None
    crossovers = tuple(
        Crossover(
            id=row["id"],
            line=LineString(row["line_m"]),
            trenches=tuple(row["trenches"]),
            width_m=row["width_m"],
            depth_m=row["depth_m"],
        )
        for row in summary["crossovers"]
    )
    system = summary["drawn"]
    spacing = summary["spacing_m"] or 0.0
    return Layout(system, elements, header, spacing, summary["capacity_m"], crossovers=crossovers)


def _element(row: Mapping[str, Any], site: Site) -> Element:
    name, x, y = row["id"], row["x_m"], row["y_m"]
    wanted = site.exchanger
    if row["kind"] == "trench":
        line = LineString(row["line_m"])
        kind = wanted.horizontal.kind
        return Trench(name, line, row["width_m"], row["depth_m"], row["pipes"], kind)
    size = row["diameter_m"]
    if row["kind"] == "bore":
        return Bore(name, x, y, size, row["depth_m"], row["tilt_deg"], row["azimuth_deg"])
    if row["kind"] == "coil":
        water = wanted.pond.water_depth_m
        body, length = row.get("body", "coil"), row.get("plate_m", row["pipe_m"])
        coil = Coil(name, x, y, size, length, water, row["pond"], body)
        return with_plates(coil, wanted.pond)
    if row["role"] == "outfall":
        return Outfall(name, x, y, size, row["into"])
    known = wanted.open.supply if row["role"] == "supply" else ""
    return Well(name, x, y, size, row["depth_m"], row["role"], known)


def _header(row: Mapping[str, Any], site: Site) -> Header:
    entry = next(wall_entry for wall_entry in wall_entries(site) if wall_entry.id == row["entry"])
    corners = tuple((x, y) for x, y in row["pit"]["corners_m"]) if row.get("pit") else ()
    pit = HeaderPit(corners) if corners else None
    runs = tuple(_to_wall(run, entry) for run in row["runs_m"])
    return Header(runs, entry, pit=pit, landings=landings_on(site, runs))


def _to_wall(run: Sequence[Sequence[float]], entry: Entry) -> LineString:
    """A run of the header; an end at the entry in its very place, as rounded it may lie inside."""
    at = (float(entry.point.x), float(entry.point.y))
    return LineString([at if math.dist(place, at) <= ROUNDED_M else place for place in run])
