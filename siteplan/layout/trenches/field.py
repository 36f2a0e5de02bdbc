"""Horizontal trenches: no more digging than the length required takes, in rows near an entry."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from shapely import LineString, MultiLineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.errors import GeometryError
from siteplan.findings.model import Reason, reason
from siteplan.geometry.lines.bends import is_closed
from siteplan.geometry.lines.directions import FAIR, edge_angles, ranked_rows, turn_between
from siteplan.geometry.lines.rows import RowRule, Rows, best_rows
from siteplan.geometry.lines.sweep import polygonal, rings_of
from siteplan.geometry.memory import Memory, remembered
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Trench
from siteplan.layout.header.crossings import over_trenches
from siteplan.layout.header.router import AVOID_COST, reachable_area, route_header
from siteplan.layout.model import Ground, Header, Layout
from siteplan.layout.piping.evening import BALANCED
from siteplan.layout.trenches.cutting import level, start_of
from siteplan.layout.trenches.digging import Choice, digging_order, trench_choices
from siteplan.layout.trenches.ends import bound_with_ends, extended
from siteplan.layout.trenches.fit import (
    best_lines,
    lines_of,
    straight_choices,
    total_length,
    trench_bound,
    trench_rule,
)
from siteplan.layout.trenches.gates import begun_nearest, with_gates
from siteplan.layout.trenches.joined import best_field, inside_trenches, joined_header
from siteplan.layout.way import Ways, ways_of
from siteplan.preferences.table import count_of, figure_of
from siteplan.site.model import HorizontalOptions
from siteplan.units.lengths import FOOT

LENGTH_STEP: Final = FOOT
"""Trenches are dug to a total of whole feet [m]; common practice, no source."""
ROUTED: Final = count_of("layout.trenches.field.routed")
TIDY_EDGES: Final = count_of("layout.trenches.field.tidy_edges")
TIDY_SHARE: Final = figure_of("layout.trenches.field.tidy_share")
AMPLE: Final = figure_of("layout.trenches.field.ample")
TRENCH_COST: Final = figure_of("layout.trenches.field.trench_cost")
UNEVEN_COST: Final = figure_of("layout.trenches.field.uneven_cost")
ODD_COST: Final = figure_of("layout.trenches.field.odd_cost")
OBLIQUE_COST: Final = figure_of("layout.trenches.field.oblique_cost")


@remembered
def lay_out_trenches(ground: Ground, options: HorizontalOptions, required_m: float) -> Layout:
    """Trenches that carry the length required [m], or all that fit.

    Even blocks of parallel trenches come first: the cheapest to dig with their header. Where none
    hold enough, straight rows in a few directions are compared by what must be dug: trench,
    header, and a little for each trench set up and for lengths that differ. Where these are short,
    rows in several directions and trenches with bends are taken. Trenches end square, so rows are
    led on to the edge of the ground before they are chosen. A closed one begins where it is
    joined; where enough is left it has a gate there, through which the header reaches what lies
    inside. The longest trenches are shortened at their far ends to a total of whole feet.

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
    whole, memory = _open_to_header(ground), ground.memory
    most = memory.of(_bound, area, whole, options)
    dug = _even_blocks(ground, area, rule, required_m, options)
    if dug is not None:
        capacity = max(_capacity(area, rule, required_m, memory), total_length(dug.lines))
    else:
        # led on before they are compared: the ends may decide whether a direction holds enough
        fields = [
            replace(field, lines=list(memory.of(_led_on, tuple(field.lines), whole, options)))
            for field in _fields(area, rule, required_m, memory, bends=most >= required_m)
        ]
        capacity = max((total_length(field.lines) for field in fields), default=0.0)
        dug = _cheapest(ground, fields, options=options, rule=rule, required_m=required_m)
    trenches, header = _trenches(dug, options), dug.header
    if header is not None:
        over = over_trenches(header, trenches)
        header = replace(header, crossings=(*header.crossings, *over))
    return Layout(
        system="horizontal",
        elements=trenches,
        header=header,
        spacing_m=options.spacing_m,
        capacity_m=capacity,
        obstacle=_obstacle(ground, options, required_m=required_m, held_m=capacity, most_m=most),
        most_m=most,
    )


def _even_blocks(
    ground: Ground, area: BaseGeometry, rule: RowRule, required_m: float, options: HorizontalOptions
) -> _Dug | None:
    """Even blocks that carry the length required, in digging order; None where there are none."""
    target = _whole_feet(required_m)
    field = best_field(ground, area, rule, target, options=options, trench_cost_m=TRENCH_COST)
    if field is None:
        return None
    header = field.header
    ordered = digging_order(field.lines, header.entry.point, spacing_m=options.spacing_m)
    return _Dug(tuple(ordered), header, field.cost_m + target)


def _whole_feet(required_m: float) -> float:
    return max(math.ceil(required_m / LENGTH_STEP - 1e-9) * LENGTH_STEP, required_m)


def _capacity(area: BaseGeometry, rule: RowRule, required_m: float, memory: Memory) -> float:
    """Length that straight rows hold; along the edges alone where those hold amply [m]."""
    _, along = memory.of(_along_edges, polygonal(area), rule)
    held = max((rows.total_m for rows in along), default=0.0)
    if held >= AMPLE * required_m:
        return held
    return max(held, memory.of(straight_length, area, rule))


def straight_length(area: BaseGeometry, rule: RowRule) -> float:
    """Length that straight rows were found to hold in an area [m]."""
    rings = rings_of(polygonal(area))
    ranked = ranked_rows(rings, rule, FAIR) if rings else []
    return total_length(lines_of(polygonal(area), rule, ranked[0])) if ranked else 0.0


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


@dataclass(frozen=True, slots=True)
class _Field:
    """All lines that fit in one way; no direction where they have several [deg]."""

    lines: list[LineString]
    direction_deg: float | None
    oblique: bool


@dataclass(frozen=True, slots=True)
class _Dug:
    """Lines to dig, each from its joined end, in digging order, and the header."""

    lines: tuple[LineString, ...]
    header: Header | None
    cost_m: float


def _fields(
    area: BaseGeometry, rule: RowRule, required_m: float, memory: Memory, *, bends: bool
) -> list[_Field]:
    """Ways to fill the ground: straight ones, and the fullest where those are not enough.

    Where there is ample ground, rows along its edges are all that is wanted; where bends cannot
    help either, straight rows say as much.
    """
    ground = polygonal(area)
    edges, along = memory.of(_along_edges, ground, rule)
    # three times enough: no other direction could need less digging by so much that askew rows pay
    ample = max((rows.total_m for rows in along), default=0.0) >= AMPLE * required_m
    straight = () if ample else memory.of(straight_choices, ground, rule)
    if not (along and (ample or straight)):
        return []
    fields = [
        _Field(
            lines_of(ground, rule, rows),
            rows.direction_deg,
            all(_oblique(rows.direction_deg, edge) for edge in edges),
        )
        for rows in [*along, *straight]
        if rows.heights
    ]
    # trenches with bends are slower to dig and to stake: only where no straight ones are enough
    if bends and max(total_length(field.lines) for field in fields) < required_m:
        fullest = memory.of(best_lines, ground, rule, straight)
        fields.append(_Field(list(fullest), None, oblique=True))
    return fields


def _along_edges(ground: BaseGeometry, rule: RowRule) -> tuple[tuple[float, ...], tuple[Rows, ...]]:
    """Directions of the longest edges [deg], and rows along and across them."""
    rings = rings_of(ground)
    if not rings:
        return (), ()
    edges = tuple(edge_angles(rings)[:TIDY_EDGES])
    turned = [edge + turn for edge in edges for turn in (0.0, 90.0)]
    return edges, tuple(best_rows(rings, rule, direction) for direction in turned)


def _oblique(direction_deg: float, edge_deg: float) -> bool:
    return 0.01 < turn_between(direction_deg, edge_deg) < 89.99


def _cheapest(
    ground: Ground,
    fields: Sequence[_Field],
    *,
    options: HorizontalOptions,
    rule: RowRule,
    required_m: float,
) -> _Dug:
    """What to dig: of the choices that look cheapest, the one that is with its header."""
    most = max((total_length(field.lines) for field in fields), default=0.0)
    if most == 0.0:
        return _Dug((), None, 0.0)
    whole_feet = _whole_feet(required_m)
    # a lot that is too small is drawn as full as it gets; a hundredth less for straight rows along
    # an edge changes nothing for it
    enough = min(whole_feet, most if most >= required_m else TIDY_SHARE * most)
    ways = ways_of(ground)
    choices = [
        (choice, field)
        for field in _joinable(fields, ways, options)
        if total_length(field.lines) >= enough - TOLERANCE
        for choice in trench_choices(
            field.lines,
            min(whole_feet, total_length(field.lines)),
            rule=rule,
            ways=ways,
            along_deg=field.direction_deg,
        )
    ]
    # a header is dear to route: the estimate picks a few choices, their headers decide
    choices.sort(key=lambda pair: round(_estimate(*pair, options=options, target=whole_feet), 3))
    dug_fields = [
        _dug(ground, choice, field, options=options, target=whole_feet)
        for choice, field in choices[:ROUTED]
    ]
    return min(dug_fields, key=lambda dug: round(dug.cost_m, 3))


def _joinable(fields: Sequence[_Field], ways: Ways, options: HorizontalOptions) -> list[_Field]:
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


def _estimate(choice: Choice, field: _Field, *, options: HorizontalOptions, target: float) -> float:
    """What a choice may cost with the lengths it will be cut to, before its header is known [m]."""
    open_ = [line.length for line in choice.lines if not is_closed(line)]
    even = level(open_, total_length(choice.lines) - target, options.shortest_m)
    closed = [line.length for line in choice.lines if is_closed(line)]
    cut = [*closed, *(min(length, even) for length in open_)]
    return choice.cost_m + _extra(cut, len(open_), field=field, options=options)


def _extra(
    lengths: Sequence[float], open_: int, *, field: _Field, options: HorizontalOptions
) -> float:
    """What trenches of such lengths, so many of them open, cost beside their digging [m]."""
    uneven = min(lengths) < (1 - BALANCED) * max(lengths) - TOLERANCE
    # an odd pipe in an odd number of trenches finds no other to come home through: it would be
    # dead
    odd = options.pipes % 2 == 1 and open_ % 2 == 1
    cost = TRENCH_COST * len(lengths) + UNEVEN_COST * uneven + ODD_COST * odd
    return cost + OBLIQUE_COST * field.oblique


def _dug(
    ground: Ground,
    choice: Choice,
    field: _Field,
    *,
    options: HorizontalOptions,
    target: float,
) -> _Dug:
    """Choice with its header, cut to the length wanted."""
    header = route_header(
        ground,
        [_ends(line) for line in choice.lines],
        along_deg=field.direction_deg,
        avoid=choice.lines,
    )
    # kept as a choice without end: what the lot holds is told even where the header cannot get
    # there
    if header is None:
        return _Dug(tuple(choice.lines), None, math.inf)
    # only now is known which end is joined: cut at the other, the header stays as it was routed
    led = _led_away(choice.lines, header)
    header = _kept_clear(ground, led, header, field=field, options=options)
    lines = _shortened(led, target, options)
    ordered = digging_order(lines, header.entry.point, spacing_m=options.spacing_m)
    open_ = sum(not is_closed(line) for line in lines)
    extra = _extra([line.length for line in lines], open_, field=field, options=options)
    cost = total_length(lines) + header.length_m + extra
    return _Dug(tuple(ordered), header, cost)


def _kept_clear(
    ground: Ground,
    lines: Sequence[LineString],
    header: Header,
    *,
    field: _Field,
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


def _trenches(dug: _Dug, options: HorizontalOptions) -> tuple[Trench, ...]:
    return tuple(
        Trench(f"T{number}", line, options.width_m, options.depth_m, options.pipes, options.kind)
        for number, line in enumerate(dug.lines, start=1)
    )


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
