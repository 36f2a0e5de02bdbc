"""From what the sheet has to show to the sheet."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from siteplan.errors import ExportError
from siteplan.geometry.boundary import Side
from siteplan.sheet.content.content import TABLES, PlanContent
from siteplan.sheet.content.header_points import MOST_POINTS, header_points
from siteplan.sheet.content.sides import sides_of
from siteplan.sheet.details.trench import TALLEST_MM
from siteplan.sheet.details.trench import has_section as has_trenches
from siteplan.sheet.kept import composing
from siteplan.sheet.model import Paper, Polyline, Primitive, Sheet, Text, View, enlarged
from siteplan.sheet.pages.compared import compared_beside
from siteplan.sheet.pages.largest_view import largest_view, no_room
from siteplan.sheet.pages.main_section import has_section
from siteplan.sheet.pages.strip import StripPlan, strip_primitives
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.plan_view.parcel import tagged_sides
from siteplan.sheet.plan_view.window import plan_canvas, scene_of
from siteplan.sheet.style.paper import (
    lean_widths,
    paper,
    strip_widths,
)
from siteplan.sheet.style.styles import layer, styles
from siteplan.sheet.style.text import printable
from siteplan.sheet.tables.elements import COORDINATES, EVERYTHING, GIST, MOST_TIED, WITHOUT_CORNERS
from siteplan.sheet.tables.notes import notes
from siteplan.sheet.tables.pipes import CIRCUITS, NOTHING, TAKE_OFF, has_pipes
from siteplan.sheet.tables.specification import is_specified
from siteplan.vocabulary.kinds import kinds

SCALE_STEP = 1.34
"""From one scale to the next smaller one."""
LISTED = (400, 60, 40, 24, 12, 6)
"""How many rows the long tables of the strip have, most first."""


@composing()
def compose(
    content: PlanContent, before: Callable[[Canvas], None] = lambda _: None, *, strict: bool = False
) -> Sheet:
    """The plan sheet; ``before`` draws what must be named first.

    ``strict``: whether names count as lost whose leader would cross a symbol or a house.

    Raises
    ------
    ExportError
        The paper size is unknown, or nothing fits on it at the scale asked for.
    """
    # composed on smaller paper at a smaller scale, then enlarged: everything grows but the ground
    page = paper(content.site.sheet.size).shrunk()
    return composed(content, page, surely_arranged(content, page), before, strict=strict)


def surely_arranged(content: PlanContent, page: Paper) -> Arrangement:
    """How the plan sheet is divided.

    Raises
    ------
    ExportError
        Nothing fits on the paper at the scale asked for.
    """
    arrangement = arranged(content, page)
    if arrangement is None:
        raise ExportError(no_room(content, page))
    return arrangement


def composed(
    content: PlanContent, page: Paper, arrangement: Arrangement,
    before: Callable[[Canvas], None] = lambda _: None, *, strict: bool = False,
) -> Sheet:  # fmt: skip
    """The plan sheet as arranged, as `compose` has it."""
    sides = sides_of(content.site.parcel)
    whole = scene_of(content, arrangement.view, sides)
    scene = replace(whole, before=before, strict=strict)
    canvas = plan_canvas(content, arrangement.view, sides, scene)
    items = (*canvas.primitives, *arrangement.strip)
    if not content.sheet_of(TABLES):
        items += compared_beside(content, canvas, items)
    return finished(content, page, arrangement.view, items, unplaced=tuple(canvas.unplaced))


def finished(
    content: PlanContent, page: Paper, view: View, items: Iterable[Primitive], *,
    unplaced: tuple[str, ...] = (),
) -> Sheet:  # fmt: skip
    """A sheet with its frame, enlarged to its full paper, in drawing order."""
    factor = page.enlargement
    ordered = _ordered((*items, *_frame(page)))
    shown = map(_shown, ordered)
    primitives = tuple(shown if factor == 1.0 else (enlarged(item, factor) for item in shown))
    return Sheet(
        title=content.site.project.title,
        paper=paper(content.site.sheet.size),
        view=view.enlarged(factor),
        unit=content.site.unit,
        primitives=primitives,
        layers=_layers(primitives),
        unplaced=unplaced,
    )


def says_all(content: PlanContent, arrangement: Arrangement) -> bool:
    """Whether the plan sheet leaves out nothing that the other sheets would say."""
    plan = arrangement.plan
    listed = plan.most_rows >= _rows(content, len(sides_of(content.site.parcel)))
    piped = plan.pipes == TAKE_OFF or not has_pipes(content)
    cut = plan.section_mm > 0.0 or not has_section(content)
    told = plan.specified or not is_specified(content)
    whole = listed and piped and cut and told and plan.detail == EVERYTHING
    return whole and stands_alone(content)


def stands_alone(content: PlanContent) -> bool:
    """Whether there are few enough elements and points of header for a plan without other sheets.

    Each has its row with its ties, which stand on no plan sheet beyond that number.
    """
    layout = content.layout
    taped = layout is None or len(layout.elements) <= MOST_TIED
    return taped and (layout is None or len(header_points(layout)) <= MOST_POINTS)


@dataclass(frozen=True, slots=True)
class Arrangement:
    """How the sheet is divided: window on the plan, and the strip beside it."""

    view: View
    plan: StripPlan
    strip: tuple[Primitive, ...]
    enlargement: float


def arranged(content: PlanContent, page: Paper) -> Arrangement | None:
    """The view at the largest scale, with the strip in the fewest columns that allow it.

    Where other sheets have the tables the plan has the paper. Where it is the only sheet, what
    there is to stake by is only left out for a reason, or where it has no room.
    """
    sides = sides_of(content.site.parcel)
    if content.sheet_of(TABLES):
        # among equals the first: notes on the plan, then the narrowest strip
        return _best_of(_lean_plans(content), content, page, sides)
    count = _rows(content, len(sides))
    best: Arrangement | None = None
    # the most detail first: what has room at the same scale is not left out
    for detail in range(EVERYTHING, COORDINATES - 1, -1):
        arrangement = _largest(content, page, sides, detail=detail)
        if arrangement is not None and (best is None or _is_better(arrangement, best)):
            best = arrangement
        # with all listed, less could only buy scale, which is worth no stake that is told here
        if best is not None and best.plan.most_rows >= count and detail < EVERYTHING:
            break
    return best and _with_details(best, content, page, sides)


def arranged_whole(content: PlanContent, page: Paper) -> Arrangement | None:
    """The largest view beside a strip that says all, whatever scale that costs; None: no room."""
    sides = sides_of(content.site.parcel)
    count = _rows(content, len(sides))
    told = TAKE_OFF if has_pipes(content) else NOTHING
    for section in TALLEST_MM if has_section(content) else (0.0,):
        plans = (
            replace(
                plan,
                pipes=told,
                section_mm=section,
                specified=is_specified(content),
                located=True,
            )
            for plan in _plans_of(count, EVERYTHING)
        )
        arrangement = _best_of(plans, content, page, sides)
        if arrangement is not None:
            return arrangement
    return None


def _lean_plans(content: PlanContent) -> Iterable[StripPlan]:
    """Strips without tables: with all notes that stand on the plan, then with fewer."""
    shapes = [(number, width) for number in (1, 2) for width in lean_widths()]
    shapes.sort(key=lambda shape: shape[0] * shape[1])
    most = content.notes_on_plan
    counts = range(len(notes(content)), -1, -1) if most is None else (most,)
    for count in counts:
        for number, width in shapes:
            yield StripPlan(number, width, 1, GIST, notes=count)


def _with_details(
    best: Arrangement, content: PlanContent, page: Paper, sides: tuple[Side, ...]
) -> Arrangement:
    """The arrangement with circuits, take-off and section, where the paper has room for them.

    Circuits and section together are worth the property corners, or one step of scale where the
    plan stays readable. The specification comes with all of it or not at all.
    """
    told = (TAKE_OFF, CIRCUITS) if has_pipes(content) else (NOTHING,)
    cut = TALLEST_MM if has_trenches(content) else (0.0,)
    rows, detail = best.plan.most_rows, best.plan.detail
    plans = [best.plan, *_plans_of(rows, detail)]
    fewer = [*_plans_of(rows, WITHOUT_CORNERS)] if detail == EVERYTHING else []
    readable = content.site.unit.drawing.readable * page.enlargement
    smaller = min(best.view.ratio * SCALE_STEP, max(readable, best.view.ratio))
    whole = [(pipes, section, False) for section in cut for pipes in told]
    parts = [(told[-1], 0.0, False), (NOTHING, cut[-1], False)]
    heights = TALLEST_MM if is_specified(content) else ()
    all_of_it = [(told[0], section, True) for section in heights]
    # first at no price, then for the corners, then for a step of scale, and last only a part
    ways = (
        (plans, smaller, all_of_it),
        (plans, best.view.ratio, whole), (fewer, best.view.ratio, whole), (plans, smaller, whole),
        (plans, best.view.ratio, parts),
    )  # fmt: skip
    for choices, limit, wishes in ways:
        for pipes, section_mm, specified in wishes:
            tried = [
                replace(plan, pipes=pipes, section_mm=section_mm, specified=specified)
                for plan in choices
            ]
            arrangement = _best_of(tried, content, page, sides, limit=limit)
            if arrangement is not None:
                return arrangement
    return best


def _plans_of(rows: int, detail: int) -> Iterable[StripPlan]:
    """Ways to divide the strip that list exactly so many rows."""
    return (plan for plan in _strip_plans(rows, detail) if plan.most_rows == rows)


def _is_better(arrangement: Arrangement, best: Arrangement) -> bool:
    """Whether leaving something out is worth it: more elements listed, or a larger scale.

    A larger scale is worth the property corners, but no stake of the exchanger.
    """
    spare = arrangement.plan.detail >= WITHOUT_CORNERS
    larger = arrangement.view.ratio < best.view.ratio and spare
    more = arrangement.plan.most_rows - best.plan.most_rows
    return more > 0 or (larger and more == 0)


def _largest(
    content: PlanContent, page: Paper, sides: tuple[Side, ...], *, detail: int
) -> Arrangement | None:
    """The largest scale that still lists every element, if it can be read; else the largest."""
    count = _rows(content, len(sides))
    plans = list(_strip_plans(count, detail))
    whole = _best_of([plan for plan in plans if plan.most_rows == count], content, page, sides)
    if (
        whole is not None
        and whole.view.ratio / page.enlargement <= content.site.unit.drawing.readable
    ):
        return whole
    return _best_of(plans, content, page, sides)


def _best_of(
    plans: Iterable[StripPlan],
    content: PlanContent,
    page: Paper,
    sides: tuple[Side, ...],
    *,
    limit: float = math.inf,
) -> Arrangement | None:
    """The first plan with the largest scale; none whose ratio is beyond a limit."""
    best: Arrangement | None = None
    for plan in plans:
        view = largest_view(content, page, plan)
        if view is None or view.ratio > limit:
            continue
        if best is not None and view.ratio >= best.view.ratio:
            continue
        # composed only where it would win; among equals the first has the fewest columns
        tagged = tagged_sides(sides, view, content.site.unit)
        strip = strip_primitives(content, page, plan, view, tagged)
        if strip is not None:
            best = Arrangement(view, plan, strip, page.enlargement)
    return best


def _rows(content: PlanContent, sides: int) -> int:
    """How many rows the longest table of the strip may have."""
    return max(len(content.layout.elements) if content.layout else 0, sides, 1)


def _strip_plans(count: int, detail: int) -> Iterable[StripPlan]:
    most = [listed for listed in LISTED if listed < count]
    for listed in [count, *most]:
        for number, width in enumerate(strip_widths(), 1):
            yield StripPlan(number, width, listed, detail)
        # a long table needs a wide column to stand in parts side by side
        yield StripPlan(2, strip_widths()[0], listed, detail)


def _frame(page: Paper) -> tuple[Primitive, ...]:
    left, bottom = page.margin_mm, page.margin_mm
    right, top = page.width_mm - page.margin_mm, page.height_mm - page.margin_mm
    ring = ((left, bottom), (right, bottom), (right, top), (left, top))
    return (Polyline(ring, "frame", layer("frame"), "paper", closed=True),)


def _ordered(primitives: Iterable[Primitive]) -> tuple[Primitive, ...]:
    """By stage, then by kind, so that exporters can draw long runs of like things at once."""
    known = styles()
    names = {name: place for place, name in enumerate(known)}
    return tuple(
        sorted(
            primitives,
            key=lambda item: (known[item.style].stage, names[item.style], type(item).__name__),
        )
    )


def _shown(item: Primitive) -> Primitive:
    """The primitive, its text without characters that the font cannot show."""
    if not isinstance(item, Text):
        return item
    shown = printable(item.text)
    return item if shown == item.text else replace(item, text=shown)


def _layers(primitives: tuple[Primitive, ...]) -> tuple[tuple[str, str], ...]:
    """Every layer used, with the style that most of its things have."""
    counts: dict[str, dict[str, int]] = {layer("viewport"): {"hair": 1}}
    for item in primitives:
        row = counts.setdefault(item.layer, {})
        row[item.style] = row.get(item.style, 0) + 1
    order = {kind.layer: place for place, kind in enumerate(kinds().values())}
    # what a layer says its things need not say: so most of them follow a layer that is changed
    usual = {name: max(row, key=lambda style: (row[style], style)) for name, row in counts.items()}
    return tuple(sorted(usual.items(), key=lambda pair: (order.get(pair[0], 99), pair[0])))
