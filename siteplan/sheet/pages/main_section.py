"""The section of what a sheet is about: of trench, bore, pond coil or well pair."""

from __future__ import annotations

from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.details.bore import bore_block
from siteplan.sheet.details.pond import pond_block
from siteplan.sheet.details.trench import section_block
from siteplan.sheet.details.well import well_block
from siteplan.sheet.kept import kept
from siteplan.sheet.place.blocks import Block


def has_section(content: PlanContent) -> bool:
    """Whether there is anything to be cut: nobody measured a section of what was built."""
    layout = content.layout
    return layout is not None and bool(layout.elements) and content.built is None


@kept
def main_section(content: PlanContent, width: float, tallest_mm: float) -> Block | None:
    """Section of the elements, drawn up to a height [mm]; None where no scale holds it."""
    if not has_section(content):
        return None
    trenches = section_block(content, width, tallest_mm)
    if trenches is not None:
        return trenches
    blocks = (
        draw(content, width, room_mm=2 * tallest_mm)
        for draw in (bore_block, pond_block, well_block)
    )
    return next((block for block in blocks if block is not None), None)
