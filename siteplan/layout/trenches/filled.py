"""Trenches that fill the ground in rows or with bends, where no even blocks hold enough.

Of the ways to fill it the one is dug that costs least: trench, header, and a little for each trench
set up and for lengths that differ.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

from shapely import LineString, MultiLineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.lines.bends import is_closed
from siteplan.geometry.lines.directions import FAIR, edge_angles, turn_between
from siteplan.geometry.lines.rows import RowRule, Rows, best_rows
from siteplan.geometry.lines.sweep import polygonal, rings_of
from siteplan.geometry.memory import Memory
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.drafts import cheapest_finished
from siteplan.layout.header.network import AVOID_COST, CROSSING_COST
from siteplan.layout.header.router import HeaderDraft, drafted_header
from siteplan.layout.model import Ground, Header, KeptOff
from siteplan.layout.piping.evening import BALANCED
from siteplan.layout.trenches.clear_header import inside_trenches, joined_header
from siteplan.layout.trenches.cutting import level, start_of
from siteplan.layout.trenches.digging import Choice, digging_order, trench_choices
from siteplan.layout.trenches.fit import (
    best_lines,
    lines_of,
    straight_choices,
    total_length,
)
from siteplan.layout.trenches.gates import begun_nearest, with_gates
from siteplan.layout.way import Ways, ways_of
from siteplan.preferences.table import count_of, figure_of
from siteplan.site.model import HorizontalOptions
from siteplan.units.lengths import FOOT

LENGTH_STEP: Final = FOOT
"""Trenches are dug to a total of whole feet [m]; common practice, no source."""
ROUTED: Final = count_of("layout.trenches.filled.routed")
TIDY_EDGES: Final = count_of("layout.trenches.filled.tidy_edges")
TIDY_SHARE: Final = figure_of("layout.trenches.filled.tidy_share")
AMPLE: Final = figure_of("layout.trenches.filled.ample")
TRENCH_COST: Final = figure_of("layout.trenches.filled.trench_cost")
UNEVEN_COST: Final = figure_of("layout.trenches.filled.uneven_cost")
ODD_COST: Final = figure_of("layout.trenches.filled.odd_cost")
OBLIQUE_COST: Final = figure_of("layout.trenches.filled.oblique_cost")


def whole_feet(required_m: float) -> float:
    """Least total of whole feet that carries a length [m]."""
    return max(math.ceil(required_m / LENGTH_STEP - 1e-9) * LENGTH_STEP, required_m)


@dataclass(frozen=True, slots=True)
class Filling:
    """All lines that fit in one way; no direction where they have several [deg]."""

    lines: list[LineString]
    direction_deg: float | None
    oblique: bool


@dataclass(frozen=True, slots=True)
class Dug:
    """Lines to dig, each from its joined end, in digging order, and the header."""

    lines: tuple[LineString, ...]
    header: Header | None
    cost_m: float
    kept_off: KeptOff | None = None


Effort = Literal["edges", "straight", "bends"]
"""How ground is filled: in rows along its edges; in straight rows; with bends where they help."""


def fillings(
    area: BaseGeometry, rule: RowRule, required_m: float, memory: Memory, effort: Effort
) -> list[Filling]:
    """Ways to fill the ground, those that take more looking for only where others are not enough.

    Where there is ample ground, rows along its edges are all that is wanted.
    """
    ground = polygonal(area)
    edges, along = memory.of(along_edges, ground, rule)
    tried = list(along)
    # three times enough: no other direction could need less digging by so much that askew rows pay
    ample = _most(along) >= AMPLE * required_m
    straight: tuple[Rows, ...] = ()
    if effort != "edges" and not ample:
        straight = memory.of(straight_choices, ground, rule, FAIR)
        if effort == "bends" and _most(straight) < required_m:
            straight = memory.of(straight_choices, ground, rule)
        tried += straight
    fields = [
        Filling(
            lines_of(ground, rule, rows),
            rows.direction_deg,
            all(_oblique(rows.direction_deg, edge) for edge in edges),
        )
        for rows in tried
        if rows.heights
    ]
    # trenches with bends are slower to dig and to stake: only where no straight ones are enough
    held = max((total_length(field.lines) for field in fields), default=0.0)
    if effort == "bends" and fields and held < required_m:
        fullest = memory.of(best_lines, ground, rule, straight)
        fields.append(Filling(list(fullest), None, oblique=True))
    return fields


def _most(rows: Sequence[Rows]) -> float:
    return max((each.total_m for each in rows), default=0.0)


def along_edges(ground: BaseGeometry, rule: RowRule) -> tuple[tuple[float, ...], tuple[Rows, ...]]:
    """Directions of the longest edges [deg], and rows along and across them."""
    rings = rings_of(ground)
    if not rings:
        return (), ()
    edges = tuple(edge_angles(rings)[:TIDY_EDGES])
    turned = [edge + turn for edge in edges for turn in (0.0, 90.0)]
    return edges, tuple(best_rows(rings, rule, turned))


def _oblique(direction_deg: float, edge_deg: float) -> bool:
    return 0.01 < turn_between(direction_deg, edge_deg) < 89.99


def cheapest(
    ground: Ground,
    fields: Sequence[Filling],
    *,
    options: HorizontalOptions,
    rule: RowRule,
    required_m: float,
) -> Dug:
    """What to dig: of the choices that look cheapest, the one that is with its header."""
    most = max((total_length(field.lines) for field in fields), default=0.0)
    if most == 0.0:
        return Dug((), None, 0.0)
    target = whole_feet(required_m)
    # a lot that is too small is drawn as full as it gets; a hundredth less for straight rows along
    # an edge changes nothing for it
    enough = min(target, most if most >= required_m else TIDY_SHARE * most)
    ways = ways_of(ground)
    choices = [
        (choice, field)
        for field in _joinable(fields, ways, options)
        if total_length(field.lines) >= enough - TOLERANCE
        for choice in trench_choices(
            field.lines,
            min(target, total_length(field.lines)),
            rule=rule,
            ways=ways,
            along_deg=field.direction_deg,
        )
    ]
    # a header is dear to route: the estimate picks a few choices, their headers decide
    choices.sort(key=lambda pair: round(_estimate(*pair, options=options, target=target), 3))
    drafts: list[_Drafted] = []
    for choice, field in choices[:ROUTED]:
        drafts += _drafted(ground, choice, field, options=options, target=target)
        # what falls short is drawn at most to show how much the lot takes: one header will do
        if most < required_m and drafts:
            break
    # kept without an end: what the lot holds is told even where the header cannot get there
    out_of_reach = Dug(tuple(choices[0][0].lines), None, math.inf)
    return cheapest_finished(drafts) or out_of_reach


def _joinable(fields: Sequence[Filling], ways: Ways, options: HorizontalOptions) -> list[Filling]:
    """Fields whose closed trenches begin where the header comes, and such with gates there."""
    joinable = []
    for field in fields:
        turned = replace(field, lines=begun_nearest(field.lines, ways))
        joinable.append(turned)
        # rings inside rings leave the header no way in: so once with gates, once without
        if any(is_closed(line) for line in field.lines):
            opened = with_gates(turned.lines, options.spacing_m, shortest_m=options.shortest_m)
            joinable.append(replace(field, lines=opened))
    return joinable


def _estimate(
    choice: Choice, field: Filling, *, options: HorizontalOptions, target: float
) -> float:
    """What a choice may cost with the lengths it will be cut to, before its header is known [m]."""
    open_ = [line.length for line in choice.lines if not is_closed(line)]
    even = level(open_, total_length(choice.lines) - target, options.shortest_m)
    closed = [line.length for line in choice.lines if is_closed(line)]
    cut = [*closed, *(min(length, even) for length in open_)]
    return choice.cost_m + _extra(cut, len(open_), field=field, options=options)


def _extra(
    lengths: Sequence[float], open_: int, *, field: Filling, options: HorizontalOptions
) -> float:
    """What trenches of such lengths, so many of them open, cost beside their digging [m]."""
    uneven = min(lengths) < (1 - BALANCED) * max(lengths) - TOLERANCE
    # an odd pipe in an odd number of trenches finds no other to come home through: it would be
    # dead
    odd = options.pipes % 2 == 1 and open_ % 2 == 1
    cost = TRENCH_COST * len(lengths) + UNEVEN_COST * uneven + ODD_COST * odd
    return cost + OBLIQUE_COST * field.oblique


@dataclass(frozen=True, slots=True, eq=False)
class _Drafted:
    """A choice of lines with a draft of its header."""

    ground: Ground
    choice: Choice
    field: Filling
    options: HorizontalOptions
    target: float
    draft: HeaderDraft

    @property
    def cost_m(self) -> float:
        """Cost with the header as it was drafted [m]."""
        return self._cut(_led_away(self.choice.lines, self.draft.header), self.draft.header).cost_m

    def finished(self) -> Dug | None:
        """The choice with its header, cut to the length wanted; None without a way for it."""
        header = self.draft.finished()
        if header is None:
            return None
        led = _led_away(self.choice.lines, header)
        clear = _kept_clear(self.ground, led, header, field=self.field, options=self.options)
        return self._cut(led, clear)

    def _cut(self, led: Sequence[LineString], header: Header) -> Dug:
        options = self.options
        # only now is known which end is joined: cut at the other, the header stays as it was routed
        lines = _shortened(led, self.target, options)
        ordered = digging_order(lines, header.entry.point, spacing_m=options.spacing_m)
        open_ = sum(not is_closed(line) for line in lines)
        lengths = [line.length for line in lines]
        cost = total_length(lines) + header.length_m + CROSSING_COST * len(header.crossings)
        cost += _extra(lengths, open_, field=self.field, options=options)
        return Dug(tuple(ordered), header, cost)


def _drafted(
    ground: Ground,
    choice: Choice,
    field: Filling,
    *,
    options: HorizontalOptions,
    target: float,
) -> list[_Drafted]:
    """The choice with a draft of its header, where there is a way for it."""
    draft = drafted_header(
        ground,
        [_ends(line) for line in choice.lines],
        along_deg=field.direction_deg,
        avoid=choice.lines,
    )
    return [] if draft is None else [_Drafted(ground, choice, field, options, target, draft)]


def _kept_clear(
    ground: Ground,
    lines: Sequence[LineString],
    header: Header,
    *,
    field: Filling,
    options: HorizontalOptions,
) -> Header:
    """The header, or one that stays out of the trenches where it can and that costs less."""
    inside = inside_trenches(header, lines, options.width_m)
    if inside <= TOLERANCE:
        return header
    clear = joined_header(ground, lines, options, field.direction_deg, between=False)
    if clear is None or clear.length_m > header.length_m + AVOID_COST * max(inside, 1.0):
        return header
    return clear


def _ends(line: LineString) -> list[tuple[float, float]]:
    (first_x, first_y), (last_x, last_y) = line.coords[0], line.coords[-1]
    first, last = (first_x, first_y), (last_x, last_y)
    return [first] if first == last else [first, last]


def _led_away(lines: Sequence[LineString], header: Header) -> list[LineString]:
    """Lines that begin at the end the header joins."""
    whole = MultiLineString(list(header.runs))
    return [
        line if Point(line.coords[0]).distance(whole) <= TOLERANCE else line.reverse()
        for line in lines
    ]


def _shortened(
    lines: Sequence[LineString], target: float, options: HorizontalOptions
) -> list[LineString]:
    """Lines of the total wanted: the longest give way at their far ends, so that circuits balance.

    Rings give way only where open lines at their shortest are not enough.
    """
    open_ = [line.length for line in lines if not is_closed(line)]
    even = level(open_, total_length(lines) - target, options.shortest_m)
    cut = [
        line if is_closed(line) or line.length <= even + TOLERANCE else start_of(line, even)
        for line in lines
    ]
    excess = total_length(cut) - target
    # rings last and the latest ring first: a ring must be opened to be shortened
    for number in reversed(range(len(cut))):
        line = cut[number]
        spare = max(0.0, min(excess, line.length - options.shortest_m))
        if is_closed(line) and spare > TOLERANCE:
            short = start_of(line, line.length - spare)
            # a ring is opened by a spacing or not at all
            if _ends_apart(short) >= options.spacing_m:
                cut[number], excess = short, excess - spare
    return cut


def _ends_apart(line: LineString) -> float:
    return Point(line.coords[0]).distance(Point(line.coords[-1]))
