"""The sheet of details: sections of what is built, each to a scale of its own."""

from __future__ import annotations

from typing import Final

from siteplan.sheet.bore_detail import bore_block
from siteplan.sheet.content import PlanContent
from siteplan.sheet.flow import Block
from siteplan.sheet.header_detail import header_block, wall_block
from siteplan.sheet.pages import Writer
from siteplan.sheet.pond_detail import pond_block
from siteplan.sheet.section import section_block
from siteplan.sheet.well_detail import well_block

TALLEST_MM: Final = 90.0
"""Depth of a trench on the sheet of details, at most [mm]."""


def detail_writers(content: PlanContent) -> list[Writer]:
    """What draws each detail, the exchanger first; none where nothing goes in the ground."""
    if content.layout is None or not content.layout.elements:
        return []
    return [trench_block, bore_block, pond_block, well_block, header_block, wall_block]


def trench_block(content: PlanContent, width: float) -> Block | None:
    """Section of the trenches as large as the column takes."""
    return section_block(content, width, TALLEST_MM)
