"""The sheet of details: sections of what is built, each to a scale of its own."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from itertools import product
from typing import Final

from shapely import LineString

from siteplan.preferences.table import counts_of, figures_of
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.details.bore import bore_block
from siteplan.sheet.details.groundwater import groundwater_block
from siteplan.sheet.details.header import header_block
from siteplan.sheet.details.pit import pit_block
from siteplan.sheet.details.pond import pond_block
from siteplan.sheet.details.pond_profile import profile_block
from siteplan.sheet.details.trench import section_block
from siteplan.sheet.details.wall import wall_block
from siteplan.sheet.details.well import well_block
from siteplan.sheet.model import Paper, Polyline
from siteplan.sheet.pages.key_plan import location_block
from siteplan.sheet.pages.pages import COLUMN_MM, Form, Page, Writer, pages, put_aside
from siteplan.sheet.pages.strip import PAD_MM

ROOMS: Final = figures_of("sheet.pages.detail_sheets.rooms")
COLUMNS: Final = counts_of("sheet.pages.detail_sheets.columns")
TALL_MM: Final = 70.0
"""Greatest height of the location sketch [mm]."""
STEP_MM: Final = 20.0
"""Of ways that differ by less in what is drawn, the one with most columns is taken [mm]."""
LEAST_DRAWN: Final = 0.5
"""Share of the largest size at which details are still drawn, where that saves a sheet."""
DRAWN: Final = ("section-hole", "section-ground", "trench", "water", "header")
"""Styles by which the size of a drawn section is told."""


@dataclass(frozen=True, slots=True)
class Details:
    """Pages of details, and how they are divided."""

    pages: tuple[Page, ...]
    form: Form


def detail_ways(content: PlanContent, page: Paper) -> list[Details]:
    """Pages of details: as few as there are ways, drawn the largest; then the same drawn smaller.

    Without a page where nothing goes in the ground.
    """
    found: list[tuple[tuple[int, int, int], list[Page], Form]] = []
    for form, room in _ways(page):
        drafted = pages(content, detail_writers(content, room), form)
        drawn = round(sum(_drawn(page) for page in drafted) / STEP_MM)
        rank = (len(drafted), -drawn, -sum(page.place for page in drafted))
        found.append((rank, drafted, form))
    found.sort(key=lambda way: way[0])
    (fewest, largest, _), *_ = (rank for rank, _, _ in found)
    block = location_block(content, COLUMN_MM - 2 * PAD_MM, TALL_MM)
    ways = []
    for (count, drawn, _), drafted, form in found:
        if count == fewest and drawn <= largest * LEAST_DRAWN:
            if drafted:
                put_aside(drafted[-1], block, form)
            ways.append(Details(tuple(drafted), form))
    return ways


def _ways(page: Paper) -> Iterator[tuple[Form, float]]:
    """Divisions of a page, each with the greatest height of a section [mm]."""
    width, height = (size - 2 * page.margin_mm for size in (page.width_mm, page.height_mm))
    for count, room, apart in product(COLUMNS, ROOMS, (True, False)):
        yield Form(page, (width - COLUMN_MM) / count, apart, side_mm=COLUMN_MM), room * height


def _drawn(page: Page) -> float:
    """Sum of the lengths of the lines of the sections on a page [mm]."""
    lines = (item for item in page.items if isinstance(item, Polyline) and item.style in DRAWN)
    return sum(LineString(line.points).length for line in lines)


def detail_writers(content: PlanContent, room_mm: float) -> list[Writer]:
    """What draws each detail, the exchanger first; none where nothing goes in the ground."""
    if content.layout is None or not content.layout.elements:
        return []
    drawn = (
        bore_block,
        pond_block,
        profile_block,
        well_block,
        groundwater_block,
        header_block,
        pit_block,
        wall_block,
    )
    return [
        partial(section_block, tallest_mm=room_mm),
        *(partial(block, room_mm=room_mm) for block in drawn),
    ]
