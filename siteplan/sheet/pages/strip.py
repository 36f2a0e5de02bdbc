"""The strip on the right: blocks in fixed order, in as few columns as hold them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import product

from siteplan.geometry.boundary import Side
from siteplan.sheet.content.content import TABLES, PlanContent
from siteplan.sheet.kept import kept
from siteplan.sheet.marks import TOLD_ELSEWHERE
from siteplan.sheet.model import Paper, Polyline, Primitive, View
from siteplan.sheet.pages.key_plan import location_block
from siteplan.sheet.pages.keyed_pipes import begun_block, keyed_blocks
from siteplan.sheet.pages.legend import legend_block
from siteplan.sheet.pages.main_section import main_section
from siteplan.sheet.pages.title_block import (
    index_block,
    legal_block,
    revisions_block,
    scale_block,
    seal_block,
    title_block,
    verdict_block,
)
from siteplan.sheet.place.blocks import BLOCK_GAP_MM, Block, Flow, Run
from siteplan.sheet.style.paper import strip_widths
from siteplan.sheet.style.styles import layer
from siteplan.sheet.tables.before_and_after import before_and_after_block
from siteplan.sheet.tables.checklist import checklist_block
from siteplan.sheet.tables.comparison import SHORT, WHOLE, comparison_block
from siteplan.sheet.tables.conditions import conditions_block
from siteplan.sheet.tables.elements import EVERYTHING, GIST, elements_block
from siteplan.sheet.tables.notes import notes_blocks
from siteplan.sheet.tables.pipes import NOTHING, pipes_blocks
from siteplan.sheet.tables.separations import (
    basis_block,
    courses_block,
    separations_block,
)
from siteplan.sheet.tables.sequence import sequence_block
from siteplan.sheet.tables.specification import specification_block
from siteplan.sheet.tables.taken import taken_block

PAD_MM = 3.0
"""Free paper between a column's edge and its text [mm]."""
KEY_MM = (46.0, 36.0, 28.0)
"""Greatest heights of a key plan, the best first [mm]."""
WIDE_MM = 100.0
"""A column this wide takes graphic scale and seal side by side [mm]."""


@dataclass(frozen=True, slots=True)
class StripPlan:
    """How the strip is divided: columns side by side, and how much its long tables tell.

    Parameters
    ----------
    most_rows
        So many elements, and so many short sides, are listed.
    detail
        How much there is to stake by beside the coordinates of the elements.
    pipes
        How much is told of circuits and take-off.
    section_mm
        How tall a section may be on paper; 0: no section is drawn [mm].
    specified
        Whether specification, order of work and plan requirements stand on the sheet.
    located
        Whether the sheet must show where the lot lies, as no other sheet does.
    notes
        So many notes are written where other sheets have the tables, the first ones.
    """

    columns: int
    column_width_mm: float
    most_rows: int
    detail: int = EVERYTHING
    pipes: int = NOTHING
    section_mm: float = 0.0
    notes: int = 0
    specified: bool = False
    located: bool = False

    @property
    def width_mm(self) -> float:
        """Width of all columns [mm]."""
        return self.columns * self.column_width_mm

    @property
    def text_width_mm(self) -> float:
        """Width of the text in a column [mm]."""
        return self.column_width_mm - 2 * PAD_MM


def strip_primitives(
    content: PlanContent, paper: Paper, plan: StripPlan, view: View,
    tagged: tuple[tuple[str, Side], ...],
) -> tuple[Primitive, ...] | None:  # fmt: skip
    """The strip, or None if it does not hold its blocks."""
    width = plan.text_width_mm
    lower = [
        *_scale_and_seal(content, view, width),
        *([revised] if (revised := revisions_block(content, width)) else []),
        title_block(content, width, scale=view.label),
    ]
    height = paper.height_mm - 2 * paper.margin_mm - 2.0
    if plan.detail == GIST:
        places = _arranged(_lean(content, width, plan.notes), lower, plan.columns, height)
        return None if places is None else _drawn(places, lower, paper, plan)
    blocks = _told(content, plan, tagged)
    if blocks is None:
        return None
    # the location and what loop types take give way before the plan does
    fewer = [block for block in blocks if block is not _location(content, width)]
    ways = (blocks,) if plan.located else (blocks, fewer)
    for told, begun in product(ways, _beginnings(content, width)):
        places = _arranged([*begun, *told], lower, plan.columns, height)
        if places is not None:
            return _drawn(places, lower, paper, plan)
    return None


def _told(
    content: PlanContent, plan: StripPlan, tagged: tuple[tuple[str, Side], ...]
) -> list[Block] | None:
    """Tables, legend and notes of an only sheet; None without room for a section."""
    width = plan.text_width_mm
    required, known = _constant(content, width)
    upper: list[Block | None] = [
        _elements(content, width, plan.most_rows, detail=plan.detail),
        *required,
        *(_specified(content, width) if plan.specified else ()),
        *_pipes(content, width, plan.pipes),
        courses_block(tagged, content.site.unit, width, plan.most_rows),
        *known,
    ]
    if plan.section_mm:
        section = main_section(content, width, plan.section_mm)
        if section is None:
            return None
        upper.append(section)
    return [block for block in upper if block is not None]


@kept
def _lean(content: PlanContent, width: float, noted: int) -> tuple[Block, ...]:
    """What stands beside the plan where other sheets have the tables, with so many notes."""
    blocks = (
        verdict_block(content, width),
        _elsewhere(content, width),
        legend_block(content, width),
        index_block(content, width),
        *_notes(content, width)[:noted],
        _other_notes(content, width, noted),
        legal_block(content, width),
    )
    return tuple(block for block in blocks if block is not None)


def _other_notes(content: PlanContent, width: float, noted: int) -> Block | None:
    """Where the notes stand that the plan has no room for; None where it has all."""
    count = len(_notes(content, width))
    if noted >= count:
        return None
    flow = Flow(width, "more-notes")
    numbers = f"{noted + 1} to {count}" if count > noted + 1 else f"{count}"
    flow.paragraph(f"Notes {numbers}: {content.sheets_of(TABLES)}.")
    return flow.block()


@kept
def _beginnings(content: PlanContent, width: float) -> tuple[tuple[Block, ...], ...]:
    """The verdict with all of what loop types take, with the gist of it, and alone."""
    verdict = verdict_block(content, width)
    compared = (comparison_block(content, width, whole=whole) for whole in (WHOLE, SHORT))
    return (*((verdict, block) for block in compared if block is not None), (verdict,))


def _elsewhere(content: PlanContent, width: float) -> Block:
    """On which sheet stands what this one leaves to others."""
    flow = Flow(width, TOLD_ELSEWHERE)
    tables = content.sheets_of(TABLES)
    flow.paragraph(f"Coordinates, separations and bases: {tables}.")
    return flow.block()


def part_plan() -> StripPlan:
    """How the strip of a part of the plan is divided: one column, as wide as they get."""
    return StripPlan(1, strip_widths()[-1], 1)


def part_strip(
    content: PlanContent, paper: Paper, view: View, *,
    key: Callable[[float, float], Block], number: int, keyed: Sequence[tuple[str, str]] = (),
) -> tuple[Primitive, ...]:  # fmt: skip
    """The strip of a part of the plan: its place on the whole, legend, scale and title.

    ``keyed``: pieces of header that have but their name in the window, and the pipes in them.
    """
    plan = part_plan()
    width = plan.text_width_mm
    seen = Flow(width, "part")
    tables = content.sheets_of(TABLES)
    seen.paragraph(
        "Part of the plan; L1 shows the whole. Distances, coordinates and notes: "
        f"{f'L1 and {tables}' if tables else 'L1'}."
    )
    legend, index = legend_block(content, width), index_block(content, width)
    lower = [
        *_scale_and_seal(content, view, width),
        *([revised] if (revised := revisions_block(content, width)) else []),
        title_block(content, width, scale=view.label, number=number + 1),
    ]
    height = paper.height_mm - 2 * paper.margin_mm - 2.0 - _height(lower)
    keys = [key(width, tall_mm) for tall_mm in KEY_MM]
    heads = [[each, seen.block()] for each in keys]
    # a smaller key plan before no legend, which L1 has; of the pipes a table has what has no room
    lists = keyed_blocks(keyed, width)
    shown: tuple[list[Block], ...] = ([legend], [])
    tried = [[*head, *more, *some] for more in shown for some in lists for head in heads]
    if keyed:
        short, where = heads[-1], content.sheets_of(TABLES)
        for more in shown:
            begun = begun_block(keyed, width, where, height - _height([*short, *more]))
            tried.append([*short, *more, begun])
    blocks = next((some for some in tried if _height(some) <= height), heads[0])
    if index is not None and _height([*blocks, index]) <= height:
        blocks.append(index)
    return _drawn([blocks], lower, paper, plan)


def _height(blocks: Sequence[Block]) -> float:
    return sum(block.height_mm + BLOCK_GAP_MM for block in blocks)


# many ways to divide a strip are tried, and few of them differ in what a block says
_elements, _pipes, _notes = kept(elements_block), kept(pipes_blocks), kept(notes_blocks)
_location = kept(location_block)


@kept
def _specified(content: PlanContent, width: float) -> tuple[Block | None, ...]:
    """What only a sheet of tables has otherwise: specification, order of work, requirements."""
    return (
        specification_block(content, width),
        sequence_block(content, width),
        checklist_block(content, width),
        before_and_after_block(content, width),
    )


@kept
def _constant(
    content: PlanContent, width: float
) -> tuple[tuple[Block | None, ...], tuple[Block | None, ...]]:
    """Blocks that only the width changes: what is required, and what stands below the sides."""
    required = (
        separations_block(content, width),
        taken_block(content, width),
        conditions_block(content, width),
        basis_block(content, width),
    )
    known = (
        legend_block(content, width),
        index_block(content, width),
        _location(content, width),
        *notes_blocks(content, width),
        legal_block(content, width),
    )
    return required, known


def _scale_and_seal(content: PlanContent, view: View, width: float) -> list[Block]:
    """Graphic scale over seal, or beside it where the column is wide."""
    if width < WIDE_MM:
        return [scale_block(content, view, width), seal_block(width)]
    part = width * 0.54
    scale, seal = scale_block(content, view, part), seal_block(width - part - 4.0)
    height = max(scale.height_mm, seal.height_mm)
    return [Block(height, (*scale.runs, Run(seal.at(part + 4.0, 0.0))))]


def _arranged(
    blocks: Sequence[Block], lower: Sequence[Block], columns: int, height: float
) -> list[list[Block]] | None:
    """Blocks by column, in order; the last column leaves room for the lower blocks."""
    below = sum(block.height_mm + BLOCK_GAP_MM for block in lower)
    if below > height:
        return None
    # a strip is read column by column: what goes on stands in the next one once the first is full
    # and the last line keeps off the frame where there is room for that
    for limit in (height - PAD_MM, height):
        places = _filled(blocks, below, columns, limit=limit)
        if places is not None:
            return places
    return None


def _filled(
    blocks: Sequence[Block], below: float, columns: int, *, limit: float
) -> list[list[Block]] | None:
    """Blocks by column, each filled up to a height."""
    filled: list[list[Block]] = [[]]
    used = 0.0
    for block in blocks:
        need = block.height_mm + block.gap_mm
        while used + need > limit - (below if len(filled) == columns else 0.0):
            if len(filled) == columns:
                return None
            filled.append([])
            used = 0.0
        filled[-1].append(block)
        used += need
    return filled + [[] for _ in range(columns - len(filled))]


def _drawn(
    places: list[list[Block]], lower: Sequence[Block], paper: Paper, plan: StripPlan
) -> tuple[Primitive, ...]:
    right = paper.width_mm - paper.margin_mm
    top, bottom = paper.height_mm - paper.margin_mm, paper.margin_mm
    items: list[Primitive] = []
    for number, blocks in enumerate(places):
        left = right - (len(places) - number) * plan.column_width_mm
        items.append(_rule((left, bottom), (left, top), "rule"))
        y = top - 1.0
        for block in blocks:
            items.extend(block.at(left + PAD_MM, y))
            y -= block.height_mm + block.gap_mm
    left = right - plan.column_width_mm
    y = bottom + 1.0
    for block in reversed(lower):
        y += block.height_mm
        items.extend(block.at(left + PAD_MM, y))
        items.append(_rule((left, y), (right, y), "rule"))
        y += BLOCK_GAP_MM - 1.0
    return tuple(items)


def _rule(start: tuple[float, float], end: tuple[float, float], style: str) -> Polyline:
    return Polyline((start, end), style, layer("frame"), "paper")
