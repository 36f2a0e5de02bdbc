"""The sheets as built: the plan's own sheets of the layout measured, with its deviations."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

import shapely
import shapely.affinity
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.advisories.bounds import ties_asked
from siteplan.audit.as_built import AsBuilt, Deviation
from siteplan.audit.piped import piped
from siteplan.available.ground import prepare
from siteplan.available.prepared import lot_of
from siteplan.demand.model import Required
from siteplan.design.loop_types import record_of
from siteplan.findings.model import reason
from siteplan.findings.words import words_of
from siteplan.sheet.content.content import Deviations, PlanContent
from siteplan.sheet.content.setting_out import tied_from
from siteplan.sheet.model import Dimension, Hatch, Primitive, Sheet, Symbol, Text, enlarged
from siteplan.sheet.model import Polygon as Fill
from siteplan.sheet.pages.allowed_scale import choose_scale
from siteplan.sheet.pages.owner import owner_page
from siteplan.sheet.pages.set import compose_set
from siteplan.sheet.pages.table_sheets import DEVIATIONS, deviation_table
from siteplan.sheet.place.blocks import Flow
from siteplan.sheet.style.styles import layer
from siteplan.sheet.style.text import text_width
from siteplan.units.lengths import format_bearing, format_length, round_to, to_unit
from siteplan.units.model import UnitSystem

TITLE: Final = "AS-BUILT"
RENAMED: Final = {"summary.json": "as-built.json", "elements.csv": "as-built.csv"}
"""Files of a record as built that stand for those of a plan."""
STEP_MM: Final = 4.0
"""Distance of the places tried for the table of deviations [mm]."""
EDGE_MM: Final = 3.0
PAD_MM: Final = 2.0
WIDTH_MM: Final = 78.0
MOST_ROWS: Final = 24
"""More points than this have a sheet of tables."""
MOST_NAMED: Final = 6
NOT_BUILT: Final = "NOT BUILT"
DEPTHS: Final = ("DEPTH", "SHORT")
"""Titles of the depth drilled and what it is short of."""


def as_built_content(built: AsBuilt) -> PlanContent:
    """What the sheet as built has to show."""
    audit = built.audit
    project = replace(audit.site.project, title=f"{TITLE}: {audit.site.project.title}")
    site = replace(audit.site, project=project)
    lot = lot_of(site)
    content = PlanContent(
        site=site,
        layout=audit.layout,
        keep_outs=prepare(lot, record_of(audit.layout.system).ground).keep_outs,
        separations=audit.separations,
        required=audit.required or Required(0.0, "given", reason("length-not-known")),
        fits=audit.passes,
        verdict=f"{TITLE}: {verdict_words(built)}",
        findings=audit.findings,
        staked=tied_from(site, audit.layout, built.ties, ties_asked(lot.rules.books)),
        built=deviations_of(built),
        books=lot.rules.books,
    )
    choice = choose_scale(content, lot.rules.books)
    return content if choice is None else replace(content, site=replace(site, sheet=choice.sheet))


def verdict_words(built: AsBuilt) -> str:
    """Whether every rule is kept at the places measured, and the largest deviation."""
    audit, far = built.audit, built.farthest
    kept, told = all(row.meets for row in audit.separations), words_of(audit.why, audit.site.unit)
    if audit.passes:
        verdict = "every rule kept"
    else:
        # what is to mend may be no separation: then none is said to be broken
        verdict = told if kept else f"NOT EVERY RULE KEPT, {told}"
    if audit.passes and not kept:
        verdict += " within the rounding of the list"
    if far is not None:
        shown = format_length(far.away_m, audit.site.unit, 2)
        verdict += f"; farthest from the plan: {far.name}, {shown}"
    if built.missing:
        verdict += f"; not built: {_some(built.missing)}"
    short = [deviation.element for deviation in built.deviations if deviation.short_m > 0.0]
    if short:
        verdict += f"; shallower than planned: {_some(short)}"
    return verdict


def _some(names: Sequence[str]) -> str:
    """The first names, and how many more there are."""
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return f"{', '.join(names[:MOST_NAMED])}{more}"


def as_built_sheets(built: AsBuilt) -> tuple[tuple[Sheet, ...], bool]:
    """The sheets as built, the plan first, and whether they have the deviations.

    One sheet that has room for the table of deviations is enough where the plan is one sheet.
    """
    content = as_built_content(built)
    sheets = compose_set(content)
    shown = True
    if len(sheets) == 1:
        with_table = _with_table(sheets[0], built)
        if with_table is not None:
            sheets = (with_table,)
        elif content.site.sheet.sheets != "one":
            whole = replace(content.site, sheet=replace(content.site.sheet, sheets="full"))
            sheets = compose_set(replace(content, site=whole))
        else:
            shown = False
    return tuple(_of_record(sheet) for sheet in sheets), shown


def as_built_owner_page(built: AsBuilt) -> Sheet | None:
    """The owner's page of what was built, with the pipes as the plan lays them."""
    content, audit = as_built_content(built), built.audit
    required = audit.required or Required(0.0, "given", reason("length-not-known"))
    laid = piped(audit.layout, required, lot_of(audit.site))
    return owner_page(replace(content, layout=laid))


def _of_record(sheet: Sheet) -> Sheet:
    """The sheet with the names of the record's own files."""
    return replace(sheet, primitives=tuple(_renamed(item) for item in sheet.primitives))


def _with_table(sheet: Sheet, built: AsBuilt) -> Sheet | None:
    """The plan with the table of deviations on free paper; None where there is none."""
    table = _table(built, sheet)
    if table is None:
        return None
    names = dict(sheet.layers)
    more = [(item.layer, item.style) for item in table if item.layer not in names]
    layers = (*sheet.layers, *dict(more).items())
    return replace(sheet, primitives=(*sheet.primitives, *table), layers=layers)


def _renamed(item: Primitive) -> Primitive:
    """The primitive; a text that speaks of a file of the plan speaks of that as built."""
    if isinstance(item, Text):
        for name, other in RENAMED.items():
            item = replace(item, text=item.text.replace(name, other))
    return item


def _table(built: AsBuilt, sheet: Sheet) -> tuple[Primitive, ...] | None:
    """The table on free paper of the plan's window; None where there is none."""
    factor = sheet.paper.enlargement
    told = deviations_of(built)
    if len(told.rows) > MOST_ROWS:
        return None
    table = deviation_table(told)
    flow = Flow(WIDTH_MM, table.name)
    flow.heading(DEVIATIONS)
    flow.width = max(WIDTH_MM, table.natural_width)
    flow.table(table)
    flow.paragraph(told.note)
    block = flow.block()
    size = (flow.width + 2 * PAD_MM) * factor, (block.height_mm + 2 * PAD_MM) * factor
    corner = _free_place(sheet, *size)
    if corner is None:
        return None
    left, top = corner
    ring = ((left, top), (left + size[0], top), (left + size[0], top - size[1]),
            (left, top - size[1]))  # fmt: skip
    ground = Fill((ring,), "mask", layer("mask"), "paper")
    inner = block.at(left / factor + PAD_MM, top / factor - PAD_MM)
    return (ground, *(enlarged(item, factor) for item in inner))


def deviations_of(built: AsBuilt) -> Deviations:
    """The table of deviations: a row for every point measured, and for what was not built."""
    unit = built.audit.site.unit
    drilled = any(deviation.depth_m is not None for deviation in built.deviations)
    names = ("id", "east", "north", "away", "towards", *(("depth", "short") if drilled else ()))
    titles = ("ID", *deviation_titles(unit), *(DEPTHS if drilled else ()))
    rows = [
        (*deviation_row(deviation, unit), *(depth_cells(deviation, unit) if drilled else ()))
        for deviation in built.deviations
    ]
    blank = ("",) * (len(titles) - 5)
    rows += [(name, "-", "-", "-", NOT_BUILT, *blank) for name in built.missing]
    note = f"East, north and away from the place planned, {unit}."
    if drilled:
        note += " Depth along the bore; short of the depth planned."
    return Deviations(names, titles, tuple(rows), note)


def depth_cells(deviation: Deviation, unit: UnitSystem) -> tuple[str, str]:
    """Depth drilled, rounded down, and how much it is short of what was planned, rounded up.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC
    >>> depth_cells(Deviation("B1", "B1", (0, 0), (0, 0), 90.0, 91.44), METRIC)
    ('90.0', '1.5')
    """
    if deviation.depth_m is None:
        return ("", "")
    depth = round_to(to_unit(deviation.depth_m, unit), 1, "down")
    short = round_to(to_unit(deviation.short_m, unit), 1, "up")
    return (f"{depth:.1f}", f"{short:.1f}" if deviation.short_m > 0.0 else "-")


def deviation_titles(unit: UnitSystem) -> tuple[str, ...]:
    """Titles of the columns behind the id; none is that of a coordinate."""
    return f"ΔE {unit}", f"ΔN {unit}", f"AWAY {unit}", "TOWARDS"


def deviation_row(deviation: Deviation, unit: UnitSystem) -> tuple[str, ...]:
    r"""Id, how far east and north, how far, and the bearing of the way from the place planned.

    Examples
    --------
    >>> from siteplan.units.systems import US
    >>> deviation_row(Deviation("B1", "B1", (0.3048, 0.0), (0.0, 0.0)), US)
    ('B1', '+1.00', '+0.00', '1.00', 'N 90°00\'00" E')
    """
    if deviation.planned is None:
        return (deviation.name, "-", "-", "-", "not planned")
    dx, dy = deviation.at[0] - deviation.planned[0], deviation.at[1] - deviation.planned[1]
    east, north = (round_to(to_unit(value, unit), 2) + 0.0 for value in (dx, dy))
    away = round_to(to_unit(deviation.away_m, unit), 2)
    bearing = format_bearing(dx, dy) if away > 0 else "-"
    return (deviation.name, f"{east:+.2f}", f"{north:+.2f}", f"{away:.2f}", bearing)


def _free_place(sheet: Sheet, width: float, height: float) -> tuple[float, float] | None:
    """Upper left corner of free paper on the plan, as near to its edge as there is [mm]."""
    view = sheet.view
    ink = shapely.STRtree(list(_ink(sheet)))
    edge, step = EDGE_MM, STEP_MM
    best: tuple[float, float, float] | None = None
    columns = int((view.width_mm - width - 2 * edge) // step) + 1
    rows = int((view.height_mm - height - 2 * edge) // step) + 1
    for column in range(max(columns, 0)):
        for row in range(max(rows, 0)):
            left = view.left_mm + edge + column * step
            bottom = view.bottom_mm + edge + row * step
            # in a corner or at an edge it parts nothing of the plan from the rest
            away = min(column, columns - 1 - column) + min(row, rows - 1 - row)
            if best is not None and away >= best[0]:
                continue
            box = shapely.box(left, bottom, left + width, bottom + height)
            if not len(ink.query(box, predicate="intersects")):
                best = (away, left, bottom + height)
    return None if best is None else best[1:]


def _ink(sheet: Sheet) -> Iterator[BaseGeometry]:
    """What is drawn on the plan, on paper; fills and hatches aside, which may be covered [mm]."""
    view = sheet.view
    for item in sheet.primitives:
        if item.space != "model" or isinstance(item, (Hatch, Fill)):
            continue
        if isinstance(item, Text):
            yield _text_box(item, sheet)
        elif isinstance(item, Symbol):
            yield shapely.Point(view.to_paper([item.at])[0]).buffer(item.size_mm * 1.6)
        elif isinstance(item, Dimension):
            yield LineString(view.to_paper([item.start, item.end])).buffer(item.height_mm * 3)
        else:
            points = [*item.points, item.points[0]] if item.closed else item.points
            yield LineString(view.to_paper(points))


def _text_box(item: Text, sheet: Sheet) -> Polygon:
    width = text_width(item.text, item.height_mm, bold=item.bold)
    left = {"left": 0.0, "center": -width / 2, "right": -width}[item.anchor]
    box = shapely.box(left, -0.4 * item.height_mm, left + width, 1.2 * item.height_mm)
    x, y = sheet.view.to_paper([item.at])[0]
    turned = shapely.affinity.rotate(box, item.angle_deg + sheet.view.turn_deg, origin=(0.0, 0.0))
    return shapely.affinity.translate(turned, float(x), float(y))
