"""The owner's page: one page to hang beside the heat pump, a draft with the plan, final as built.

It is a file of its own and no sheet of the set: it hangs on a wall on letter paper, whatever paper
the permit office takes, and is not what a permit is given for.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Final

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.advisories.bounds import ties_asked
from siteplan.findings.model import Reason, reason
from siteplan.findings.words import words_of
from siteplan.layout.elements import Trench
from siteplan.layout.model import Layout
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.content.setting_out import record_ties, tied_from
from siteplan.sheet.content.side_lines import corners_named
from siteplan.sheet.content.sides import sides_of
from siteplan.sheet.content.stakes import SettingOut
from siteplan.sheet.content.ties import stake_names
from siteplan.sheet.kept import composing
from siteplan.sheet.model import Paper, Polyline, Primitive, Sheet, View
from siteplan.sheet.pages.compose import finished
from siteplan.sheet.place.blocks import Block, Face, Flow, side_by_side
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.plan_view.exchanger import draw_layout, label_entry, label_layout
from siteplan.sheet.plan_view.features import draw_feature, label_features
from siteplan.sheet.plan_view.parcel import draw_parcel
from siteplan.sheet.style.paper import paper
from siteplan.sheet.style.styles import layer
from siteplan.sheet.tables.elements import field_corners
from siteplan.sheet.tables.plan_names import on_plan
from siteplan.sheet.tables.setting_out import setting_table, setting_words
from siteplan.specification.owner import (
    KEPT_CLEAR_M,
    what_is_in_it,
    what_lies_there,
    what_to_leave,
)

TITLE: Final = "OWNER'S PAGE"
OWNER: Final = "owner"
"""Name of its blocks, for programs."""
PAD_MM: Final = 4.0
LEFT: Final = 0.5
"""Share of the page that sketch and tapes take."""
MOST_TIED: Final = 14
"""More stakes than this have not all their tapes here: then those at the corners of the field."""
AROUND_M: Final = 4.0
"""Ground shown around what is drawn [m]."""
EDGE_MM: Final = 9.0
"""Paper kept free around it for names [mm]."""
HEIGHTS_MM: Final = (3.0, 2.8, 2.6, 2.4, 2.2, 2.0)
"""Heights of its sentences, which are read from a step away: the largest that has room [mm]."""
HATCH_GAP_MM: Final = 2.6


@composing()
def owner_page(content: PlanContent) -> Sheet | None:
    """The page, None where nothing goes in the ground."""
    layout = content.layout
    if layout is None or not layout.elements:
        return None
    size = content.site.unit.drawing.papers[0]
    options = replace(content.site.sheet, size=size)
    told = replace(content, site=replace(content.site, sheet=options))
    page = paper(size).shrunk()
    out = _with_ties_shown(_taped(content, layout), _names(layout))
    left = _tapes(told, layout, out, _left_mm(page) - 2 * PAD_MM)
    window_mm = page.height_mm - 2 * page.margin_mm - left.height_mm - 2 * PAD_MM
    view = _view(told, layout, out, page, window_mm)
    canvas = loop_sketch(told, layout, out, view)
    right = _largest(told, layout, page)
    items = (*canvas.primitives, *_placed(page, left, right))
    sheet = finished(told, page, view, items, unplaced=tuple(canvas.unplaced))
    return replace(sheet, name=TITLE, number=TITLE)


def _left_mm(page: Paper) -> float:
    return LEFT * (page.width_mm - 2 * page.margin_mm)


def _taped(content: PlanContent, layout: Layout) -> SettingOut:
    """Every stake from corners and lot lines: pegs are gone once the field is filled."""
    plan, asked = content.setting_out, ties_asked(content.books)
    if content.built is not None or not plan.lines:
        return plan
    ties = record_ties(content.site, layout, asked)
    taped = tied_from(content.site, layout, ties, asked).by_name
    pegged = {line.name for line in plan.lines}
    stakes = tuple(taped[stake.name] if stake.line in pegged else stake for stake in plan.stakes)
    return SettingOut(ties, stakes=stakes)


def _with_ties_shown(out: SettingOut, names: Sequence[str]) -> SettingOut:
    """These stakes alone, with the corners from which they are taped."""
    stakes = tuple(out.by_name[name] for name in names if name in out.by_name)
    shown = {tape.tie for stake in stakes for tape in stake.tapes}
    shown |= {corner for stake in stakes for corner in corners_named(stake.line)}
    return SettingOut(tuple(tie for tie in out.ties if tie.name in shown), stakes=stakes)


def _names(layout: Layout) -> tuple[str, ...]:
    """Names of the stakes whose tapes are told."""
    names = [name for element in layout.elements for name in stake_names(element)]
    if len(names) > MOST_TIED:
        names = [name for element in field_corners(layout) for name in stake_names(element)]
    header = ("H1",) if layout.header is not None else ()
    return (*names, *header)


def _tapes(content: PlanContent, layout: Layout, out: SettingOut, width: float) -> Block:
    """Where the loop lies: two tapes and a side for each stake."""
    flow = Flow(width, OWNER)
    flow.heading("WHERE IT LIES")
    names = _names(layout)
    count = sum(len(stake_names(element)) for element in layout.elements)
    code = "owner-corners-taped" if count > MOST_TIED else "owner-tapes"
    flow.paragraph(words_of(reason(code), content.site.unit, on_paper=True))
    flow.gap(0.8)
    side_by_side(flow, setting_table(out, names, content.site.unit), together=2)
    flow.gap(0.6)
    corners = (f"{tie.name} {tie.what}" for tie in out.ties)
    end = " end: far end of the trench." if layout.of(Trench) else ""
    entry = " H1: where the pipe enters." if layout.header is not None else ""
    read = setting_words(out, content.site.unit)
    flow.paragraph(f"{', '.join(corners)}. North is up. {read}{end}{entry}")
    return flow.block()


def _view(
    content: PlanContent, layout: Layout, out: SettingOut, page: Paper, window_mm: float
) -> View:  # fmt: skip
    """The window over the tapes: the loop, its header, and the corners it is taped from."""
    width, margin = _left_mm(page), page.margin_mm
    shown = shapely.union_all([_built(layout), shapely.MultiPoint([tie.at for tie in out.ties])])
    west, south, east, north = shown.buffer(AROUND_M).bounds
    room = width - 2 * EDGE_MM, window_mm - 2 * EDGE_MM
    ratio = max((east - west) / room[0], (north - south) / room[1]) * 1000.0
    bottom = page.height_mm - margin - window_mm
    center = (west + east) / 2, (south + north) / 2
    label = content.site.unit.name
    return View(ratio, label, margin, bottom, width, window_mm, center)


def _built(layout: Layout) -> BaseGeometry:
    """Ground that the loop takes, as far as it is known."""
    shapes: list[BaseGeometry] = [e.course.buffer(e.reach_m) for e in layout.elements]
    shapes += [crossover.line for crossover in layout.crossovers]
    shapes += layout.header.runs if layout.header is not None else ()
    return shapely.union_all(shapes)


def lot_sketch(content: PlanContent, view: View) -> Canvas:
    """The lot and what is on it, drawn without names."""
    site = content.site
    canvas = Canvas(view, site.unit)
    for feature in site.features:
        draw_feature(canvas, feature, site.unit)
    draw_parcel(canvas, site.parcel, sides_of(site.parcel))
    return canvas


def loop_sketch(content: PlanContent, layout: Layout, out: SettingOut, view: View) -> Canvas:
    """The lot around the loop, and the ground that is left alone, hatched."""
    site, canvas = content.site, lot_sketch(content, view)
    houses = shapely.union_all([house.shape for house in site.of_kind("building")])
    # between the elements of a field nobody digs either
    gap = layout.spacing_m / 2
    closed = shapely.buffer(shapely.buffer(_built(layout), KEPT_CLEAR_M + gap), -gap)
    clear = closed.difference(houses)
    canvas.hatch(clear, "keep-out-hatch", layer("keep-out"), gap=HATCH_GAP_MM)
    canvas.outline(clear, "setback", layer("setback"), ink=2.0)
    bare = replace(layout, access=None, circuits=(), piping=None)
    draw_layout(canvas, bare, (), out.ties)
    # what the table tapes has its name, and in a large field nothing else
    known = set(_names(layout))
    named = tuple(element for element in layout.elements if element.id in known)
    unnamed = tuple(element for element in layout.elements if element.id not in known)
    label_layout(canvas, replace(bare, elements=named), out.ties, unnamed)
    if layout.header is not None:
        label_entry(canvas, layout.header)
    lost = list(canvas.unplaced)
    label_features(canvas, site)
    # what stands around the loop has its names on the plan, which the page does not replace
    canvas.unplaced = lost
    return canvas


def _largest(content: PlanContent, layout: Layout, page: Paper) -> Block:
    """Everything in words, as large as the page has room for."""
    width = page.width_mm - 2 * page.margin_mm - _left_mm(page) - 2 * PAD_MM
    room = page.height_mm - 2 * page.margin_mm - 2.0
    blocks = (_told(content, layout, width, Face(height)) for height in HEIGHTS_MM)
    smallest = Face(HEIGHTS_MM[-1])
    fitting = (block for block in blocks if block.height_mm <= room)
    return next(fitting, None) or _told(content, layout, width, smallest)


def _told(content: PlanContent, layout: Layout, width: float, face: Face) -> Block:
    """Everything in words, from the title down."""
    flow, site = Flow(width, OWNER), content.site
    flow.depth += 5.6
    flow.text("GROUND LOOP: OWNER'S PAGE", 0.0, Face(4.6, bold=True))
    flow.gap(2.0)
    flow.paragraph(_standing(content), replace(face, bold=True))
    flow.paragraph(" · ".join(filter(None, (site.project.owner, site.project.address))), face)
    flow.gap(2.0)
    sections = {
        "WHAT LIES THERE": (*what_lies_there(layout), *_not_measured(content, layout)),
        "WHAT IS IN IT": (*what_is_in_it(site, layout), *_blanks(content, layout)),
        "LEAVE IT ALONE": what_to_leave(site, layout),
        "WHOM TO CALL": (reason("owner-hit"),),
    }
    for title, told in sections.items():
        named = (on_plan(each, site) for each in told)
        told_section(
            flow, title, [words_of(each, site.unit, on_paper=True) for each in named], face
        )
    for line in whom_to_call(content):
        flow.paragraph(line, replace(face, bold=True))
    return flow.block()


def _not_measured(content: PlanContent, layout: Layout) -> Iterator[Reason]:
    """That a record as built has no depths of what was drilled."""
    if content.built is not None and layout.loop.drilled and "depth" not in content.built.names:
        yield reason("owner-depth-planned")


def _blanks(content: PlanContent, layout: Layout) -> Iterator[Reason]:
    """What is written in on the day the loop is filled."""
    if layout.loop.flow:
        return
    if content.built is not None:
        yield reason("owner-as-designed")
    yield reason("owner-as-filled")


def told_section(flow: Flow, title: str, told: Iterable[str], face: Face) -> None:
    """Write sentences under a heading."""
    flow.heading(title)
    for sentence in told:
        flow.paragraph(sentence, face)
        flow.gap(0.7)
    flow.gap(1.6)


def _standing(content: PlanContent) -> str:
    """Whether the page is a draft, or tells what was built."""
    date = content.site.project.date.isoformat()
    if content.built is None:
        told = reason("owner-drawn-draft", date=date)
    else:
        check = reason("owner-built-kept" if content.fits else "owner-built-not-kept")
        told = reason("owner-drawn-built", date=date, check=check)
    return words_of(told, content.site.unit, on_paper=True)


def whom_to_call(content: PlanContent) -> Iterator[str]:
    """Who is called first, who knows the plan, and who marks utilities."""
    site = content.site
    service = site.specification.service or site.project.contractor
    yield f"Loop: {service or '______________________________'}"
    if not site.specification.service:
        yield "Telephone: ______________________________"
    if site.project.prepared_by:
        yield f"Plan: {site.project.prepared_by}"
    yield f"Before any digging: one-call {site.unit.center} (811 in the US)"


def _placed(page: Paper, left: Block, right: Block) -> Iterator[Primitive]:
    """Both columns of text, and the rules between them and the sketch."""
    margin, width = page.margin_mm, _left_mm(page)
    bottom, top = margin, page.height_mm - margin
    edge = bottom + left.height_mm + 2 * PAD_MM
    yield from left.at(margin + PAD_MM, edge - PAD_MM)
    yield from right.at(margin + width + PAD_MM, top - 1.0)
    across = ((margin, edge), (margin + width, edge))
    down = ((margin + width, bottom), (margin + width, top))
    for line in (across, down):
        yield Polyline(line, "rule", layer("frame"), "paper")
