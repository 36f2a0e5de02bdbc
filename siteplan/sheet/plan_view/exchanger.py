"""What goes in the ground: elements at their exact place, header, entry and crossings."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import compress

import numpy as np
import shapely
from shapely import LineString, MultiLineString

from siteplan.hydraulics.pipes import pipes
from siteplan.layout.elements import Bore, Element, Trench, Well, facts_of
from siteplan.layout.model import Header, Layout
from siteplan.layout.outfall import called
from siteplan.layout.piping_model import Crossing
from siteplan.sheet.content.ties import TiePoint
from siteplan.sheet.marks import TIE, Mark
from siteplan.sheet.model import XY, Symbol
from siteplan.sheet.place.candidates import CLEARANCE_MM, LEAST_LED, Candidate, led
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.exchange import NoRoomError
from siteplan.sheet.place.label import Label, readable
from siteplan.sheet.place.placer import HARD, box_corners
from siteplan.sheet.place.series_names import SeriesName, put_names
from siteplan.sheet.plan_view.element_names import (
    ID_HEIGHT_MM,
    element_labels,
    id_label,
    named_beside,
    own_places,
)
from siteplan.sheet.plan_view.header_pipes import draw_streams
from siteplan.sheet.plan_view.series import best_side, ends_along, preferring
from siteplan.sheet.plan_view.trench_pipes import LEAST_WIDTH_MM, pipe_paths
from siteplan.sheet.style.formats import short_mark
from siteplan.sheet.style.styles import layer
from siteplan.sheet.style.text import wrapped
from siteplan.site.model import Entry
from siteplan.units.model import UnitSystem
from siteplan.units.systems import METRIC

ENTRY_MM, CANDIDATE_MM, CROSSING_MM = 1.9, 1.1, 1.3
TIE_MM = 1.1
TIE_KEEP_OFF = 1.2
"""How much more than its radius a tie point keeps free of text."""
NEW_INK = 40.0
HEADER_INK = 250.0
"""What a label pays for lying on the header, which its mask would hide."""
TICK_MM = 0.7
OTHER_END, BESIDE_OUTER, BESIDE = 6.0, 4.0, 12.0
"""What the name of a trench pays at the other end than its series, and beside its trench: the
outermost ones, and those with another on either side, for which it may be taken."""
WITHIN = 4.5
"""What the name of a trench pays beside its trench, where all of the series stand so."""
BACK_MM, OFF_MM = 1.0, 0.6
"""From the end of a trench, and from its side, to a name beside it [mm]."""
FARTHER_IN = 5.0
"""What it pays farther in, a little less than at the other end."""
FARTHER_IN_MM = (4.0, 8.0, 12.0, 18.0, 26.0, 36.0, 48.0)
"""The same where something stands at the end [mm]."""
ASTRAY = 60.0
"""What it pays where it stands as near to another trench as to its own, without a leader."""
SECOND_ROW_MM = 4.2
"""From the names of one row beyond the ends of trenches to those of the next [mm]."""


def draw_layout(
    canvas: Canvas, layout: Layout, entries: tuple[Entry, ...], ties: tuple[TiePoint, ...]
) -> None:
    """Draw header, elements, entries and tie points, without their ids."""
    header = layout.header
    if header is not None:
        _draw_header(canvas, header)
        for crossover in layout.crossovers:
            canvas.line(crossover.line.coords, "crossover", layer("crossover"), ink=NEW_INK)
        for crossing in crossings_of(layout):
            at = (crossing.x_m, crossing.y_m)
            mark = Symbol("crossing", at, CROSSING_MM, "crossing", layer("crossing"))
            canvas.symbol(mark, keep_off=1.3)
    for element in layout.elements:
        _draw_element(canvas, element)
    _draw_pipes(canvas, layout)
    draw_streams(canvas, layout)
    for tie in ties:
        known = Mark(TIE, tie.name)
        symbol = Symbol("tie", tie.at, TIE_MM, "element", layer("tie"), mark=known)
        canvas.symbol(symbol, keep_off=TIE_KEEP_OFF)
    for entry in entries:
        if header is None or entry.id != header.entry.id:
            _draw_entry(canvas, entry, "candidate", CANDIDATE_MM)
    if header is not None:
        _draw_entry(canvas, header.entry, "entry", ENTRY_MM)


def _draw_header(canvas: Canvas, header: Header) -> None:
    """Draw the runs of the header, and its pit."""
    for run in header.runs:
        canvas.line(run.coords, "header", layer("header"), ink=HEADER_INK, leader=NEW_INK)
    if header.pit is not None:
        outline = layer("header-pit")
        canvas.outline(header.pit.outline, "header-pit", outline, ink=HARD, leader=NEW_INK)


def crossings_of(layout: Layout) -> tuple[Crossing, ...]:
    """What header and crossovers cross, and must be marked."""
    header = layout.header.crossings if layout.header is not None else ()
    crossovers = (
        crossing
        for crossover in layout.crossovers
        for crossing in crossover.crossings
        if crossing.kind != "header"
    )
    return (*header, *crossovers)


def _draw_pipes(canvas: Canvas, layout: Layout) -> None:
    """Draw the pipes of the trenches that are wide enough on paper."""
    for element in layout.of(Trench) if layout.circuits else ():
        if element.width_m * 1000.0 / canvas.view.ratio >= LEAST_WIDTH_MM:
            for path in pipe_paths(element, pipes()[layout.circuits[0].pipe]):
                canvas.line(path, "trench-pipe", layer("trench-pipe"), ink=NEW_INK)


def label_layout(
    canvas: Canvas, layout: Layout, ties: tuple[TiePoint, ...], unnamed: Sequence[Element] = ()
) -> None:
    """Write the ids of all elements, crossovers and tie points.

    ``unnamed``: other elements that are drawn there, to which a name must not seem to belong.
    """
    _label_elements(canvas, layout, unnamed)
    for crossover in layout.crossovers:
        label = id_label(crossover.id, "crossover", "text-header")
        middle = crossover.line.interpolate(0.5, normalized=True)
        canvas.put_around([label], (middle.x, middle.y), TICK_MM)
    for tie in ties:
        label = id_label(tie.name, "tie")
        canvas.put_around([label], tie.at, TIE_MM * TIE_KEEP_OFF)


def label_pit(canvas: Canvas, header: Header) -> None:
    """Name the header pit and tell its size."""
    if header.pit is None:
        return
    size = " × ".join(short_mark(side, canvas.unit, rounding="down") for side in header.pit.sides_m)
    label = Label(("HEADER PIT", size), ID_HEIGHT_MM, "text-header", layer("ids"), bold=True)
    outline = header.pit.outline
    half = math.sqrt(header.pit.area_m2) * 500.0 / canvas.view.ratio
    canvas.put_around([label], (outline.centroid.x, outline.centroid.y), half)


def element_attributes(element: Element, unit: UnitSystem = METRIC) -> tuple[tuple[str, str], ...]:
    """Tags and values that an element carries in the drawing.

    Examples
    --------
    >>> from siteplan.units.systems import US
    >>> element_attributes(Bore("B1", 0.0, 0.0, 0.15, 91.44), US)
    (('ELEMENT', 'B1'), ('KIND', 'bore'), ('DEPTH', "300'"))
    """
    pairs = [("ELEMENT", element.id), ("KIND", called(element))]
    sizes = {"DEPTH": element.depth_m, "LENGTH": element.length_m}
    tags = facts_of(element).tags
    pairs += [(tag, short_mark(sizes[tag], unit, rounding="down")) for tag in tags]
    if isinstance(element, Bore) and element.tilt_deg:
        pairs += [("TILT", f"{element.tilt_deg:g}"), ("AZIMUTH", f"{element.azimuth_deg:g}")]
    if isinstance(element, Well):
        pairs.append(("ROLE", element.role))
    if isinstance(element, Trench):
        pairs.append(("TRENCH", element.kind_name))
    return tuple(pairs)


def _draw_entry(canvas: Canvas, entry: Entry, name: str, size: float) -> None:
    at = (float(entry.point.x), float(entry.point.y))
    canvas.symbol(Symbol(name, at, size, name, layer("entry")))


def _draw_element(canvas: Canvas, element: Element) -> None:
    loop = facts_of(element)
    if loop.lines:
        edge = layer("trench-edge")
        canvas.outline(element.footprint, "trench", edge, ink=HARD, leader=NEW_INK)
        canvas.line(element.axis.coords, "trench-center", layer("trench"), ink=NEW_INK)
    if element.tilt_deg:
        canvas.line(element.course.coords, "bore-course", layer("bore-course"), ink=NEW_INK)
    symbol = Symbol(
        element.symbol,
        (element.x_m, element.y_m),
        loop.size_mm or element.reach_m * 1000.0 / canvas.view.ratio,
        loop.style,
        layer(loop.layer),
        attributes=element_attributes(element, canvas.unit),
    )
    canvas.symbol(symbol, keep_off=loop.keep_off)


def _label_elements(canvas: Canvas, layout: Layout, unnamed: Sequence[Element]) -> None:
    """Write ids and circuits of all elements, on one side of them where there is room."""
    trenches = [element for element in layout.elements if isinstance(element, Trench)]
    if trenches:
        _label_trenches(canvas, trenches, element_labels(canvas.view, layout))
        return
    named = list(named_beside(canvas.view, layout, unnamed))
    owned = own_places(named)
    own = [
        (one.label, list(compress(one.places, mine)))
        for one, mine in zip(named, owned, strict=True)
    ]
    if canvas.most_led < len(named) and _surely_led(canvas, own) > canvas.most_led:
        raise NoRoomError("most names are led away")
    side = best_side(canvas, [(one.label, one.places) for one in named])
    put_names(
        canvas,
        [
            SeriesName(
                one.label,
                list(compress(preferring(one.places, side), mine)),
                one.spot,
                one.gap + 0.2,
            )
            for one, mine in zip(named, owned, strict=True)
        ],
    )


def _surely_led(canvas: Canvas, names: Sequence[tuple[Label, Sequence[Candidate]]]) -> int:
    """How many names pay more in each place beside their own than a leader costs."""
    places = [place for _, some in names for place in some]
    if not places:
        return len(names)
    sizes = [(label.width, label.height) for label, some in names for _ in some]
    which = np.repeat(np.arange(len(names)), [len(some) for _, some in names])
    near = canvas.placer.beside(places, sizes) < LEAST_LED
    return len(names) - len(np.unique(which[near]))


def _label_trenches(canvas: Canvas, trenches: Sequence[Trench], labels: Sequence[Label]) -> None:
    """Write the ids of trenches beyond the ends on one side, elsewhere where that is taken."""
    paths = [LineString(canvas.view.to_paper(trench.line.coords)) for trench in trenches]
    alike = ends_along([(_ends(path)[0][0], _ends(path)[1][0]) for path in paths])
    halves = [trench.width_m * 500.0 / canvas.view.ratio for trench in trenches]
    others = [MultiLineString([*paths[:k], *paths[k + 1 :]]) for k in range(len(paths))]
    rows = zip(labels, paths, halves, alike, others, strict=True)
    ends = [
        _by_own(
            canvas,
            [*_beyond(path, label, alike=same), *_within(path, label, half, BACK_MM, alike=same)],
            label, path, half, rivals,
        )
        for label, path, half, same, rivals in rows
    ]  # fmt: skip
    side = best_side(canvas, list(zip(labels, ends, strict=True)))
    for number, (path, label) in enumerate(zip(paths, labels, strict=True)):
        first = side % 2 if alike[number] else 1 - side % 2
        places = preferring(ends[number], side, aside=OTHER_END)
        beyond = len(ends[number]) // 2
        if side >= beyond:
            # on the other side it would stand between two of them, as theirs do
            for k in range(beyond, len(places)):
                if (k - beyond) // 2 != (side - beyond) // 2:
                    places[k] = replace(places[k], cost=places[k].cost + BESIDE)
            # farther in on the same side it is still read with its series
            for back in FARTHER_IN_MM:
                rows_in = _within(path, label, halves[number], back, alike=alike[number])
                places.append(replace(rows_in[side - beyond], cost=FARTHER_IN + 0.05 * back))
        further = _trench_places(path, label, halves[number], first)
        places += _cheaper_outside(further, path, others[number])
        canvas.put(label, _by_own(canvas, places, label, path, halves[number], others[number]))


def _cheaper_outside(
    places: Sequence[Candidate], path: LineString, rivals: MultiLineString
) -> list[Candidate]:
    """The places, those on the outer side of an outermost trench for less: none is beyond them."""
    spots = shapely.points([place.center for place in places])
    outside = shapely.distance(spots, rivals) > shapely.distance(path, rivals)
    outside &= shapely.distance(spots, path) < shapely.distance(spots, rivals)
    return [
        replace(place, cost=place.cost - BESIDE + BESIDE_OUTER)
        if out and place.leader is None and place.cost >= BESIDE
        else place
        for place, out in zip(places, outside, strict=True)
    ]


def _by_own(
    canvas: Canvas, places: Sequence[Candidate], label: Label, path: LineString, half: float,
    rivals: MultiLineString,
) -> list[Candidate]:  # fmt: skip
    """The places; those as near to another trench as to their own, or behind one, at a price.

    Behind another trench or a line of the lot a name pays as a leader across it would.
    """
    corners = [box_corners(p.center, label.width, label.height, p.angle_deg) for p in places]
    boxes = shapely.polygons(corners)
    own = shapely.distance(boxes, path) + CLEARANCE_MM
    astray = own >= (shapely.distance(boxes, rivals) if not rivals.is_empty else math.inf)
    links = shapely.shortest_line(boxes, path)
    # as far as the edge of its own trench
    between = np.maximum(shapely.length(links) - half - CLEARANCE_MM, 0.0)
    ends = shapely.get_coordinates(shapely.line_interpolate_point(links, between))
    starts = shapely.get_coordinates(shapely.get_point(links, 0))
    behind = canvas.placer.crossings(np.stack([starts, ends], axis=1))
    return [
        replace(place, cost=place.cost + ASTRAY * bool(far) + float(more))
        if place.leader is None
        else place
        for place, far, more in zip(places, astray, behind, strict=True)
    ]


def _beyond(path: LineString, label: Label, *, alike: bool) -> list[Candidate]:
    """Beyond the start of a trench and beyond its end: level, then turned along it.

    Of a trench that runs the other way than the first one, its end goes first.
    """
    level, turned = [], []
    for end, inner in _ends(path)[:: 1 if alike else -1]:
        out = _outward(end, inner)
        # the box's half width in that direction
        clear = abs(out[0]) * label.width / 2 + abs(out[1]) * label.height / 2 + 1.4
        level.append(Candidate((end[0] + out[0] * clear, end[1] + out[1] * clear), 0.0))
        turn = readable(math.degrees(math.atan2(out[1], out[0])))
        clear = label.width / 2 + 1.4
        spot = (end[0] + out[0] * clear, end[1] + out[1] * clear)
        turned.append(Candidate(spot, turn, 1.0))
    return [*level, *turned]


def _within(
    path: LineString, label: Label, half: float, back_mm: float, *, alike: bool
) -> list[Candidate]:  # fmt: skip
    """Beside a trench, at its start and its end: to the left of the way out, then to the right.

    All names of a series are told from each other there as well, where they stand all on one side.
    """
    places = []
    for turn in (1.0, -1.0):
        for end, inner in _ends(path)[:: 1 if alike else -1]:
            out = _outward(end, inner)
            back = label.width / 2 + back_mm
            off = turn * (half + label.height / 2 + OFF_MM)
            spot = (end[0] - out[0] * back - out[1] * off, end[1] - out[1] * back + out[0] * off)
            angle = readable(math.degrees(math.atan2(out[1], out[0])))
            places.append(Candidate(spot, angle, WITHIN))
    return places


def _outward(end: XY, inner: XY) -> XY:
    """Direction in which a trench ends."""
    reach = math.dist(end, inner)
    return (end[0] - inner[0]) / reach, (end[1] - inner[1]) / reach


def _ends(path: LineString) -> tuple[tuple[XY, XY], tuple[XY, XY]]:
    """Both ends of a path, each with the point before it."""
    points = [(float(x), float(y)) for x, y, *_ in path.coords]
    return (points[0], points[1]), (points[-1], points[-2])


def _trench_places(path: LineString, label: Label, half: float, first: int) -> list[Candidate]:
    """In a second row beyond either end of a trench, beside its ends, on its middle.

    ``first``: number of the end that goes first; ``half``: half of its width [mm].
    """
    beyond = _beyond(path, label, alike=True)
    places = []
    for number, (end, inner) in enumerate(_ends(path)):
        rank = 0.0 if number == first else OTHER_END
        out = _outward(end, inner)
        # of trenches close together every other name stands in a second row
        x, y = beyond[number].center
        row = (x + out[0] * SECOND_ROW_MM, y + out[1] * SECOND_ROW_MM)
        places.append(Candidate(row, 0.0, rank + 1.0))
        # beside its trench a name is nearer to the next one: only where both ends are taken
        for back in (5.0, 9.0, 14.0):
            for side in (1.0, -1.0):
                off = side * (half + label.height / 2 + 1.0)
                x = end[0] - out[0] * back - out[1] * off
                y = end[1] - out[1] * back + out[0] * off
                turn = readable(math.degrees(math.atan2(out[1], out[0])))
                places.append(Candidate((x, y), turn, BESIDE + rank + 0.1 * back))
    middle = path.interpolate(0.5, normalized=True)
    return [*places, *led((middle.x, middle.y), label.width, label.height)]


def label_entry(canvas: Canvas, header: Header) -> None:
    """Name the entry that the header reaches."""
    entry = header.entry
    text = f"ENTRY {entry.label or entry.id}".upper()
    at = (float(entry.point.x), float(entry.point.y))
    labels = []
    for width in (60.0, 36.0, 26.0):
        lines = wrapped(text, width, ID_HEIGHT_MM, bold=True)
        labels.append(Label(lines, ID_HEIGHT_MM, "text-header", layer("ids"), bold=True))
    canvas.put_around(labels, at, ENTRY_MM)
