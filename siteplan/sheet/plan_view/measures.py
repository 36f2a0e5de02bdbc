"""Dimension strings: from element to feature for every separation, and the typical spacing."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely
from shapely import LineString, MultiLineString, Polygon

from siteplan.checks.model import Separation
from siteplan.layout.model import Layout
from siteplan.rule_books.model import AT_MOST
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.content.drawn_distances import UNDRAWN, drawn_of
from siteplan.sheet.kept import kept
from siteplan.sheet.model import XY, Dimension
from siteplan.sheet.place.candidates import Candidate, led
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.label import Label, readable
from siteplan.sheet.place.placer import HARD, box_corners
from siteplan.sheet.plan_view.ways_past import past
from siteplan.sheet.style.formats import fine_mark
from siteplan.sheet.style.styles import layer
from siteplan.units.lengths import pair_decimals
from siteplan.units.model import UnitSystem

TEXT_HEIGHT_MM = 2.1
THROUGH_HOUSE = 400.0
"""What the line of a spacing pays for running through a house."""
DIMENSION_INK, LEADER_INK = 60.0, 25.0
"""What a label, and what its leader, pays for crossing a dimension line."""
LEAST_LENGTH_MM = 1.5
"""A shorter dimension line would be a blot; the table has the figure [mm]."""
TWIN_MM = 6.0
"""Two distances to one feature whose ends lie closer than this are drawn once [mm]."""
LEG_START_MM = 2.8
"""Where an extension line is clear of its own symbol [mm]."""
ON_HEADER_MM, MOST_ON_HEADER, BESIDE_HEADER_MM = 0.8, 0.6, -4.5
"""A dimension line so near to the header lies on it [mm]; where that is more than such a part of
it, it is drawn so far aside [mm]."""
OFFSETS_MM = (6.0, -6.0, 9.0, -9.0, 12.0, -12.0)


@kept
def dimensioned(content: PlanContent) -> tuple[Separation, ...]:
    """Distances that are drawn: a far one would only hide the others; the table has them all."""
    return drawn_of(content.site, content.separations)


@kept
def shown_decimals(content: PlanContent) -> int:
    """Fewest decimals, alike for table and plan, at which no distance that is kept looks short.

    Depths stand in the table alone, where a row may have more of its own.
    """
    drawn = (row for row in content.separations if row.rule.subject not in UNDRAWN)
    usual = content.site.unit.sign_decimals
    return max((row_decimals(row, content.site.unit, usual) for row in drawn), default=usual)


def row_decimals(separation: Separation, unit: UnitSystem, least: int) -> int:
    """Fewest decimals at which a distance that is kept does not look short."""
    if not separation.meets or separation.rule.says in AT_MOST:
        return least
    return pair_decimals(separation.rule.distance_m, separation.provided_m, unit, least)


def reserve_separations(canvas: Canvas, content: PlanContent) -> list[Separation]:
    """Separations that get a dimension, once each; labels keep off their lines from now on."""
    drawn: list[Separation] = []
    for separation in dimensioned(content):
        ends = (separation.element_point, separation.feature_point)
        if _length_mm(canvas, *ends) < LEAST_LENGTH_MM:
            continue
        if any(_twins(canvas, separation, other) for other in drawn):
            continue
        drawn.append(separation)
        offset = _beside_header(canvas, ends, content.layout)
        ordered = _in_order(canvas, separation)
        for line in (_offset_line(canvas, *ordered, offset), *_legs(canvas, ordered, offset)):
            _remember(canvas, line)
    return drawn


def _in_order(canvas: Canvas, separation: Separation) -> tuple[XY, XY]:
    ends = (separation.element_point, separation.feature_point)
    return left_to_right(*ends, canvas.view.turn_deg)


def _beside_header(canvas: Canvas, ends: tuple[XY, XY], layout: Layout | None) -> float:
    """How far aside a dimension line is drawn that else would lie on a piece of header [mm]."""
    if layout is None or layout.header is None:
        return 0.0
    line = LineString(canvas.view.to_paper(ends))
    along = sum(
        line.intersection(LineString(canvas.view.to_paper(run.coords)).buffer(ON_HEADER_MM)).length
        for run in layout.header.runs
    )
    return BESIDE_HEADER_MM if along > MOST_ON_HEADER * line.length else 0.0


def reserve_dimension(canvas: Canvas, ends: tuple[XY, XY]) -> None:
    """Keep labels off a dimension line between two points."""
    _remember(canvas, canvas.view.to_paper(ends))


def _remember(canvas: Canvas, line: npt.NDArray[np.float64]) -> None:
    """Keep labels off a line of a dimension on paper, and figures of others clear of it."""
    canvas.placer.add_line(line, DIMENSION_INK, leader_cost=LEADER_INK)
    canvas.placer.keep_leaders_apart(line.tolist())
    canvas.measured.append(LineString(line))


def draw_separations(
    canvas: Canvas, separations: Iterable[Separation], layout: Layout | None, decimals: int
) -> None:
    """Draw a dimension for each separation, from the element to the feature."""
    for separation in separations:
        ends = _in_order(canvas, separation)
        offset = _beside_header(canvas, ends, layout)
        style = "text" if separation.meets else "text-alarm"
        text = fine_mark(separation.provided_m, canvas.unit, decimals, rounding="down")
        finish_dimension(canvas, ends, text, offset=offset, style=style)


def draw_spacing(canvas: Canvas, layout: Layout, decimals: int) -> None:
    """Draw the distance between neighbouring elements once, where it disturbs least."""
    turn = canvas.view.turn_deg
    choices = _trench_pairs(layout, turn) if layout.loop.lines else _bore_pairs(layout, turn)
    if not choices:
        return
    pairs, typical = choices
    count = len(layout.elements)
    # between trenches is room for the line; from bore to bore it would run into their symbols
    offsets = (0.0,) if layout.loop.lines else OFFSETS_MM
    # no place without covering what must be read: the elements' own coordinates tell it
    least, best = HARD, None
    ways = [(pair, offset) for pair in pairs for offset in offsets]
    for (pair, offset), crossed in zip(ways, _crossed(canvas, ways), strict=True):
        text = _spacing_text(canvas, pair, decimals, count=count, typical=typical)
        cost = _trouble(canvas, pair, offset, text, crossed, most=least)
        if cost < least:
            least, best = cost, (pair, offset, text)
    if best is None:
        return
    ends, offset, text = best
    for line in (_offset_line(canvas, *ends, offset), *_legs(canvas, ends, offset)):
        _remember(canvas, line)
    finish_dimension(canvas, ends, text, offset=offset)


def _spacing_text(
    canvas: Canvas, ends: tuple[XY, XY], decimals: int, *, count: int, typical: bool
) -> str:
    distance = fine_mark(math.dist(*ends), canvas.unit, decimals, rounding="down")
    return f"{distance} {'TYP.' if typical else 'MIN.'}" if count > 2 else distance


def finish_dimension(
    canvas: Canvas, ends: tuple[XY, XY], text: str, *, offset: float = 0.0, style: str = "text"
) -> None:
    """Find a place for the text and draw the dimension."""
    start, end = ends
    label = Label((text,), TEXT_HEIGHT_MM, style, layer("dimension"))
    line = _offset_line(canvas, start, end, offset)
    middle = (float(line[:, 0].mean()), float(line[:, 1].mean()))
    places = [*_text_places(line, label), *led(middle, label.width, label.height)]
    # lines of dimensions lie over every mask under a figure
    boxes = [
        box_corners(place.center, label.width, label.height, place.angle_deg) for place in places
    ]
    struck = shapely.intersects(shapely.polygons(boxes), MultiLineString(canvas.measured))
    places = [place for place, hit in zip(places, struck, strict=True) if not hit] or places
    houses = shapely.transform(canvas.houses, canvas.view.to_paper)

    def outside(label: Label, place: Candidate) -> bool:
        # a figure in a house, or led through it, would be taken for a size of the house
        corners = box_corners(place.center, label.width, label.height, place.angle_deg)
        return not houses.intersects(Polygon(corners)) and bool(
            place.leader is None or past([place], label, canvas, canvas.houses)
        )

    def draw(label: Label, place: Candidate) -> None:
        up = math.radians(place.angle_deg + 90.0)
        drop = label.height / 2 - label.height_mm
        base = (place.center[0] + drop * math.cos(up), place.center[1] + drop * math.sin(up))
        canvas.reserve(label, place.center, place.angle_deg, low=True)
        canvas.primitives.append(
            Dimension(
                start, end, text, canvas.model(base), place.angle_deg - canvas.view.turn_deg,
                TEXT_HEIGHT_MM, "dimension", style, layer("dimension"), offset_mm=offset,
            )
        )  # fmt: skip

    canvas.grant([(label, places)], draw, allows=outside)


def _text_places(line: npt.NDArray[np.float64], label: Label) -> list[Candidate]:
    """Beside the dimension line, from its middle outwards, then beyond its ends."""
    start, end = line
    length = float(np.hypot(*(end - start)))
    along = (end - start) / length
    across = np.array([-along[1], along[0]])
    angle = readable(math.degrees(math.atan2(along[1], along[0])))
    beyond = (label.width / 2 + 1.2) / length
    shares = [0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74]
    places = []
    for share in shares:
        for side in (1.0, -1.0):
            off = across * side * (label.height / 2 + 0.55)
            spot = start + share * (end - start) + off
            # a figure is looked for over the middle of its line
            cost = 6.0 * abs(share - 0.5) + (0.0 if side > 0 else 0.5)
            places.append(Candidate((float(spot[0]), float(spot[1])), angle, cost))
    # beside a line steeper than 45° level text is read more easily than text turned along it
    if abs(along[1]) > 0.7:
        side_step = (label.width / 2 + label.height * abs(along[0]) + 1.0, 0.0)
        for sign in (1.0, -1.0):
            spot = (start + end) / 2 + np.multiply(side_step, sign)
            places.append(Candidate((float(spot[0]), float(spot[1])), 0.0, 3.0))
    # beyond the ends only where the line is too short or too crowded for its figure
    for share in (-beyond, 1.0 + beyond):
        spot = start + share * (end - start)
        places.append(Candidate((float(spot[0]), float(spot[1])), angle, 12.0))
    return places


def _twins(canvas: Canvas, separation: Separation, other: Separation) -> bool:
    """Whether two dimension lines would lie on each other."""
    apart = max(
        _length_mm(canvas, separation.element_point, other.element_point),
        _length_mm(canvas, separation.feature_point, other.feature_point),
    )
    return apart < (TWIN_MM if separation.feature == other.feature else 0.5)


def left_to_right(start: XY, end: XY, turn_deg: float) -> tuple[XY, XY]:
    """The two points in reading order, so that text over the line stands upright."""
    angle = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0])) + turn_deg
    apart = abs(readable(angle) - angle) % 360.0
    return (start, end) if min(apart, 360.0 - apart) < 1.0 else (end, start)


def _length_mm(canvas: Canvas, start: XY, end: XY) -> float:
    return math.dist(start, end) * 1000.0 / canvas.view.ratio


def _offset_line(canvas: Canvas, start: XY, end: XY, offset_mm: float) -> npt.NDArray[np.float64]:
    line = canvas.view.to_paper([start, end])
    along = (line[1] - line[0]) / max(float(np.hypot(*(line[1] - line[0]))), 1e-9)
    return np.asarray(line + np.array([-along[1], along[0]]) * offset_mm)


def _crossed(canvas: Canvas, ways: Sequence[tuple[tuple[XY, XY], float]]) -> list[float]:
    """What each dimension line with its extension lines would cross.

    A line without offset lies between two trenches, whose own edges it has to cross; no name.
    """
    paths = [
        (_offset_line(canvas, *ends, offset), *_legs(canvas, ends, offset)) for ends, offset in ways
    ]
    alone = [len(lines) < 2 for lines in paths]
    found = [
        0.0 if not bare or canvas.placer.is_open(lines[0]) else HARD
        for bare, lines in zip(alone, paths, strict=True)
    ]
    whole = np.flatnonzero(~np.array(alone, bool))
    if len(whole):
        costs = canvas.placer.crossings([line for k in whole.tolist() for line in paths[k]])
        for k, some in zip(whole.tolist(), costs.reshape(len(whole), -1).tolist(), strict=True):
            found[k] = sum(some)
    return found


def _trouble(
    canvas: Canvas, ends: tuple[XY, XY], offset: float, text: str, crossed: float, *, most: float
) -> float:  # fmt: skip
    """What the dimension line, its extension lines and its text would cross.

    ``crossed``: that of the lines. Where they alone cross ``most`` or more, the text is not asked
    for.
    """
    line = _offset_line(canvas, *ends, offset)
    # a size drawn through a house would be taken for one of the house
    if canvas.houses.intersects(LineString(canvas.view.to_model(line))):
        crossed += THROUGH_HOUSE
    # of equal places the one with the shorter extension lines
    crossed += 0.1 * abs(offset)
    if crossed >= most:
        return crossed
    label = Label((text,), TEXT_HEIGHT_MM, "text", layer("dimension"))
    places = _text_places(line, label)
    return crossed + float(canvas.placer.rate(places, label.width, label.height).min())


def _legs(canvas: Canvas, ends: tuple[XY, XY], offset: float) -> list[npt.NDArray[np.float64]]:
    """Extension lines on paper, without the piece at the symbol they start from."""
    if not offset:
        return []
    inner = _offset_line(canvas, *ends, math.copysign(LEG_START_MM, offset))
    outer = _offset_line(canvas, *ends, offset + math.copysign(1.2, offset))
    return [np.array(leg) for leg in zip(inner, outer, strict=True)]


def _bore_pairs(layout: Layout, turn_deg: float) -> tuple[list[tuple[XY, XY]], bool] | None:
    """Pairs of nearest point elements, in reading order, and whether all are alike."""
    points = [(element.x_m, element.y_m) for element in layout.elements]
    if len(points) < 2:
        return None
    array = np.array(points)
    apart = np.hypot(*(array[:, None] - array[None]).transpose(2, 0, 1))
    np.fill_diagonal(apart, np.inf)
    least = float(apart.min())
    nearest = [(k, int(apart[k].argmin())) for k in range(len(points))]
    typical = bool(apart.min(axis=1).max() - least < 0.02)
    # enough pairs to hold a free one, and each is tried with every offset
    close = sorted({(min(k, j), max(k, j)) for k, j in nearest if apart[k, j] < least + 0.02})
    return [left_to_right(points[k], points[j], turn_deg) for k, j in close[:16]], typical


def _trench_pairs(layout: Layout, turn_deg: float) -> tuple[list[tuple[XY, XY]], bool] | None:
    """Square distances between neighbouring trenches at several places, and whether alike."""
    lines = [element.axis for element in layout.elements]
    pairs: list[tuple[float, tuple[XY, XY]]] = []
    gaps = []
    for line, other in pairwise(lines):
        gap = float(line.distance(other))
        gaps.append(gap)
        for share in (0.3, 0.2, 0.4, 0.5, 0.6, 0.7, 0.8):
            spot = line.interpolate(share, normalized=True)
            foot = other.interpolate(other.project(spot))
            # where trenches run apart, only the place of their least distance is their spacing
            if spot.distance(foot) < gap + 0.02:
                ends = left_to_right((spot.x, spot.y), (foot.x, foot.y), turn_deg)
                pairs.append((gap, ends))
    if not pairs:
        return None
    least = min(gap for gap, _ in pairs)
    return [ends for gap, ends in pairs if gap < least + 0.02], max(gaps) - least < 0.02
