"""The set of sheets: the plan, and where it cannot say all, parts of it, details and tables."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Final

from siteplan.sheet.content.content import DETAILS, PART, PLAN, TABLES, PlanContent
from siteplan.sheet.kept import composing
from siteplan.sheet.model import Dimension, Paper, Sheet, Text, View
from siteplan.sheet.pages.compared import shows_comparison
from siteplan.sheet.pages.compose import (
    Arrangement,
    arranged,
    arranged_whole,
    compose,
    composed,
    finished,
    says_all,
    stands_alone,
    surely_arranged,
)
from siteplan.sheet.pages.detail_sheets import Details, detail_ways
from siteplan.sheet.pages.key_plan import shows_location
from siteplan.sheet.pages.pages import Form, Page, page_primitives, table_form
from siteplan.sheet.pages.parting import (
    crowded,
    is_tight,
    most_led,
    needs_parts,
    tabled_names,
    unnamed,
    wants_parts,
)
from siteplan.sheet.pages.parts import Parts, Wanted, draw_key, part_sheets, parted
from siteplan.sheet.pages.spare import tables_beside
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.exchange import NoRoomError
from siteplan.sheet.plan_view.numbers import PIPES_HEADING
from siteplan.sheet.style.paper import paper
from siteplan.sheet.tables.notes import notes

NOWHERE: Final = (0.0, 0.0)
MOST_TITLES: Final = (PLAN, PART, PART, DETAILS, TABLES, TABLES)
"""Sheets whose list is as long as any: whatever a set comes to, its plan has room for its notes."""
MOST_TRIES: Final = 4
"""How often the sheets of tables are counted, as their number changes what they say."""


@composing()
def compose_set(content: PlanContent) -> tuple[Sheet, ...]:
    """All sheets, the plan first.

    Raises
    ------
    ExportError
        The paper size is unknown, or the plan does not fit on it at the scale asked for.
    """
    page = paper(content.site.sheet.size).shrunk()
    alone = _alone(content, page)
    if alone is not None:
        return (alone,)
    return _set(_noted(content, page), page)


def _noted(content: PlanContent, page: Paper) -> PlanContent:
    """What the set has to show, with the number of notes that the plan has room for."""
    arrangement = arranged(replace(content, titles=MOST_TITLES), page)
    if arrangement is None or arrangement.plan.notes == len(notes(content)):
        return content
    return replace(content, notes_on_plan=arrangement.plan.notes)


def _set(content: PlanContent, page: Paper) -> tuple[Sheet, ...]:
    """The plan and all other sheets."""
    # details are of what is to be built; of what was built nobody measured a section
    ways = detail_ways(content, page) if content.built is None else [Details((), Form(page, 0.0))]
    written = table_form(page)
    plain = replace(content, titles=(PLAN, TABLES))
    titles = _with_tables(content, plain, ways, written)
    told, plan, parts = _plan_and_parts(replace(content, titles=titles), page)
    # written again, as the tables speak of sheets by their number, and of where each of them stands
    first = len(parts) + 1
    details, tables = tables_beside(told, plain, ways, written)
    told = replace(told, shown_on=_shown_on((*details.pages, *tables), told.numbers[first:]))
    details, tables = tables_beside(told, plain, ways, written)
    others = [
        *((page, details.form) for page in details.pages), *((page, written) for page in tables),
    ]  # fmt: skip
    first = len(parts) + 2
    more = (_sheet(told, *sheet_page, plan, number=k) for k, sheet_page in enumerate(others, first))
    return (plan, *parts, *more)


def _with_tables(
    content: PlanContent, plain: PlanContent, ways: Sequence[Details], form: Form
) -> tuple[str, ...]:  # fmt: skip
    """Titles with as many sheets of tables as those take that speak of sheets by their number."""
    titles = (PLAN, *(DETAILS for _ in ways[0].pages))
    count, before = 1, 0
    for _ in range(MOST_TRIES):
        if count == before:
            break
        told = replace(content, titles=(*titles, *[TABLES] * count))
        before, count = count, len(tables_beside(told, plain, ways, form)[1])
    return (*titles, *[TABLES] * count)


def _shown_on(tables: Sequence[Page], numbers: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """By the name of a block the number of the first page that has it."""
    found: dict[str, str] = {}
    for page, number in zip(tables, numbers, strict=True):
        for item in page.written:
            if isinstance(item, Text) and item.mark is not None:
                found.setdefault(item.mark.block, number)
    return tuple(found.items())


def _alone(content: PlanContent, page: Paper) -> Sheet | None:
    """The plan where it is the only sheet; None where there are others."""
    wanted = content.site.sheet.sheets
    if wanted == "full" or not stands_alone(content):
        return None
    arrangement = arranged_whole(content, page) if wanted == "one" else arranged(content, page)
    # a sheet without specification or section is no set, whoever wants one
    if arrangement is None or not says_all(content, arrangement):
        return None
    if wanted == "one":
        plan = composed(content, page, arrangement)
        return plan if _tells_all(content, plan) else None
    # composed only where nothing known beforehand asks for more sheets
    view = arrangement.view.enlarged(page.enlargement)
    if needs_parts(content, view) or not shows_location(arrangement.strip):
        return None
    if _is_larger_in_a_set(content, page, arrangement):
        return None
    alone = _in_one(content, page, arrangement)
    told = alone is not None and _tells_all(content, alone) and not wants_parts(content, alone)
    return alone if told else None


def _in_one(content: PlanContent, page: Paper, arrangement: Arrangement) -> Sheet | None:
    """The plan in one window; None as soon as it is known that parts of it are wanted."""
    layout, strict = content.layout, content.site.sheet.parts != "never"
    if layout is None or not layout.elements or not strict:
        return composed(content, page, arrangement, strict=strict)

    def begin(canvas: Canvas) -> None:
        canvas.needed, canvas.may_lose = tabled_names(layout), 0
        # at a scale that somebody asked for names are led as far as it takes
        canvas.most_led = most_led(layout) if content.site.sheet.scale is None else math.inf

    with suppress(NoRoomError):
        return composed(content, page, arrangement, begin, strict=strict)
    return None


def _tells_all(content: PlanContent, plan: Sheet) -> bool:
    """Whether an only sheet has room for the comparison, the list of pipes and all that is built.

    What is built loses its names for no other sheet where nobody wants parts of the plan.
    """
    lost = PIPES_HEADING in plan.unplaced
    if content.layout is not None and content.site.sheet.parts != "never":
        lost |= bool(unnamed(content.layout, plan))
    return shows_comparison(content, plan.primitives) and not lost


def _is_larger_in_a_set(content: PlanContent, page: Paper, alone: Arrangement) -> bool:
    """Whether the plan is drawn larger where details and tables have sheets of their own."""
    arrangement = arranged(replace(content, titles=(PLAN, DETAILS, TABLES)), page)
    return arrangement is not None and arrangement.view.ratio < alone.view.ratio


def _plan_and_parts(
    content: PlanContent, page: Paper
) -> tuple[PlanContent, Sheet, tuple[Sheet, ...]]:
    """What the set has to show with the titles of its parts, the plan, and its parts."""
    arrangement = surely_arranged(content, page)
    view = arrangement.view.enlarged(page.enlargement)
    # composed at first only to see whether its names find their places
    alone = None if needs_parts(content, view) else _in_one(content, page, arrangement)
    if alone is not None and not alone.unplaced and not wants_parts(content, alone):
        return content, alone, ()
    wanted = alone is None or wants_parts(content, alone)
    best = _best_parts(content, page, view) if wanted else None
    if best is None:
        return content, composed(content, page, arrangement), ()
    told, parts, sheets = best.told, best.parts, best.sheets
    first = len(sheets) + 1
    # what has its name on a part is not lost
    named = frozenset(
        word for sheet in sheets for text in _plan_texts(sheet) for word in text.split()
    )

    def begin(canvas: Canvas) -> None:
        canvas.named = named
        draw_key(canvas, parts, told.numbers[1:first])

    plan = compose(told, begin)
    left = tuple(name for name in plan.unplaced if not set(name.split()) <= named)
    return told, replace(plan, unplaced=left), sheets


def _best_parts(content: PlanContent, page: Paper, view: View) -> _InParts | None:
    """Parts that lose no names, the fewest of those; else those that lose the fewest."""
    # the fewest sheets first, and more of them only as long as names are lost; those at a scale at
    # which names have no room only where all others lose some as well
    ways = sorted(
        parted(content, page, view), key=lambda parts: is_tight(content, view, parts.ratio)
    )
    # of a way that loses a name no more is drawn as long as another may lose none
    for parts in ways if len(ways) > 1 else ():
        with suppress(NoRoomError):
            whole = _in_parts(content, page, parts, may_lose=0)
            if whole.lost == 0:
                return whole
    # most names led away are read worse than a few that only the tables have
    best = _fewest_lost(content, page, ways)
    return best or _fewest_lost(content, page, ways, led_too=True)


def _fewest_lost(
    content: PlanContent, page: Paper, ways: Sequence[Parts], *, led_too: bool = False
) -> _InParts | None:  # fmt: skip
    """The first of the ways that lose the fewest names; ``led_too``: even with most led away."""
    best: _InParts | None = None
    for parts in ways:
        with suppress(NoRoomError):
            # no more is drawn of one that loses as many as the best so far
            limit = math.inf if best is None else best.lost - 1
            tried = _in_parts(content, page, parts, may_lose=limit, led_too=led_too)
            if best is None or tried.lost < best.lost:
                best = tried
    return best


@dataclass(frozen=True, slots=True)
class _InParts:
    """A plan in parts: what the set has to show then, its sheets, and how many names they lose."""

    told: PlanContent
    parts: Parts
    sheets: tuple[Sheet, ...]
    lost: int


def _in_parts(
    content: PlanContent, page: Paper, parts: Parts, *, may_lose: float, led_too: bool = False
) -> _InParts:  # fmt: skip
    """The plan in such parts; ``led_too``: even where surely most names are led away.

    Raises
    ------
    NoRoomError
        It loses more names than it may.
    """
    layout = content.layout
    titles = (PLAN, *(PART for _ in parts.cells), *content.titles[1:])
    told = replace(content, titles=titles)
    names = tabled_names(layout) if layout is not None else frozenset[str]()
    led = math.inf if layout is None or led_too else most_led(layout)
    sheets = part_sheets(told, page, parts, wanted=Wanted(names, may_lose, led))
    lost = sum(len(sheet.unplaced) for sheet in sheets)
    lost += sum(crowded(layout, sheet) for sheet in sheets) if layout else 0
    return _InParts(told, parts, sheets, lost)


def _plan_texts(sheet: Sheet) -> Iterator[str]:
    """Names and distances that stand in the window of a sheet."""
    yield from (text.text for text in sheet.of_type(Text) if text.space == "model")
    yield from (dimension.text for dimension in sheet.of_type(Dimension))


def _sheet(content: PlanContent, page: Page, form: Form, plan: Sheet, *, number: int) -> Sheet:
    """A sheet without a window on the plan; its scale in model space is the plan's."""
    small = form.paper
    ratio = plan.view.ratio * small.enlargement
    view = View(ratio, plan.view.label, small.margin_mm, small.margin_mm, 0.0, 0.0, NOWHERE)
    items = page_primitives(content, page, form, number=number)
    name, place = content.titles[number - 1], content.numbers[number - 1]
    return replace(finished(content, small, view, items), name=name, number=place)
