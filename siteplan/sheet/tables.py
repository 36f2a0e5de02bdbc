"""Tables of the strip: elements, separations, basis of length, short sides."""

from __future__ import annotations

import math

from siteplan.checks.model import Separation
from siteplan.geometry.boundary import Side
from siteplan.layout.model import Coil, Element, Layout, Trench, Well
from siteplan.rules.model import Rule
from siteplan.sheet.content import PlanContent
from siteplan.sheet.flow import BODY_MM, STRONG, Block, Column, Flow, natural_widths
from siteplan.sheet.formats import coordinate, mark, short_mark
from siteplan.sheet.parcel import MOST_TAGS, is_listed, side_text
from siteplan.sheet.text import shortened
from siteplan.sheet.ties import TiePoint, tie_points
from siteplan.site.model import DisplayUnit
from siteplan.units import format_flow, format_length

NOUNS = {
    "bore": ("BORE", "BORES"), "trench": ("TRENCH", "TRENCHES"),
    "coil": ("POND COIL", "POND COILS"), "well": ("WELL", "WELLS"),
}  # fmt: skip
MOST_TIED = 24
"""So many elements have their taped distances on the sheet."""


def elements_block(content: PlanContent, width: float, most: int) -> Block:
    """Table of the elements with coordinates, at most ``most`` of them; the rest is counted."""
    flow = Flow(width)
    layout, unit = content.layout, content.site.unit
    if layout is None or not layout.elements:
        flow.heading("WHAT GOES IN THE GROUND")
        flow.paragraph(f"Nothing. {layout.obstacle if layout else ''}".strip())
        return flow.block()
    flow.heading(elements_title(layout, unit))
    ties = tie_points(content.site, layout)
    columns, rows = _element_rows(layout, unit, ties if len(layout.elements) <= MOST_TIED else ())
    if sum(natural_widths(columns, rows)) > width:
        columns, rows = _element_rows(layout, unit, ())
    shown = rows[:most]
    _side_by_side(flow, columns, shown)
    if len(rows) > len(shown):
        flow.paragraph(f"{len(rows) - len(shown)} more: see elements.csv", STRONG)
    flow.paragraph(_coordinate_note(layout, unit))
    flow.paragraph(_frame_note(content, ties))
    return flow.block()


def elements_title(layout: Layout, unit: DisplayUnit) -> str:
    """What goes in the ground, in one line.

    Examples
    --------
    >>> from siteplan.layout.model import Bore
    >>> bores = tuple(Bore(f"B{k}", 6.1 * k, 0.0, 0.15, 91.44) for k in (1, 2))
    >>> elements_title(Layout("vertical", bores, None, 6.1, 0.0), "ft")
    '2 BORES × 300 ft = 600 ft'
    """
    noun = NOUNS[layout.elements[0].kind][len(layout.elements) > 1]
    count = len(layout.elements)
    total = format_length(layout.length_m, unit, 0, rounding="down")
    if layout.system == "open":
        return f"{count} {noun}: SUPPLY AND RETURN"
    if _alike(layout):
        each = format_length(layout.elements[0].length_m, unit, 0, rounding="down")
        return f"{count} {noun} × {each} = {total}"
    return f"{count} {noun}, TOGETHER {total}"


def _alike(layout: Layout) -> bool:
    """Whether all elements provide the same length, so that no column need repeat it."""
    lengths = [element.length_m for element in layout.elements]
    return layout.system != "open" and max(lengths) - min(lengths) < 0.005


def _frame_note(content: PlanContent, ties: tuple[TiePoint, ...]) -> str:
    """Where the fixed points and the entry lie in the same frame."""
    unit, header = content.site.unit, content.layout.header if content.layout else None
    places = [(f"{tie.what} {tie.name}", *tie.at) for tie in ties]
    if header is not None:
        places.append(("entry", float(header.entry.point.x), float(header.entry.point.y)))
    texts = [f"{name} E {coordinate(x, unit)} N {coordinate(y, unit)}" for name, x, y in places]
    return f"In the same frame: {'; '.join(texts)}."


def _element_rows(
    layout: Layout, unit: DisplayUnit, ties: tuple[TiePoint, ...]
) -> tuple[list[Column], list[tuple[str, ...]]]:
    same = _alike(layout)
    ends = layout.system == "horizontal"
    names = ["FROM E", "FROM N", "TO E", "TO N"] if ends else [f"EAST {unit}", f"NORTH {unit}"]
    columns = [Column("ID"), *(Column(name, "right") for name in names)]
    if not same:
        columns.append(Column("DEPTH" if layout.system == "open" else "LENGTH", "right"))
    rows = [_element_row(element, unit, same=same) for element in layout.elements]
    if ends or not ties:
        return columns, rows
    columns += [Column(f"FROM {tie.name}", "right") for tie in ties]
    points = [(element.x_m, element.y_m) for element in layout.elements]
    tapes = [tuple(mark(math.dist(point, tie.at), unit) for tie in ties) for point in points]
    return columns, [(*row, *tape) for row, tape in zip(rows, tapes, strict=True)]


def _element_row(element: Element, unit: DisplayUnit, *, same: bool) -> tuple[str, ...]:
    points = [(element.x_m, element.y_m)]
    if isinstance(element, Trench):
        points = [(x, y) for x, y, *_ in (element.line.coords[0], element.line.coords[-1])]
    cells = [element.id, *(coordinate(value, unit) for point in points for value in point)]
    if not same:
        size = element.depth_m if isinstance(element, Well) else element.length_m
        cells.append(mark(size, unit, rounding="down"))
    return tuple(cells)


def _side_by_side(flow: Flow, columns: list[Column], rows: list[tuple[str, ...]]) -> None:
    """The table in as many parts side by side as the width takes."""
    needed = sum(natural_widths(columns, rows)) + 1.0
    parts = max(1, min(int((flow.width + 2.0) / (needed + 2.0)), math.ceil(len(rows) / 4)))
    tall = math.ceil(len(rows) / parts)
    parts = math.ceil(len(rows) / tall)
    width = (flow.width - 2.0 * (parts - 1)) / parts
    top = deepest = flow.depth
    for part in range(parts):
        flow.depth = top
        piece = rows[part * tall : (part + 1) * tall]
        flow.table(columns, piece, left=part * (width + 2.0), width=width)
        deepest = max(deepest, flow.depth)
    flow.depth = deepest


def _coordinate_note(layout: Layout, unit: DisplayUnit) -> str:
    first = layout.elements[0]
    depth = short_mark(first.water_depth_m if isinstance(first, Coil) else first.depth_m, unit)
    match first.kind:
        case "trench":
            more = _trench_facts(layout, unit)
            facts = f"Ends of trench centre lines, {unit}. {depth} deep, {more}."
        case "coil":
            size = short_mark(first.reach_m * 2, unit)
            facts = f"Coil centres, {unit}. {size} across, in water {depth} deep."
        case "well":
            facts = f"Well centres, {unit}."
        case _:
            facts = f"Bore centres, {unit}. Vertical, {_inches(first.reach_m * 2, unit)} across."
    return facts


def _trench_facts(layout: Layout, unit: DisplayUnit) -> str:
    trenches = [element for element in layout.elements if isinstance(element, Trench)]
    bent = any(len(trench.line.coords) > 2 for trench in trenches)
    facts = f"{short_mark(trenches[0].width_m, unit)} wide, {trenches[0].pipes} pipes"
    return facts + (". Bends: see elements.csv" if bent else "")


def _inches(length_m: float, unit: DisplayUnit) -> str:
    if unit == "ft":
        return f"{length_m / 0.0254:.2g} in"
    return f"{length_m * 1000:.0f} mm"


def separations_block(content: PlanContent, width: float) -> Block | None:
    """Table of required and provided distances, with the sources spelled out below it."""
    if not content.separations:
        return None
    flow = Flow(width)
    flow.heading("SEPARATIONS")
    named = [_sources(one) for one in content.separations]
    sources = list(dict.fromkeys(source for row in named for source in row))
    columns = [
        Column("FROM – TO", wrap=True), Column("REQ'D", "right"), Column("PROV'D", "right"),
        Column("RULE", "center"), Column("MEETS", "center"),
    ]  # fmt: skip
    rows = [
        _separation_row(one, content.site.unit, [sources.index(source) + 1 for source in row])
        for one, row in zip(content.separations, named, strict=True)
    ]
    flow.table(columns, rows)
    flow.gap(0.4)
    for number, source in enumerate(sources, 1):
        flow.paragraph(source, indent=5.5, lead=f"[{number}]")
    return flow.block()


def _sources(one: Separation) -> list[str]:
    """Rule that decides, then the others that hold for the same pair and ask no more."""
    return list(dict.fromkeys(_source(rule) for rule in (one.rule, *one.others)))


def _source(rule: Rule) -> str:
    words = f"{rule.book}: {rule.source}"
    if rule.measure not in ("nearest part", "machine"):
        words += f", measured by {rule.measure}"
    elif rule.measure == "machine":
        words += ", from the machine's reach"
    return f"{words} ({rule.note})" if rule.note else words


def _separation_row(one: Separation, unit: DisplayUnit, numbers: list[int]) -> tuple[str, ...]:
    element = one.element if one.element != one.part else one.part
    feature = "" if one.feature in ("parcel", "") else f" {one.feature}"
    name = shortened(f"{one.rule.subject.upper()}{feature}", 60.0, BODY_MM)
    return (
        f"{element.upper() if element == 'header' else element} – {name}",
        _required(one.rule, unit),
        mark(one.provided_m, unit, rounding="down"),
        "".join(f"[{number}]" for number in numbers),
        "YES" if one.meets else "NO",
    )


def _required(rule: Rule, unit: DisplayUnit) -> str:
    if rule.says == "at most":
        return f"≤{mark(rule.distance_m, unit, rounding='down')}"
    return mark(rule.distance_m, unit, rounding="up")


def basis_block(content: PlanContent, width: float) -> Block:
    """Length required, on whose word, and length provided."""
    flow = Flow(width)
    unit, required = content.site.unit, content.required
    flow.heading("BASIS OF LENGTH")
    if required.flow_m3s:
        flow.paragraph(f"Water required: {format_flow(required.flow_m3s, unit, rounding='up')}.")
    else:
        provided = content.layout.length_m if content.layout else 0.0
        needed = format_length(required.length_m, unit, 0, rounding="up")
        found = format_length(provided, unit, 0, rounding="down")
        flow.paragraph(f"Required {needed}, provided {found}.", STRONG)
    flow.paragraph(required.reason)
    return flow.block()


def courses_block(
    tagged: tuple[tuple[str, Side], ...], unit: DisplayUnit, width: float, most: int
) -> Block | None:
    """Sides that are too short for their label on the plan, at most ``most`` of them."""
    short = [(tag, side) for tag, side in tagged if is_listed(tag)]
    if not short:
        return None
    flow = Flow(width)
    flow.heading("SHORT SIDES")
    rows: list[tuple[str, ...]] = [
        (tag, "  ".join(side_text("", side, unit)).strip()) for tag, side in short[:most]
    ]
    columns = [Column("SIDE"), Column("BEARING AND DISTANCE", wrap=True)]
    _side_by_side(flow, columns, rows)
    if len(short) > MOST_TAGS:
        flow.paragraph("In order along the boundary; not every tag has room on the plan.")
    if len(short) > most:
        flow.paragraph(f"{len(short) - most} more: measure them in the drawing.", STRONG)
    return flow.block()
