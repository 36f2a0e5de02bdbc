"""One picture for the owner: the lot with the loop on it, and in words what an owner asks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Final

from siteplan.alternatives.weighing import nothing_helps
from siteplan.export.ink import ink
from siteplan.export.picture import write_picture
from siteplan.findings.words import capitalised, words_of
from siteplan.plan import SitePlan
from siteplan.report.comparison_words import comparison_lines
from siteplan.report.hinges import hinge_lines
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.content.stakes import SettingOut
from siteplan.sheet.kept import composing
from siteplan.sheet.model import Paper, Polyline, Primitive, Sheet, View
from siteplan.sheet.pages.compose import finished
from siteplan.sheet.pages.owner import loop_sketch, lot_sketch, told_section, whom_to_call
from siteplan.sheet.place.blocks import Block, Face, Flow
from siteplan.sheet.plan_view.features import label_features
from siteplan.sheet.style.paper import paper
from siteplan.sheet.style.styles import layer
from siteplan.sheet.tables.comparison import comparison_table
from siteplan.specification.owner import what_lies_there, what_to_leave
from siteplan.web.fields import on_page

DPI: Final = 200
OFFER: Final = "offer"
"""Name of its block, for programs."""
LEFT: Final = 0.55
"""Share of the page that the lot takes."""
PAD_MM: Final = 4.0
EDGE_MM: Final = 11.0
"""Paper kept free around the lot for names [mm]."""
HEIGHTS_MM: Final = (3.0, 2.8, 2.6, 2.4, 2.2, 2.0)
"""Heights of its sentences: the largest that has room [mm]."""
FITS: Final = "There is room for a ground loop on this lot."
ROOM_ALONE: Final = "This lot has the room for a ground loop, but not as it is planned so far."
FITS_NOT: Final = "As drawn, this lot has no room for the ground loop."
CAUTIONS: Final = (
    "To talk over, and not a permit: stake, dig and build from the sealed sheets alone.",
    "Have utilities located before anybody digs. Not a boundary survey.",
    "Local codes and licensed practice have the last word.",
)


@composing()
def offer_picture(plan: SitePlan, path: Path) -> None:
    """Write the picture.

    Raises
    ------
    ExportError
        The file cannot be written.
    """
    write_picture(ink(offer_page(plan)), path, dpi=DPI)


def offer_page(plan: SitePlan) -> Sheet:
    """The page of which the picture is made, on paper as an office prints it."""
    content, size = plan.content(), plan.site.unit.drawing.papers[0]
    options = replace(content.site.sheet, size=size)
    content = replace(content, site=replace(content.site, sheet=options))
    page = paper(size).shrunk()
    view = _view(content, page)
    layout = content.layout
    if layout is not None and layout.elements:
        canvas = loop_sketch(content, layout, SettingOut(()), view)
    else:
        canvas = lot_sketch(content, view)
        label_features(canvas, content.site)
    across = page.margin_mm + _left_mm(page)
    top = page.height_mm - page.margin_mm - 1.0
    words = _largest(plan, content, page).at(across + PAD_MM, top)
    rule = Polyline(
        ((across, page.margin_mm), (across, page.height_mm - page.margin_mm)),
        "rule", layer("frame"), "paper",
    )  # fmt: skip
    items: list[Primitive] = [*canvas.primitives, *words, rule]
    return finished(content, page, view, items)


def _left_mm(page: Paper) -> float:
    return LEFT * (page.width_mm - 2 * page.margin_mm)


def _view(content: PlanContent, page: Paper) -> View:
    """A window on the whole lot."""
    west, south, east, north = content.site.parcel.bounds
    width, height = _left_mm(page), page.height_mm - 2 * page.margin_mm
    room = width - 2 * EDGE_MM, height - 2 * EDGE_MM
    ratio = max((east - west) / room[0], (north - south) / room[1]) * 1000.0
    center = (west + east) / 2, (south + north) / 2
    margin = page.margin_mm
    return View(ratio, content.site.unit.name, margin, margin, width, height, center)


def _largest(plan: SitePlan, content: PlanContent, page: Paper) -> Block:
    """Everything in words, as large as the page has room for."""
    width = page.width_mm - 2 * page.margin_mm - _left_mm(page) - 2 * PAD_MM
    room = page.height_mm - 2 * page.margin_mm - 2.0
    blocks = (_told(plan, content, width, Face(height)) for height in HEIGHTS_MM)
    fitting = (block for block in blocks if block.height_mm <= room)
    return next(fitting, None) or _told(plan, content, width, Face(HEIGHTS_MM[-1]))


def _told(plan: SitePlan, content: PlanContent, width: float, face: Face) -> Block:
    """Everything in words, from the title down."""
    flow, project = Flow(width, OFFER), plan.site.project
    flow.depth += 5.6
    flow.text("GROUND LOOP: AN OFFER", 0.0, Face(4.6, bold=True))
    flow.gap(2.0)
    about = (project.owner, project.address, project.date.isoformat())
    flow.paragraph(" · ".join(filter(None, about)), face)
    flow.paragraph("North is up.", face)
    flow.gap(1.0)
    room = ROOM_ALONE if plan.drawn.has_room else FITS_NOT
    flow.paragraph(FITS if plan.fits else room, replace(face, bold=True))
    flow.gap(2.0)
    for title, told in _sections(plan):
        told_section(flow, title, told, face)
    if len(plan.compared) > 1:
        lines = comparison_lines(plan.compared, plan.site.unit)
        flow.heading("LOOP TYPES THAT HAVE ROOM")
        flow.table(comparison_table(content, lines, whole=False))
        flow.paragraph("* Drawn here.")
        flow.gap(1.6)
    flow.heading("WHOM TO CALL")
    for line in whom_to_call(content):
        flow.paragraph(line, replace(face, bold=True))
    flow.gap(1.6)
    told_section(flow, "BEFORE ANYTHING IS BUILT", CAUTIONS, face)
    return flow.block()


def _sections(plan: SitePlan) -> Iterator[tuple[str, list[str]]]:
    """Headings with the sentences under them, those left out that have none."""
    site, layout, unit = plan.site, plan.drawn.layout, plan.site.unit
    built = layout is not None and bool(layout.elements)
    said: dict[str, list[str]] = {}
    if not plan.fits:
        nothing = nothing_helps(plan.weighing, plan.drawn)
        said["WHY NOT"] = [words_of(plan.drawn.why, unit, on_paper=True)]
        said["WHAT WOULD HELP"] = [
            f"{each.system}: {words_of(each.change, unit, on_paper=True)}"
            for each in plan.weighing.remedies
        ] or ([] if nothing is None else [words_of(nothing, unit, on_paper=True)])
    elif layout is not None and built:
        told = {
            "WHAT IS BUILT": what_lies_there(layout),
            "AFTERWARDS": what_to_leave(site, layout),
        }
        said = {k: [words_of(each, unit, on_paper=True) for each in v] for k, v in told.items()}
    said["STILL OPEN"] = list(hinge_lines(site, plan.drawn))
    for title, sentences in said.items():
        if sentences:
            yield title, [_sentence(on_page(each)) for each in sentences]


def _sentence(words: str) -> str:
    """Words with a capital and a full stop, as people read them."""
    return f"{capitalised(words).rstrip('.')}."
