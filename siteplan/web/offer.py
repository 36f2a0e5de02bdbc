"""One picture for the owner: the plan sheet with verdict, comparison and cautions under it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Final

from siteplan.export.ink import ink
from siteplan.export.picture import write_picture
from siteplan.findings.words import words_of
from siteplan.plan import SitePlan
from siteplan.report.comparison_words import IN_SHORT, comparison_heads, comparison_lines
from siteplan.sheet.kept import composing
from siteplan.sheet.model import Paper, Primitive, Sheet, Text, moved
from siteplan.sheet.pages.owner import whom_to_call
from siteplan.sheet.pages.set import compose_set
from siteplan.sheet.style.styles import layer
from siteplan.sheet.style.text import wrapped
from siteplan.specification.owner import what_to_leave

DPI: Final = 150
EDGE_MM: Final = 12.0
HEIGHT_MM: Final = 2.8
LEADING: Final = 1.75
CAUTIONS: Final = (
    "An offer to talk over, not a permit: stake, dig and build from the sealed sheets alone.",
    "Locate utilities before anybody digs. Not a boundary survey.",
    "Local codes and licensed practice have the last word.",
)


@composing()
def offer_picture(plan: SitePlan, path: Path) -> None:
    """Write the picture: what the plan sheet shows, and in words what an owner asks.

    Raises
    ------
    ExportError
        The plan does not fit on its paper.
    """
    sheet = compose_set(plan.content())[0]
    lines = _lines(plan, sheet.paper.width_mm - 2 * EDGE_MM)
    band = (len(lines) + 2) * HEIGHT_MM * LEADING
    write_picture(ink(_with_words(sheet, lines, band)), path, dpi=DPI)


def _with_words(sheet: Sheet, lines: list[tuple[str, bool]], band: float) -> Sheet:
    """The sheet on longer paper, moved up over a band of words."""
    paper, view = sheet.paper, sheet.view
    longer = Paper(paper.name, paper.width_mm, paper.height_mm + band, paper.margin_mm)
    up: list[Primitive] = [
        moved(item, 0.0, band) if item.space == "paper" else item for item in sheet.primitives
    ]
    for number, (text, bold) in enumerate(lines, start=1):
        at = (EDGE_MM, band - number * HEIGHT_MM * LEADING)
        up.append(Text(text, at, HEIGHT_MM, "text", layer("label"), "paper", bold=bold))
    return replace(
        sheet,
        paper=longer,
        view=replace(view, bottom_mm=view.bottom_mm + band),
        primitives=tuple(up),
    )


def _lines(plan: SitePlan, width_mm: float) -> list[tuple[str, bool]]:
    unit = plan.site.unit
    content = plan.content()
    told: list[tuple[str, bool]] = [(content.verdict, True)]
    heads = comparison_heads(plan.compared)
    for line in comparison_lines(plan.compared, unit) if len(plan.compared) > 1 else ():
        if line.name in IN_SHORT:
            cells = (f"{head} {cell}" for head, cell in zip(heads, line.cells, strict=True) if cell)
            told.append((f"{line.title}: {'; '.join(cells)}", False))
    if content.layout is not None:
        leave = what_to_leave(plan.site, content.layout)
        told += [(words_of(each, unit, on_paper=True), False) for each in leave]
        told.append((" · ".join(whom_to_call(content)), True))
    told += [(caution, False) for caution in CAUTIONS]
    return [
        (row, bold) for text, bold in told for row in wrapped(text, width_mm, HEIGHT_MM, bold=bold)
    ]
