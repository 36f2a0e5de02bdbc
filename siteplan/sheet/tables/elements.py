"""Tables of what goes in the ground: elements and header, their coordinates and their tapes."""

from __future__ import annotations

import math
from collections.abc import Sequence

from shapely import MultiPoint, Polygon

from siteplan.geometry.boundary import courses
from siteplan.layout.model import Bore, Coil, Element, Header, Layout, Trench, Well
from siteplan.quantities.take_off import dug_length
from siteplan.sheet.content.content import TABLES, PlanContent
from siteplan.sheet.content.facts import inches, joint_words, leaning_words, trench_facts
from siteplan.sheet.content.header_points import (
    MOST_POINTS,
    HeaderPoint,
    header_points,
    hidden_words,
)
from siteplan.sheet.content.ties import HIDDEN, TiePoint, tie_targets, tie_words
from siteplan.sheet.kept import kept
from siteplan.sheet.model import XY
from siteplan.sheet.place.blocks import STRONG, Block, Column, Flow, natural_widths
from siteplan.sheet.style.formats import coordinate, hundredths, mark, short_mark
from siteplan.sheet.style.text import NO_BREAK
from siteplan.site.model import DisplayUnit, Site
from siteplan.units.lengths import format_length, rough

NOUNS = {
    "bore": ("BORE", "BORES"), "trench": ("TRENCH", "TRENCHES"),
    "coil": ("POND COIL", "POND COILS"), "well": ("WELL", "WELLS"),
}  # fmt: skip
MOST_TIED = 24
"""So many elements have their taped distances on the sheet; of more, the corners have."""
MOST_CORNERS = 12
"""Of more property corners than this, one stands on the sheet."""
EVERYTHING, WITHOUT_CORNERS, WITHOUT_HEADER, COORDINATES = 3, 2, 1, 0
"""How much there is to stake by, most first: what is needed least goes first."""

Row = tuple[str, ...]


def elements_block(
    content: PlanContent, width: float, most: int, *, detail: int = EVERYTHING
) -> Block:
    """Table of the elements with coordinates, at most ``most`` of them; the rest is counted."""
    flow = Flow(width)
    layout, unit = content.layout, content.site.unit
    if layout is None or not layout.elements:
        flow.heading("WHAT GOES IN THE GROUND")
        why = layout.obstacle if layout else ""
        flow.paragraph(f"Nothing. {why[:1].upper()}{why[1:]}".strip())
        return flow.block()
    flow.heading(elements_title(layout, unit))
    ties = content.tie_points
    _element_table(flow, content, layout, ties=ties if detail > COORDINATES else (), most=most)
    flow.paragraph(coordinate_note(layout, unit, bends=content.see("elements.csv")))
    flow.paragraph(frame_note(content, ties, detail=detail))
    if layout.joints:
        flow.paragraph(joint_words(layout, unit))
    if layout.header is not None:
        _header_table(flow, content, layout, ties=ties, listed=detail > WITHOUT_HEADER)
    return flow.block()


def elements_title(layout: Layout, unit: DisplayUnit) -> str:
    """What goes in the ground, in one line.

    Examples
    --------
    >>> from siteplan.units.systems import US
    >>> from siteplan.layout.model import Bore
    >>> bores = tuple(Bore(f"B{k}", 6.1 * k, 0.0, 0.15, 91.44) for k in (1, 2))
    >>> elements_title(Layout("vertical", bores, None, 6.1, 0.0), US)
    '2 BORES × 300 ft = 600 ft'
    """
    noun = NOUNS[layout.elements[0].kind][len(layout.elements) > 1]
    count = len(layout.elements)
    # trenches are priced by their length: as fine as the column that adds up to it
    decimals = 2 if layout.system == "horizontal" else rough(unit)
    total = format_length(layout.length_m, unit, decimals, rounding="down")
    if layout.system == "open":
        return f"{count} {noun}: SUPPLY AND RETURN"
    if _alike(layout):
        each = format_length(layout.elements[0].length_m, unit, rough(unit), rounding="down")
        return f"{count} {noun} × {each} = {total}"
    return f"{count} {noun}, TOGETHER {total}"


def _alike(layout: Layout) -> bool:
    """Whether all elements provide the same length, so that no column need repeat it."""
    lengths = [element.length_m for element in layout.elements]
    numbered = layout.system not in ("open", "horizontal")
    return numbered and max(lengths) - min(lengths) < 0.005


def _element_table(
    flow: Flow, content: PlanContent, layout: Layout, *, ties: tuple[TiePoint, ...], most: int
) -> None:
    """Coordinates and tapes in one table, or in two where one would be too wide."""
    unit = content.site.unit
    few = ties if len(layout.elements) <= MOST_TIED else ()
    stakes = 2 if layout.system == "horizontal" else 1
    columns, rows = element_rows(layout, unit, few) if few else _short_rows(layout, unit)
    apart = bool(ties) and (not few or sum(natural_widths(columns, rows)) > flow.width)
    if apart:
        columns, rows = _short_rows(layout, unit)
    if content.built is not None and content.sheet_of(TABLES) and columns[-1].title == "LENGTH":
        # depths drilled stand on the sheet of tables, and a column takes scale from the plan
        columns, rows = columns[:-1], [row[:-1] for row in rows]
    together = 1 if apart or not few else stakes
    side_by_side(flow, columns, rows[: most * together], together=together)
    left = len(layout.elements) - most
    if left > 0:
        flow.paragraph(f"{left} more: {content.see('elements.csv')}", STRONG)
    if apart:
        shown = layout.elements[:most] if few else field_corners(layout)
        flow.gap(0.6)
        if not few:
            flow.paragraph("Corners of the field, taped:")
        flow.gap(0.6)
        columns, rows = tape_rows(shown, ties, unit)
        wide = sum(natural_widths(columns, rows)) > flow.width
        if wide:
            columns, rows = stake_tapes(shown, ties, unit)
        side_by_side(flow, columns, rows, together=stakes if wide else 1)


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


def _stakes(element: Element) -> list[tuple[str, XY]]:
    """Name and place of each stake of an element."""
    first, *rest = tie_targets(element)
    return [(element.id, first), *((f"{element.id} end", point) for point in rest)]


def tape_columns(ties: tuple[TiePoint, ...]) -> list[Column]:
    """One column of taped distances for each tie point."""
    return [Column(f"FROM {tie.name}", "right") for tie in ties]


def tapes(point: XY, ties: tuple[TiePoint, ...], unit: DisplayUnit) -> Row:
    """Distances of a place from each tie point."""
    return tuple(
        mark(math.dist(point, tie.at), unit) + ("" if tie.sees(point) else HIDDEN) for tie in ties
    )


def tape_rows(
    elements: Sequence[Element], ties: tuple[TiePoint, ...], unit: DisplayUnit
) -> tuple[list[Column], list[Row]]:
    """Tapes alone: one row for every element, both ends of a trench in it."""
    ends = ("START ", "END ") if isinstance(elements[0], Trench) else ("FROM ",)
    columns = [Column(f"{end}{tie.name}", "right") for end in ends for tie in ties]
    rows = [
        (one.id, *(tape for at in tie_targets(one) for tape in tapes(at, ties, unit)))
        for one in elements
    ]
    return [Column("ID"), *columns], rows


def stake_tapes(
    elements: Sequence[Element], ties: tuple[TiePoint, ...], unit: DisplayUnit
) -> tuple[list[Column], list[Row]]:
    """Tapes alone: one row for every stake."""
    rows = [(name, *tapes(at, ties, unit)) for one in elements for name, at in _stakes(one)]
    return [Column("ID"), *tape_columns(ties)], rows


@kept
def element_rows(
    layout: Layout, unit: DisplayUnit, ties: tuple[TiePoint, ...]
) -> tuple[list[Column], list[Row]]:
    """Columns and rows with coordinates, tapes and sizes: one row for every stake."""
    columns = [Column("ID"), Column(f"EAST {unit}", "right"), Column(f"NORTH {unit}", "right")]
    columns += tape_columns(ties)
    sizes = _sizes(layout, unit)
    if sizes:
        columns.append(Column("DEPTH" if layout.system == "open" else "LENGTH", "right"))
    leaning = _leaning(layout)
    if leaning:
        columns += [Column("TILT °", "right"), Column("TOWARDS °", "right")]
    rows: list[Row] = []
    for number, element in enumerate(layout.elements):
        for name, point in _stakes(element):
            place = (coordinate(point[0], unit), coordinate(point[1], unit))
            row = (name, *place, *tapes(point, ties, unit))
            # the length stands once, with the first stake
            size = (sizes[number] if name == element.id else "",) if sizes else ()
            lean = _lean(element) if leaning else ()
            rows.append((*row, *size, *lean))
        if isinstance(element, Trench) and element.is_ring:
            rows[-1] = (f"{element.id} end", "ring", "at start", *[""] * (len(columns) - 3))
    return columns, rows


def _leaning(layout: Layout) -> bool:
    """Whether a bore leans, so that tilt and azimuth are listed."""
    return any(isinstance(one, Bore) and one.tilt_deg > 0 for one in layout.elements)


def _lean(element: Element) -> Row:
    """Tilt and azimuth of a bore."""
    if not isinstance(element, Bore):
        return ("", "")
    return (f"{element.tilt_deg:.1f}", f"{element.azimuth_deg:.0f}" if element.tilt_deg else "-")


@kept
def _short_rows(layout: Layout, unit: DisplayUnit) -> tuple[list[Column], list[Row]]:
    """Columns and rows without tapes: one row for every element, both ends of a trench in it."""
    if layout.system != "horizontal":
        return element_rows(layout, unit, ())
    names = ("START E", "START N", "END E", "END N", "LENGTH")
    columns = [Column("ID"), *(Column(name, "right") for name in names)]
    rows = [
        (
            element.id,
            *_short_ends(element, unit),
            size,
        )
        for element, size in zip(layout.elements, _sizes(layout, unit), strict=True)
    ]
    return columns, rows


def _short_ends(element: Element, unit: DisplayUnit) -> Row:
    """Coordinates of both ends of a trench; of a ring those of its start."""
    start, end = (tuple(coordinate(v, unit) for v in at) for at in tie_targets(element))
    ring = isinstance(element, Trench) and element.is_ring
    return (*start, *(("ring", "at start") if ring else end))


def _sizes(layout: Layout, unit: DisplayUnit) -> Sequence[str]:
    """Length or depth of every element; empty where all are alike."""
    if _alike(layout):
        return ()
    if layout.system == "horizontal":
        return hundredths([element.length_m for element in layout.elements], unit)
    return [
        mark(one.depth_m if isinstance(one, Well) else one.length_m, unit, rounding="down")
        for one in layout.elements
    ]


def side_by_side(
    flow: Flow, columns: list[Column], rows: Sequence[Row], *, together: int = 1
) -> None:
    """The table in as many parts side by side as the width takes.

    Parameters
    ----------
    together
        So many rows belong together and are not parted.
    """
    needed = sum(natural_widths(columns, rows)) + 1.0
    parts = max(1, min(int((flow.width + 2.0) / (needed + 2.0)), math.ceil(len(rows) / 4)))
    tall = together * math.ceil(len(rows) / parts / together)
    parts = max(1, math.ceil(len(rows) / max(tall, 1)))
    width = (flow.width - 2.0 * (parts - 1)) / parts
    top = deepest = flow.depth
    before = len(flow.cuts)
    for part in range(parts):
        flow.depth = top
        piece = rows[part * tall : (part + 1) * tall]
        flow.table(columns, piece, left=part * (width + 2.0), width=width)
        deepest = max(deepest, flow.depth)
    if parts > 1:
        # parts beside each other cannot be cut one by one
        del flow.cuts[before:]
    flow.depth = deepest


def _header_table(
    flow: Flow, content: PlanContent, layout: Layout, *, ties: tuple[TiePoint, ...], listed: bool
) -> None:
    """Length of the header trench, and the points it is staked by."""
    assert layout.header is not None
    unit = content.site.unit
    flow.gap(1.2)
    dug = dug_length(content.site, layout.header)
    flow.paragraph(header_title(layout.header, unit, dug_m=dug), STRONG)
    points = header_points(layout) if listed else ()
    shown = _listed(points)
    if not shown:
        return
    flow.gap(0.8)
    columns = [Column("ID"), Column(f"EAST {unit}", "right"), Column(f"NORTH {unit}", "right")]
    columns += tape_columns(ties)
    rows = [
        (
            point.name, coordinate(point.at[0], unit), coordinate(point.at[1], unit),
            *tapes(point.at, ties, unit),
        )
        for point in shown
    ]  # fmt: skip
    side_by_side(flow, columns, rows)
    words = "H1: the entry."
    if len(points) > 1:
        words += " Others: bends and branches of the header."
    if len(shown) < len(points):
        others = f"{len(points) - len(shown)} others: {content.see('summary.json')}"
        words = f"H1: the entry. {others}."
    flow.paragraph(words + hidden_words(layout, shown, ties))


def header_title(header: Header, unit: DisplayUnit, *, dug_m: float | None = None) -> str:
    """Length of the header, for pricing, and where it leads.

    ``dug_m``: how much of it is trench [m], where some lies on the bottom of a pond.
    """
    decimals = unit.sign_decimals
    length = format_length(header.length_m, unit, decimals, rounding="up")
    where = f"TO {(header.entry.label or header.entry.id).upper()}"
    if dug_m is None or header.length_m - dug_m < 0.05:
        return f"HEADER TRENCH {length} {where}"
    dug = format_length(dug_m, unit, decimals, rounding="up")
    water = format_length(header.length_m - dug_m, unit, decimals, rounding="up")
    return f"HEADER {length} {where}: {dug} IN A TRENCH, {water} ON THE BOTTOM OF THE POND"


def _listed(points: tuple[HeaderPoint, ...]) -> tuple[HeaderPoint, ...]:
    if len(points) <= MOST_POINTS:
        return points
    return tuple(point for point in points if point.main)[:MOST_POINTS]


def coordinate_note(layout: Layout, unit: DisplayUnit, *, bends: str = "see elements.csv") -> str:
    """What the coordinates are of, and what all elements have in common."""
    first = layout.elements[0]
    depth = short_mark(
        first.water_depth_m if isinstance(first, Coil) else first.depth_m, unit, rounding="down"
    )
    match first.kind:
        case "trench":
            more = trench_facts(layout, unit, bends=bends)
            facts = f"Start and end of trench {unit.center} lines, {unit}. {depth} deep, {more}."
        case "coil":
            size = short_mark(first.reach_m * 2, unit)
            facts = f"Coil {unit.center}s, {unit}. {size} across, in water {depth} deep."
        case "well":
            facts = f"Well {unit.center}s, {unit}."
        case _:
            size = inches(first.reach_m * 2, unit)
            facts = f"Bore {unit.center}s, {unit}. Vertical, {size} across."
            if _leaning(layout):
                facts = f"Bore collars, {unit}, {size} across. {leaning_words(unit)}"
    return facts


def frame_note(content: PlanContent, ties: tuple[TiePoint, ...], *, detail: int) -> str:
    """Where fixed points lie in the same frame, and where its origin is."""
    site = content.site
    places = [(f"{tie.what} {tie.name}", tie.at) for tie in ties]
    header = content.layout.header if content.layout else None
    if header is not None:
        places.append(("entry", (float(header.entry.point.x), float(header.entry.point.y))))
    texts = [f"{name} {_place(at, site.unit)}" for name, at in places]
    texts.append(_corner_words(site, all_corners=detail == EVERYTHING))
    origin = (
        "south-west corner of the parcel's bounding box"
        if site.georeference is not None
        else "that of the site file"
    )
    minded = tie_words(content.layout, ties) if content.layout else ""
    return f"In the same frame: {'; '.join(texts)}. Origin: {origin}. {minded}".strip()


def _corner_words(site: Site, *, all_corners: bool) -> str:
    """Property corners, counter-clockwise from the one nearest to the south-west."""
    found = [side.start for side in courses(site.parcel)]
    if not site.parcel.exterior.is_ccw:
        found.reverse()
    first = min(range(len(found)), key=lambda k: (found[k][0] + found[k][1], found[k]))
    found = [*found[first:], *found[:first]]
    if all_corners and len(found) <= MOST_CORNERS:
        places = ", ".join(_place(at, site.unit) for at in found)
        return f"property corners from the south-west, counter-clockwise: {places}"
    return f"south-west property corner {_place(found[0], site.unit)}"


def _place(at: XY, unit: DisplayUnit) -> str:
    words = f"E {coordinate(at[0], unit)} N {coordinate(at[1], unit)}"
    return words.replace(" ", NO_BREAK)
