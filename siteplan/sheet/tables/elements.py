"""Tables of what goes in the ground: elements and header, their coordinates and their tapes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from shapely import MultiPoint, Polygon

from siteplan.findings.words import capitalised, plural, words_of
from siteplan.layout.elements import Bore, Element
from siteplan.layout.model import Header, Layout
from siteplan.layout.outfall import Outfall
from siteplan.quantities.take_off import dug_length
from siteplan.sheet.content.content import TABLES, PlanContent
from siteplan.sheet.content.facts import crossover_words, groups_by_element, groups_words
from siteplan.sheet.content.header_points import (
    HeaderPoint,
    header_points,
    listed_points,
    points_note,
)
from siteplan.sheet.content.stakes import SettingOut, Stake
from siteplan.sheet.content.ties import stake_names, tie_targets
from siteplan.sheet.kept import kept
from siteplan.sheet.marks import BASE_LINES, ELEMENTS, HEADER, HEADING, MORE
from siteplan.sheet.model import XY
from siteplan.sheet.place.blocks import STRONG, Block, Flow, side_by_side
from siteplan.sheet.place.table import Column, Row, Table
from siteplan.sheet.style.formats import coordinate, hundredths, mark
from siteplan.sheet.tables.frame_words import coordinate_note, frame_note
from siteplan.sheet.tables.plan_names import on_plan
from siteplan.sheet.tables.setting_out import (
    fitted,
    peg_table,
    setting_cells,
    setting_columns,
    setting_table,
)
from siteplan.units.lengths import format_length, rough
from siteplan.units.model import UnitSystem

MOST_TIED = 24
"""So many elements have their taped distances on the sheet; of more, the corners have."""
ID: Final = Column("id", "ID")
GROUP: Final = Column("group", "GRP")
LENGTH: Final = Column("length", "LENGTH", "right")
DEPTH: Final = Column("depth", "DEPTH", "right")
NO_DEPTH: Final = "-"
EVERYTHING, WITHOUT_CORNERS, WITHOUT_HEADER, COORDINATES, GIST = 3, 2, 1, 0, -1
"""How much there is to stake by, most first: what is needed least goes first."""


def elements_block(
    content: PlanContent, width: float, most: int, *, detail: int = EVERYTHING
) -> Block:
    """Table of the elements with coordinates, at most ``most`` of them; the rest is counted."""
    flow = Flow(width, ELEMENTS)
    layout, unit = content.layout, content.site.unit
    if layout is None or not layout.elements:
        flow.heading("WHAT GOES IN THE GROUND")
        obstacle = layout.obstacle if layout else None
        because = (
            ""
            if obstacle is None
            else capitalised(words_of(on_plan(obstacle, content.site), unit, on_paper=True))
        )
        flow.paragraph(f"Nothing. {because}".strip())
        return flow.block()
    flow.heading(elements_title(layout, unit))
    out = content.setting_out if detail > COORDINATES else SettingOut()
    _element_table(flow, content, layout, out=out, most=most)
    if detail <= COORDINATES:
        flow.paragraph(f"Base lines and tapes: {content.see('stakes.csv')}.")
    flow.paragraph(coordinate_note(layout, unit, bends=content.see("elements.csv")))
    if layout.piping is not None and layout.piping.groups:
        flow.paragraph(groups_words(layout))
    flow.paragraph(frame_note(content, out, all_corners=detail == EVERYTHING))
    if layout.crossovers:
        flow.paragraph(crossover_words(layout, unit))
    if layout.header is not None:
        _header_table(flow, content, layout, out=out, listed=detail > WITHOUT_HEADER)
    return flow.block()


def elements_title(layout: Layout, unit: UnitSystem) -> str:
    """What goes in the ground, in one line.

    Examples
    --------
    >>> from siteplan.units.systems import US
    >>> from siteplan.layout.elements import Bore
    >>> bores = tuple(Bore(f"B{k}", 6.1 * k, 0.0, 0.15, 91.44) for k in (1, 2))
    >>> elements_title(Layout("vertical", bores, None, 6.1, 0.0), US)
    '2 BORES × 300 ft = 600 ft'
    """
    count, noun = len(layout.elements), layout.loop.noun
    noun = (noun if count == 1 else plural(noun)).upper()
    # trenches are priced by their length: as fine as the column that adds up to it
    decimals = 2 if layout.loop.lines else rough(unit)
    total = format_length(layout.length_m, unit, decimals, rounding="down")
    if layout.loop.flow:
        if layout.of(Outfall):
            return f"{count} PLACES: SUPPLY WELL AND OUTFALL"
        return f"{count} {noun}: SUPPLY AND RETURN"
    if _alike(layout):
        each = format_length(layout.elements[0].length_m, unit, rough(unit), rounding="down")
        return f"{count} {noun} × {each} = {total}"
    return f"{count} {noun}, TOGETHER {total}"


def _alike(layout: Layout) -> bool:
    """Whether all elements provide the same length, so that no column need repeat it."""
    lengths = [element.length_m for element in layout.elements]
    numbered = not layout.loop.flow and not layout.loop.lines
    return numbered and max(lengths) - min(lengths) < 0.005


def _element_table(
    flow: Flow, content: PlanContent, layout: Layout, *, out: SettingOut, most: int
) -> None:
    """Coordinates and how stakes are set out in one table, or in two where one is too wide."""
    unit = content.site.unit
    few = bool(out.stakes) and len(layout.elements) <= MOST_TIED
    stakes = 2 if layout.loop.lines else 1
    table = element_table(layout, unit, out) if few else short_table(layout, unit)
    apart = bool(out.stakes) and (not few or table.natural_width > flow.width)
    if apart:
        table = short_table(layout, unit)
    if content.built is not None and content.sheet_of(TABLES) and table.columns[-1] == LENGTH:
        # depths drilled stand on the sheet of tables, and a column takes scale from the plan
        table = table.without(LENGTH.name)
    together = 1 if apart or not few else stakes
    side_by_side(flow, table.part(0, most * together), together=together)
    left = len(layout.elements) - most
    if left > 0:
        flow.paragraph(f"{left} more: {content.see('elements.csv')}", STRONG, name=MORE)
    if apart:
        shown = layout.elements[:most] if few else _taped_of_many(layout, out)
        flow.gap(0.6)
        if not few and out.lines:
            flow.paragraph(f"Stations and offsets: {content.see('stakes.csv')}.")
        elif not few:
            flow.paragraph("Corners of the field, taped:")
        flow.gap(0.6)
        names = tuple(name for element in shown for name in stake_names(element))
        if names:
            side_by_side(flow, setting_table(out, names, unit), together=stakes)
    base_lines(flow, out, unit)


def _taped_of_many(layout: Layout, out: SettingOut) -> tuple[Element, ...]:
    """Elements whose tapes the plan sheet has where there are many: none where base lines serve."""
    return () if out.lines else field_corners(layout)


def _in_parts(flow: Flow, table: Table, together: int = 1) -> None:
    """A table in one part or, where it is too wide, in two below each other."""
    for number, part in enumerate(fitted(table, flow.width)):
        flow.gap(0.6 if number else 0.0)
        side_by_side(flow, part, together=together)


def base_lines(flow: Flow, out: SettingOut, unit: UnitSystem) -> None:
    """Table of pegs, those of base lines and those set halfway, where there are any."""
    if not out.pegs:
        return
    flow.gap(1.2)
    about, flow.about = flow.about, BASE_LINES
    lines = "BASE LINES" if len(out.lines) > 1 else "BASE LINE"
    title = f"{lines} AND PEGS" if out.lines and out.halfway else lines
    flow.caption(title if out.lines else "PEGS", name=HEADING)
    flow.gap(0.8)
    _in_parts(flow, peg_table(out, unit), together=2)
    flow.about = about
    flow.gap(0.4)


@kept
def field_corners(layout: Layout) -> tuple[Element, ...]:
    """The elements nearest to the corners of the tightest box around a field."""
    middles = [tie_targets(element)[0] for element in layout.elements]
    box = MultiPoint(middles).minimum_rotated_rectangle
    if not isinstance(box, Polygon):
        return (layout.elements[0], layout.elements[-1])
    corners = list(box.exterior.coords)[:4]
    nearest = {
        min(range(len(middles)), key=lambda k: math.dist(middles[k], corner)) for corner in corners
    }
    return tuple(layout.elements[k] for k in sorted(nearest))


def place_columns(unit: UnitSystem) -> tuple[Column, ...]:
    """Columns of what a place is called and where it lies."""
    east = Column("east", f"EAST {unit}", "right")
    return ID, east, Column("north", f"NORTH {unit}", "right")


def place_cells(at: XY, unit: UnitSystem) -> Row:
    """Easting and northing of a place."""
    return coordinate(at[0], unit), coordinate(at[1], unit)


@kept
def element_table(layout: Layout, unit: UnitSystem, out: SettingOut | None) -> Table:
    """Coordinates, how it is set out, and sizes: one row for every stake.

    ``out`` is None where the table tells coordinates alone.
    """
    groups = groups_by_element(layout)
    columns = [*place_columns(unit), *(setting_columns(out, _names(layout)) if out else ())]
    if groups:
        columns.insert(1, GROUP)
    sizes = _sizes(layout, unit)
    if sizes:
        columns.append(DEPTH if layout.loop.flow else LENGTH)
    leaning = layout.leans
    if leaning:
        columns += [Column("tilt", "TILT °", "right"), Column("towards", "TOWARDS °", "right")]
    rows: list[Row] = []
    for number, element in enumerate(layout.elements):
        for name, point in zip(stake_names(element), tie_targets(element), strict=True):
            group = (groups.get(element.id, ""),) if groups else ()
            row = (name, *group, *place_cells(point, unit), *_set_out(name, out, unit))
            # the length stands once, with the first stake
            size = (sizes[number] if name == element.id else "",) if sizes else ()
            lean = _lean(element) if leaning else ()
            rows.append((*row, *size, *lean))
        if _is_ring(element):
            said = (*rows[-1][: 1 + bool(groups)], "ring", "at start")
            rows[-1] = (*said, *[""] * (len(columns) - len(said)))
    return Table(ELEMENTS, tuple(columns), tuple(rows))


def _names(layout: Layout) -> tuple[str, ...]:
    return tuple(name for element in layout.elements for name in stake_names(element))


def _set_out(name: str, out: SettingOut | None, unit: UnitSystem) -> Row:
    """How a stake is set out."""
    if out is None:
        return ()
    return setting_cells(out.by_name.get(name, Stake(name, (0.0, 0.0))), out, unit)


def _lean(element: Element) -> Row:
    """Tilt and azimuth of a bore."""
    if not isinstance(element, Bore):
        return ("", "")
    return (f"{element.tilt_deg:.1f}", f"{element.azimuth_deg:.0f}" if element.tilt_deg else "-")


@kept
def short_table(layout: Layout, unit: UnitSystem) -> Table:
    """The table without tapes: one row for every element, both ends of a trench in it."""
    if not layout.loop.lines:
        return element_table(layout, unit, None)
    columns = (
        Column("start-east", "START E", "right"), Column("start-north", "START N", "right"),
        Column("end-east", "END E", "right"), Column("end-north", "END N", "right"),
        LENGTH,
    )  # fmt: skip
    sizes = zip(layout.elements, _sizes(layout, unit), strict=True)
    groups = groups_by_element(layout)
    rows = tuple(
        (
            element.id,
            *((groups.get(element.id, ""),) if groups else ()),
            *_short_ends(element, unit),
            size,
        )
        for element, size in sizes
    )
    return Table(ELEMENTS, (ID, *((GROUP,) if groups else ()), *columns), rows)


def _short_ends(element: Element, unit: UnitSystem) -> Row:
    """Coordinates of both ends of a trench; of a ring those of its start."""
    start, end = (place_cells(at, unit) for at in tie_targets(element))
    return (*start, *(("ring", "at start") if _is_ring(element) else end))


def _is_ring(element: Element) -> bool:
    """Whether it ends where it begins."""
    return len(element.ends) > 1 and element.ends[0] == element.ends[-1]


def _sizes(layout: Layout, unit: UnitSystem) -> Sequence[str]:
    """Length or depth of every element; empty where all are alike."""
    if _alike(layout):
        return ()
    if layout.loop.lines:
        return hundredths([element.length_m for element in layout.elements], unit)
    return [
        # an outfall lies at the bank: it has no depth
        NO_DEPTH if isinstance(element, Outfall) else mark(element.listed_m, unit, rounding="down")
        for element in layout.elements
    ]


def _header_table(
    flow: Flow, content: PlanContent, layout: Layout, *, out: SettingOut, listed: bool
) -> None:
    """Length of the header trench, and the points it is staked by."""
    assert layout.header is not None
    unit = content.site.unit
    flow.gap(1.2)
    dug = dug_length(content.site, layout.header)
    flow.about = HEADER
    flow.paragraph(header_title(layout.header, unit, dug_m=dug), STRONG, name=HEADING)
    points = header_points(layout) if listed else ()
    shown = listed_points(layout, tabled=bool(content.sheet_of(TABLES))) if listed else ()
    if not shown:
        return
    flow.gap(0.8)
    _in_parts(flow, header_table(shown, unit, out))
    note = points_note(points)
    cut = len(shown) < len(points)
    if cut:
        others = f"{len(points) - len(shown)} others: {content.see('summary.json')}"
        note = f"H1: the entry. {others}."
    flow.paragraph(note, name=MORE if cut else "")


def header_table(points: Sequence[HeaderPoint], unit: UnitSystem, out: SettingOut) -> Table:
    """The points the header trench is staked by."""
    names = tuple(point.name for point in points)
    told = out if out.stakes else None
    columns = setting_columns(out, names) if told else ()
    rows = tuple(
        (point.name, *place_cells(point.at, unit), *_set_out(point.name, told, unit))
        for point in points
    )
    return Table(HEADER, (*place_columns(unit), *columns), rows)


def header_title(header: Header, unit: UnitSystem, *, dug_m: float | None = None) -> str:
    """Length of the header, for pricing, and where it leads.

    ``dug_m``: how much of it is trench [m], where some lies on the bottom of a pond.
    """
    decimals = unit.sign_decimals
    length = format_length(header.length_m, unit, decimals, rounding="up")
    where = f"TO {header.entry.called.upper()}"
    if dug_m is None or header.length_m - dug_m < 0.05:
        return f"HEADER TRENCH {length} {where}"
    dug = format_length(dug_m, unit, decimals, rounding="up")
    water = format_length(header.length_m - dug_m, unit, decimals, rounding="up")
    return f"HEADER {length} {where}: {dug} IN A TRENCH, {water} ON THE BOTTOM OF THE POND"
