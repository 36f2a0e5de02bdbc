"""Parts of the plan at a larger scale, each on a sheet of its own, joined at match lines."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import shapely
from shapely import LineString, Point, Polygon, affinity, get_parts
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.boundary import Side
from siteplan.layout.elements import Element, Trench
from siteplan.layout.model import Layout
from siteplan.sheet.content.content import PART, PlanContent
from siteplan.sheet.content.sides import sides_of
from siteplan.sheet.model import XY, Paper, Sheet, View
from siteplan.sheet.pages.compose import finished
from siteplan.sheet.pages.key_plan import key_block
from siteplan.sheet.pages.parting import unnamed
from siteplan.sheet.pages.strip import part_plan, part_strip
from siteplan.sheet.place.blocks import Block
from siteplan.sheet.place.candidates import led
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.label import Label
from siteplan.sheet.plan_view.exchanger import NEW_INK
from siteplan.sheet.plan_view.features import beside_line
from siteplan.sheet.plan_view.parcel import tagged_sides
from siteplan.sheet.plan_view.window import Scene, named_points, plan_canvas, scene_of
from siteplan.sheet.style.paper import scale_label, scale_ratios
from siteplan.sheet.style.styles import layer
from siteplan.sheet.style.text import LEAST_HEIGHT_MM

EDGE_MM: Final = 14.0
"""What a part shows beyond its match lines [mm]."""
AROUND_M: Final = 1.0
"""Ground shown around the exchanger, at least [m]."""
MOST_PARTS: Final = 9
"""More parts than this are not drawn: larger paper is needed."""
LEAST_PIECE_M: Final = 1.0
"""A shorter piece of a trench has no name on a part: it has one on the next [m]."""
MATCH_INK: Final = 400.0
"""What a name pays for lying on a match line, which strikes it through: more than for a way."""
ON_MATCH_M: Final = 0.05
"""What lies so near to a match line is named on both sides of it [m]."""
NAME_MM: Final = LEAST_HEIGHT_MM + 0.3


@dataclass(frozen=True, slots=True)
class Cell:
    """A rectangle of the plan that one sheet shows; ``column`` and ``row`` count from lower left.

    Parameters
    ----------
    bounds
        Left, lower, right and upper end in axes that are turned with the plan [m].
    turn_deg
        How far the plan is turned, as of a view [deg].
    """

    column: int
    row: int
    bounds: tuple[float, float, float, float]
    turn_deg: float = 0.0

    @property
    def corners(self) -> tuple[XY, XY, XY, XY]:
        """Lower left, lower right, upper right and upper left corner [m]."""
        left, low, right, high = self.bounds
        ring = ((left, low), (right, low), (right, high), (left, high))
        if not self.turn_deg:
            return ring
        angle = math.radians(self.turn_deg)
        cosine, sine = math.cos(angle), math.sin(angle)
        first, second, third, last = (
            (x * cosine + y * sine, y * cosine - x * sine) for x, y in ring
        )
        return first, second, third, last

    @property
    def shape(self) -> Polygon:
        """The rectangle [m]."""
        return Polygon(self.corners)

    @property
    def middle(self) -> XY:
        """The middle of the rectangle [m]."""
        (x, y), _, (far_x, far_y), _ = self.corners
        return (x + far_x) / 2, (y + far_y) / 2


@dataclass(frozen=True, slots=True)
class Parts:
    """How the plan is parted: a scale, and the cells that hold something to build."""

    ratio: int
    cells: tuple[Cell, ...]


def parted(content: PlanContent, page: Paper, overall: View) -> Iterator[Parts]:
    """Ways to part the plan at scales larger than the overall one, the fewest parts first.

    They are turned as the overall plan is.

    Of scales that take as many parts the largest is taken.
    """
    unit = content.site.unit
    ways: dict[int, Parts] = {}
    among = sorted(content.site.sheet.scales or scale_ratios(unit))
    for ratio in reversed(among):
        if ratio < overall.ratio and ratio <= unit.drawing.readable:
            cells = _cells(
                content, _window(page), ratio * page.enlargement, turn_deg=overall.turn_deg
            )
            # from the smallest scale up, so that of scales with as many parts the largest stays
            ways[len(cells)] = Parts(ratio, cells)
    yield from (ways[count] for count in sorted(ways) if count <= MOST_PARTS)


def _window(page: Paper) -> tuple[float, float, float, float]:
    """Left, bottom, width and height of the window of a part [mm]."""
    margin = page.margin_mm
    width = page.width_mm - 2 * margin - part_plan().width_mm
    return margin, margin, width, page.height_mm - 2 * margin


def _cells(
    content: PlanContent, window: tuple[float, float, float, float], ratio: float, *,
    turn_deg: float,
) -> tuple[Cell, ...]:  # fmt: skip
    """Equal cells over the exchanger, row by row from above; without those that are empty."""
    assert content.layout is not None
    built = built_shapes(content.layout)
    around = built.buffer(AROUND_M)
    if turn_deg:
        around = affinity.rotate(around, turn_deg, origin=(0.0, 0.0))
    west, south, east, north = around.bounds
    room = [(size - 2 * EDGE_MM) * ratio / 1000.0 for size in window[2:]]
    columns = max(1, math.ceil((east - west) / room[0]))
    rows = max(1, math.ceil((north - south) / room[1]))
    wide, high = (east - west) / columns, (north - south) / rows
    grid = (
        Cell(
            column,
            row,
            (
                west + column * wide,
                south + row * high,
                west + (column + 1) * wide,
                south + (row + 1) * high,
            ),
            turn_deg,
        )
        for row in reversed(range(rows))
        for column in range(columns)
    )
    return tuple(cell for cell in grid if cell.shape.intersects(built))


def built_shapes(layout: Layout) -> BaseGeometry:
    """Everything that is built: elements, header and crossovers."""
    shapes: list[BaseGeometry] = [element.footprint for element in layout.elements]
    shapes += [crossover.line for crossover in layout.crossovers]
    shapes += layout.header.runs if layout.header is not None else ()
    return shapely.union_all(shapes)


@dataclass(frozen=True, slots=True)
class Wanted:
    """What parts are given up for.

    Parameters
    ----------
    names
        Of these they may lose so many and no more.
    most_led
        So many names of elements may be led away on each of them.
    """

    names: frozenset[str] = frozenset()
    may_lose: float = math.inf
    most_led: float = math.inf


def part_sheets(
    content: PlanContent, page: Paper, parts: Parts, *, wanted: Wanted = Wanted()
) -> tuple[Sheet, ...]:  # fmt: skip
    """One sheet for each cell, in the order of their numbers.

    Raises
    ------
    NoRoomError
        They lose more names than they may, or lead more of them away.
    """
    sheets: list[Sheet] = []
    for place in range(len(parts.cells)):
        lost = sum(len(sheet.unplaced) for sheet in sheets)
        left = replace(wanted, may_lose=wanted.may_lose - lost)
        sheets.append(_part_sheet(content, page, parts, left, place=place))
    return tuple(sheets)


def _part_sheet(
    content: PlanContent, page: Paper, parts: Parts, wanted: Wanted, *, place: int
) -> Sheet:
    number = content.titles.index(PART) + place
    cell = parts.cells[place]
    left, bottom, width, height = _window(page)
    label = scale_label(parts.ratio, content.site.unit)
    on_small = parts.ratio * page.enlargement
    view = View(on_small, label, left, bottom, width, height, cell.middle, cell.turn_deg)
    canvas = _canvas(content, view, parts, place, wanted)
    shapes = [cell.shape for cell in parts.cells]
    names = content.numbers[number - place : number - place + len(shapes)]

    def key(wide: float, tall_mm: float) -> Block:
        return key_block(content, wide, shapes, names=names, here=place, tall_mm=tall_mm)

    strip = part_strip(content, page, view, key=key, number=number, keyed=canvas.keyed)
    sheet = finished(content, page, view, (*canvas.primitives, *strip))
    lost = replace(sheet, unplaced=tuple(canvas.unplaced))
    # of other names the overall plan keeps account
    kept = unnamed(content.layout, lost) if content.layout is not None else ()
    return replace(sheet, name=PART, number=content.numbers[number], unplaced=kept)


def _canvas(content: PlanContent, view: View, parts: Parts, place: int, wanted: Wanted) -> Canvas:
    """The plan as far as a window shows it, with its match lines.

    What stands beyond these is drawn, and has its name on the sheet that they speak of.
    """
    sides = sides_of(content.site.parcel)
    window = _seen(view)
    here = [other.shape for number, other in enumerate(parts.cells) if number != place]
    own = window.difference(shapely.union_all(here).buffer(-ON_MATCH_M))

    def begin(canvas: Canvas) -> None:
        canvas.needed, canvas.may_lose = wanted.names, wanted.may_lose
        canvas.most_led = wanted.most_led
        _match_lines(canvas, content, parts, place)

    scene = replace(
        _scene(content, view, sides, window=window, own=own), before=begin, part=True, own=own
    )
    return plan_canvas(_within(content, window), view, sides, scene)


def _seen(view: View) -> Polygon:
    """Ground that a window shows [m]."""
    left, low = view.left_mm + 1.0, view.bottom_mm + 1.0
    right, high = left + view.width_mm - 2.0, low + view.height_mm - 2.0
    return Polygon(view.to_model([(left, low), (right, low), (right, high), (left, high)]))


def _scene(
    content: PlanContent, view: View, sides: tuple[Side, ...], *, window: Polygon,
    own: BaseGeometry,
) -> Scene:  # fmt: skip
    """What is named on a part: elements, points and sides that lie in its window.

    Of elements that are no lines, of ties, pegs and points those on its ``own`` ground.
    """
    whole = scene_of(content, view, sides)
    tagged = tagged_sides(sides, view, content.site.unit)
    middles = [LineString(side.points).interpolate(0.5, normalized=True) for _, side in tagged]
    return replace(
        whole,
        told=_clipped(content.layout, window, own) if content.layout is not None else None,
        ties=tuple(tie for tie in whole.ties if own.contains(Point(tie.at))),
        pegs=tuple(peg for peg in whole.pegs if own.contains(Point(peg.at))),
        points=tuple(point for point in named_points(content) if own.contains(Point(point.at))),
        piles=tuple(pile for pile in whole.piles if window.intersects(pile.shape)),
        tagged=tuple(pair for pair, at in zip(tagged, middles, strict=True) if window.contains(at)),
    )


def _within(content: PlanContent, window: Polygon) -> PlanContent:
    """What is drawn on a part: whole elements that reach into it, distances that lie in it."""
    layout = content.layout
    separations = tuple(
        separation
        for separation in content.separations
        if window.contains(
            LineString([separation.element_point, separation.feature_point]).buffer(0.01)
        )
    )
    if layout is not None:
        elements = tuple(
            element for element in layout.elements if window.intersects(element.footprint)
        )
        layout = replace(layout, elements=elements)
    # pegs and tie points are those of the whole field: its tables speak of them
    staked = content.setting_out
    return replace(content, separations=separations, layout=layout, staked=staked)


def _clipped(layout: Layout, window: Polygon, own: BaseGeometry) -> Layout:
    """The layout as far as a window shows it, so that names stand in it."""
    cut = (_piece(whole, window, own) for whole in layout.elements)
    elements = tuple(piece for piece in cut if piece is not None)
    crossovers = tuple(
        crossover for crossover in layout.crossovers if own.contains(crossover.line.centroid)
    )
    header, access = layout.header, layout.access
    if header is not None:
        runs = tuple(piece for run in header.runs for piece in _pieces(run, window))
        header = replace(header, runs=runs)
    if access is not None:
        access = replace(access, path=_longest(access.path, window))
    return replace(layout, elements=elements, crossovers=crossovers, header=header, access=access)


def _piece(element: Element, window: Polygon, own: BaseGeometry) -> Element | None:
    """An element named in a window, a trench cut to it; None for one on the ground of others."""
    if not isinstance(element, Trench):
        whole = window.contains(element.footprint)
        return element if whole and own.contains(Point(element.x_m, element.y_m)) else None
    # a trench that leaves the window and comes back has its name once
    longest, at_home = (_longest(element.line, ground) for ground in (window, own))
    # of one that only its neighbor has, a stub beyond the match line: a name is led far to it
    if at_home.length < LEAST_PIECE_M:
        return None
    return replace(element, line=longest)


def _longest(line: BaseGeometry, ground: BaseGeometry) -> LineString:
    return max(_pieces(line, ground), key=lambda piece: piece.length, default=LineString())


def _pieces(line: BaseGeometry, window: BaseGeometry) -> list[LineString]:
    seen = line.intersection(window)
    if seen.geom_type.startswith("Multi"):
        seen = shapely.line_merge(seen)
    return [part for part in get_parts(seen) if isinstance(part, LineString) and part.length > 0]


def _match_lines(canvas: Canvas, content: PlanContent, parts: Parts, place: int) -> None:
    """Draw the edges of a cell, each with the sheet that shows what lies beyond it."""
    first = content.titles.index(PART)
    numbers = content.numbers[first:]
    for line, number in match_lines(parts.cells, place, numbers):
        canvas.line(line, "match-line", layer("match-line"), ink=MATCH_INK, leader=NEW_INK)
        label = Label((f"MATCH LINE: SEE {number}",), NAME_MM, "text", layer("match-line"), True)
        _name_edge(canvas, LineString(canvas.view.to_paper(line)), label)


Edge = tuple[XY, XY]


def match_lines(
    cells: Sequence[Cell], place: int, numbers: Sequence[str]
) -> Iterator[tuple[Edge, str]]:
    """Edges of a cell that other cells join, with the number of the sheet beyond each."""
    here = cells[place]
    low_left, low_right, high_right, high_left = here.corners
    beyond: dict[tuple[int, int], Edge] = {
        (-1, 0): (low_left, high_left),
        (1, 0): (low_right, high_right),
        (0, -1): (low_left, low_right),
        (0, 1): (high_left, high_right),
    }
    where = {(cell.column, cell.row): number for cell, number in zip(cells, numbers, strict=False)}
    for (dx, dy), edge in beyond.items():
        number = where.get((here.column + dx, here.row + dy))
        if number is not None:
            yield edge, number


def draw_key(canvas: Canvas, parts: Parts, numbers: Sequence[str]) -> None:
    """Draw on the overall plan which sheet shows which part of it."""
    for cell, number in zip(parts.cells, numbers, strict=True):
        ring = list(cell.shape.exterior.coords)
        canvas.ring(ring[:-1], "match-line", layer("match-line"), ink=NEW_INK / 4)
        label = Label((f"SEE {number}",), NAME_MM, "text", layer("match-line"), True)
        _name_edge(canvas, LineString(canvas.view.to_paper(ring)), label)


def _name_edge(canvas: Canvas, path: LineString, label: Label) -> None:
    """Write a label along a line on paper, or led away from it."""
    places = beside_line(path, label)
    # its ends mostly lie outside of the field
    for share in (0.02, 0.98, 0.5, 0.25, 0.75):
        at = path.interpolate(share, normalized=True)
        places += led((at.x, at.y), label.width, label.height)
    canvas.put(label, places)
