"""Horizontal trenches: no more digging than the length required takes, in rows near an entry."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

from shapely import LineString
from shapely.geometry.base import BaseGeometry

from siteplan.errors import GeometryError
from siteplan.findings.model import Reason, reason
from siteplan.geometry.lines.directions import FAIR, ranked_rows
from siteplan.geometry.lines.rows import RowRule
from siteplan.geometry.lines.sweep import polygonal, rings_of
from siteplan.geometry.memory import Memory, remembered
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.header.router import reachable_area
from siteplan.layout.model import Ground, Layout
from siteplan.layout.sparing import on_lines
from siteplan.layout.trenches.block_task import BlockTask
from siteplan.layout.trenches.digging import digging_order
from siteplan.layout.trenches.ends import bound_with_ends, extended
from siteplan.layout.trenches.filled import (
    AMPLE,
    TRENCH_COST,
    Dug,
    Effort,
    along_edges,
    cheapest,
    fillings,
    whole_feet,
)
from siteplan.layout.trenches.fit import (
    lines_of,
    total_length,
    trench_bound,
    trench_rule,
)
from siteplan.layout.trenches.joined import best_blocks, off_spared_ground
from siteplan.layout.trenches.numbered import laid_along
from siteplan.preferences.table import figure_of
from siteplan.site.model import HorizontalOptions

DEAR: Final = figure_of("layout.trenches.field.dear")
STUB: Final = figure_of("layout.trenches.field.stub")
STUB_COST: Final = figure_of("layout.trenches.field.stub_cost")
NOTHING: Final = Dug((), None, 0.0)
"""Nothing is dug."""


@remembered
def lay_out_trenches(ground: Ground, options: HorizontalOptions, required_m: float) -> Layout:
    """Trenches that carry the length required [m], or all that fit.

    Even blocks of parallel trenches come first: the cheapest to dig with their header. Where none
    hold enough, straight rows in a few directions are compared by what must be dug: trench, header,
    and a little for each trench set up and for lengths that differ; where blocks are dear, rows
    along the edges are compared with them. Where these are short, rows in several directions and
    trenches with bends are taken. Trenches end square, so rows are led on to the edge of the ground
    before they are chosen. A closed one begins where it is joined; where enough is left it has a
    gate there, through which the header reaches what lies inside. The longest trenches are
    shortened at their far ends to a total of whole feet.

    Raises
    ------
    GeometryError
        The length required is not a positive, finite number, or an option makes no sense.
    """
    if not (math.isfinite(required_m) and required_m > 0):
        raise GeometryError(
            f"trenches: the length required is {required_m!r} m; give a positive length."
        )
    area = reachable_area(ground)
    rule = trench_rule(
        area, options.spacing_m, shortest=options.shortest_m, longest=options.longest_m
    )
    most = most_trench(ground, options)
    # what is found of one arrangement holds for the others
    usual = replace(options, arrangement="best")
    filling, even = options.arrangement == "filling", options.arrangement == "even"
    dug, capacity = NOTHING, 0.0
    blocks = None if filling else _even_blocks(ground, area, rule, required_m, usual)
    # what fills the ground has no room to spare any of it
    plain = replace(ground, spared=())
    if blocks is not None:
        dug = blocks
        # where kinds are compared by their blocks it matters not how much more would lie
        if not even:
            capacity = _capacity(area, rule, required_m, ground.memory)
            if blocks.cost_m > (1 + DEAR) * required_m:
                dug = _if_cheaper(_filled(plain, usual, required_m, "edges")[0], blocks, ground)
    elif not even:
        # where not even the bound is enough, straight rows say as much as bends
        effort: Effort = "bends" if most >= required_m else "straight"
        dug, capacity = _filled(plain, usual, required_m, effort)
    capacity = max(capacity, total_length(dug.lines))
    return replace(
        laid_along(dug.lines, dug.header, options, capacity),
        obstacle=_obstacle(ground, options, required_m=required_m, held_m=capacity, most_m=most),
        most_m=most,
        kept_off=dug.kept_off,
    )


@remembered
def _filled(
    ground: Ground, options: HorizontalOptions, required_m: float, effort: Effort
) -> tuple[Dug, float]:
    """What is dug where trenches fill the ground, and the length that they were found to hold."""
    area, memory = reachable_area(ground), ground.memory
    rule = trench_rule(
        area, options.spacing_m, shortest=options.shortest_m, longest=options.longest_m
    )
    whole = _open_to_header(ground)
    # led on before they are compared: the ends may decide whether a direction holds enough
    fields = [
        replace(field, lines=list(memory.of(_led_on, tuple(field.lines), whole, options)))
        for field in fillings(area, rule, required_m, memory, effort)
    ]
    capacity = max((total_length(field.lines) for field in fields), default=0.0)
    return cheapest(ground, fields, options=options, rule=rule, required_m=required_m), capacity


def _if_cheaper(rows: Dug, blocks: Dug, ground: Ground) -> Dug:
    """Rows along edges where they carry as much and take less than blocks, else the blocks."""
    lengths = [line.length for line in rows.lines]
    stubs = sum(length < STUB * max(lengths) for length in lengths)
    cost_m = rows.cost_m + STUB_COST * stubs
    cost_m += sum(on_lines(ground.spared, rows.lines).values())
    enough = sum(lengths) >= total_length(blocks.lines) - TOLERANCE
    return rows if enough and cost_m < blocks.cost_m else blocks


def most_trench(ground: Ground, options: HorizontalOptions) -> float:
    """Length that no trenches on the ground exceed [m]."""
    area, whole = reachable_area(ground), _open_to_header(ground)
    return ground.memory.of(_bound, area, whole, options)


@remembered
def _even_blocks(
    ground: Ground,
    area: BaseGeometry,
    rule: RowRule,
    required_m: float,
    options: HorizontalOptions,
) -> Dug | None:
    """Even blocks that carry the length required, in digging order; None where there are none."""
    target = whole_feet(required_m)
    task = BlockTask(ground, area, rule, target, options, TRENCH_COST)
    # kinds of trench are compared on ground of which none is to be spared: found for them, it is
    # not looked for again
    field = ground.memory.of(best_blocks, replace(task, ground=replace(ground, spared=())))
    if field is None:
        return None
    field = off_spared_ground(task, field)
    header = field.header
    ordered = digging_order(field.lines, header.entry.point, spacing_m=options.spacing_m)
    return Dug(tuple(ordered), header, field.cost_m + target, field.kept_off)


def _capacity(area: BaseGeometry, rule: RowRule, required_m: float, memory: Memory) -> float:
    """Length that straight rows hold; along the edges alone where those hold amply [m]."""
    shape = polygonal(area)
    _, along = memory.of(along_edges, shape, rule)
    # as they are dug: what rows are chosen by counts pieces that trimming leaves too short
    held = max(
        (total_length(lines_of(shape, rule, rows)) for rows in along if rows.heights), default=0.0
    )
    if held >= AMPLE * required_m:
        return held
    return max(held, memory.of(straight_length, area, rule))


def straight_length(area: BaseGeometry, rule: RowRule) -> float:
    """Length that straight rows were found to hold in an area [m]."""
    ground = polygonal(area)
    rings = rings_of(ground)
    ranked = ranked_rows(rings, rule, FAIR) if rings else []
    return total_length(lines_of(ground, rule, ranked[0])) if ranked else 0.0


def _open_to_header(ground: Ground) -> BaseGeometry | None:
    """Ground that a trench may open and where its end can be joined; None where not known."""
    return None if ground.whole is None else polygonal(ground.whole.intersection(ground.passable))


def _led_on(
    lines: tuple[LineString, ...], whole: BaseGeometry | None, options: HorizontalOptions
) -> tuple[LineString, ...]:
    """Lines, of which the straight ones end where their square ends still lie on open ground.

    One with bends stays as it is: led on, it may come too near to itself.
    """
    if whole is None:
        return lines
    longer = extended(
        lines,
        whole,
        width_m=options.width_m,
        spacing_m=options.spacing_m,
        longest_m=options.longest_m,
    )
    pairs = zip(lines, longer, strict=True)
    return tuple(led if len(line.coords) == 2 else line for line, led in pairs)


def _bound(area: BaseGeometry, whole: BaseGeometry | None, options: HorizontalOptions) -> float:
    """Length that no trenches exceed [m]."""
    if whole is None:
        return trench_bound(area, options.spacing_m)
    return bound_with_ends(area, whole, width_m=options.width_m, spacing_m=options.spacing_m)


def _obstacle(
    ground: Ground,
    options: HorizontalOptions,
    *,
    required_m: float,
    held_m: float,
    most_m: float,
) -> Reason | None:
    if ground.area.is_empty:
        return reason("no-available-area", things="trenches")
    if most_m == 0.0:
        return reason("no-way-for-header")
    if held_m == 0.0:
        return reason("no-trench-fits", shortest_m=options.shortest_m)
    if held_m >= required_m - TOLERANCE:
        return None
    return reason("no-more-trench", spacing_m=options.spacing_m, most_m=most_m)
