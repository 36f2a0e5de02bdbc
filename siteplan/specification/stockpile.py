"""Ground proposed for spoil, and for cuttings and mud: level, clear, and near to the work."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import numpy.typing as npt
import shapely
from shapely import MultiLineString, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.available.area import PARCEL, KeepOut
from siteplan.earthwork.excavation import REPOSE, SPOIL_SETBACK_M, SWELL, strip_width
from siteplan.geometry.lines.sweep import joined_polygons
from siteplan.layout.elements import Bore, Trench, Well
from siteplan.layout.header.section import header_depth
from siteplan.layout.model import Layout
from siteplan.quantities.take_off import take_off
from siteplan.site.model import Feature, Site
from siteplan.units.lengths import FOOT
from siteplan.vocabulary.kinds import kinds

MUD_TIMES: Final = 3.0
"""Room for mud over the volume of the deepest bore; common practice, no source [-]."""
PIT_DEPTH_M: Final = 1.0
"""How deep a pit or tank for mud is taken to be; common practice, no source [m]."""
HEAP_HEIGHT_M: Final = 6 * FOOT
"""How high spoil is heaped, as an excavator turns it; common practice, no source [m]."""
BESIDE_M: Final = 5 * FOOT
"""Between earth and what exists, the property line or a peg; common practice, no source [m]."""
UNDER_LINE_M: Final = 20 * FOOT
"""Between a heap and a power line overhead: nearer than this the line comes first, 29 CFR
1926.1408(a) [m]."""
FROM_BORE_M: Final = (10 * FOOT, 5 * FOOT)
"""Between earth and a bore or well, so that a rig works and is walked round; where that leaves no
room, and no less; common practice, no source [m]."""
BESIDE_WAY_M: Final = 2 * FOOT
"""Between earth and the way in, so that what slides does not lie in it; common practice, no source
[m]."""
ASPECTS: Final = (1.0, 1.5, 2.0, 3.0, 5.0, 8.0)
"""Length over width of the rectangles that are tried, the squarest first."""
MOST_SPOTS: Final = 60
"""Places along each side of the free ground where a rectangle is tried."""
MANY_CORNERS: Final = 2000
STEP_M: Final = 2.0
"""Free ground of more corners than that is shrunk by so much at a time [m]."""
BATCH: Final = 200
"""So many places are looked at together."""
MEASURED_M: Final = 2 * FOOT
"""Between earth and a line that is measured along, where it costs no more than `DETOUR_M`; common
practice, no source [m]."""
DETOUR_M: Final = 15 * FOOT
"""How much farther from the work earth may lie for that, all heaps together; common practice, no
source [m]."""
LEAST_STEP_M: Final = 0.5
"""Nearer to each other places are not tried [m]."""
TURNS_DEG: Final = (0.0, 30.0, -30.0, 15.0, -15.0, 45.0)
"""How a rectangle is turned from the work, where it has no room otherwise [deg]."""
OPEN: Final = ("lent ground",)
"""Kinds of feature that are no ground of the lot."""
STOOD_BY: Final = ("building", "street", "driveway")
"""Kinds that a loop keeps off farther than earth for a few days needs to."""

HeapKind = Literal["spoil", "cuttings"]
NOTHING: Final = MultiLineString()


@dataclass(frozen=True, slots=True)
class Stockpile:
    """A rectangle of ground for earth.

    Parameters
    ----------
    kind
        What lies there.
    shape
        The rectangle [m].
    width_m, length_m
        Its shorter and its longer side [m].
    share
        How much of the earth has room there [-].
    """

    kind: HeapKind
    shape: Polygon
    width_m: float
    length_m: float
    share: float = 1.0


@dataclass(frozen=True, slots=True)
class Earth:
    """Earth that wants ground: loose soil in a heap, and mud beside it [m3]."""

    kind: HeapKind
    loose_m3: float
    mud_m3: float = 0.0


def earth_of(site: Site, layout: Layout) -> tuple[Earth, ...]:
    """What is dug, and what is drilled."""
    bank = sum(item.amount for item in take_off(site, layout) if item.ware == "soil")
    holes = drilled(layout)
    heaps = [Earth("spoil", bank * SWELL)] if bank else []
    if holes:
        heaps.append(Earth("cuttings", sum(holes) * SWELL, MUD_TIMES * max(holes)))
    return tuple(heaps)


def drilled(layout: Layout) -> list[float]:
    """Volume of each new bore or well [m3]."""
    return [
        math.pi * hole.diameter_m**2 / 4 * hole.depth_m
        for hole in layout.new
        if isinstance(hole, (Bore, Well)) and hole.depth_m
    ]


def stockpiles(
    site: Site, layout: Layout, keep_outs: Sequence[KeepOut],
    pegs: tuple[tuple[float, float], ...] = (), measured: BaseGeometry = NOTHING,
) -> tuple[Stockpile, ...]:  # fmt: skip
    """Ground for what is dug and drilled; none for what has no room on the lot.

    Where all of it has no room, as much as the largest trench gives is tried. ``pegs`` of base
    lines are left standing; lines along which a crew has ``measured`` are left free where as much
    has room about as near.
    """
    wanted = len(earth_of(site, layout))
    best: tuple[Stockpile, ...] = ()
    for away in FROM_BORE_M:
        free = free_ground(site, layout, keep_outs, bores_m=away)
        around = shapely.buffer(shapely.points(np.reshape(pegs, (-1, 2))), BESIDE_M, quad_segs=4)
        free = free.difference(shapely.union_all(around))
        placed = _beside(site, layout, free, measured)
        whole = [sum(pile.share for pile in piles) for piles in (placed, best)]
        best = placed if whole[0] > whole[1] else best
        if len(placed) == wanted and all(pile.share == 1.0 for pile in placed):
            break
    return best


def _beside(
    site: Site, layout: Layout, free: BaseGeometry, measured: BaseGeometry
) -> tuple[Stockpile, ...]:  # fmt: skip
    """Ground for each earth, beside what is measured along where it is as good."""
    nearest = _placed(site, layout, free)
    if not any(pile.shape.intersects(measured) for pile in nearest):
        return nearest
    clear = _placed(site, layout, free.difference(measured.buffer(MEASURED_M, quad_segs=4)))
    same = [(pile.kind, pile.share) for pile in clear] == [(p.kind, p.share) for p in nearest]
    ways = [sum(_way(layout, pile) for pile in piles) for piles in (clear, nearest)]
    return clear if same and ways[0] <= ways[1] + DETOUR_M else nearest


def _way(layout: Layout, pile: Stockpile) -> float:
    """From the middle of a heap to the work it comes from [m]."""
    return float(pile.shape.centroid.distance(_work(layout, pile.kind)))


def _placed(site: Site, layout: Layout, free: BaseGeometry) -> tuple[Stockpile, ...]:
    """Ground for each earth that finds room on what is free."""
    piles: list[Stockpile] = []
    for earth in earth_of(site, layout):
        for share in _shares(layout, earth):
            place = _nearest(site, layout, free, earth, share)
            if place is not None:
                piles.append(place)
                free = free.difference(place.shape.buffer(BESIDE_M, join_style="mitre"))
                break
    return tuple(piles)


def _shares(layout: Layout, earth: Earth) -> tuple[float, ...]:
    lengths = [trench.length_m for trench in layout.of(Trench)]
    if earth.kind != "spoil" or len(lengths) < 2:
        return (1.0,)
    return (1.0, max(lengths) / math.fsum(lengths))


def free_ground(
    site: Site, layout: Layout, keep_outs: Sequence[KeepOut], *, bores_m: float
) -> BaseGeometry:
    """Ground on which earth may lie: clear of all that exists, is kept free, or is to be built.

    From an edge of a trench it stays as far as the trench is deep, and 2 ft at least; of what a
    loop keeps off buildings and the property line only as much as earth for a few days has to.
    """
    near = {feature.id for feature in site.features if feature.kind in STOOD_BY} | {PARCEL}
    taken = [keep_out.shape for keep_out in keep_outs if keep_out.feature not in near]
    taken += [_kept_from(feature) for feature in site.features if feature.kind not in OPEN]
    taken += _built(site, layout, bores_m)
    return site.parcel.buffer(-BESIDE_M).difference(joined_polygons(shapely.union_all(taken)))


def _kept_from(feature: Feature) -> BaseGeometry:
    kind = kinds()[feature.kind]
    away = UNDER_LINE_M if kind.letter == "OH" else BESIDE_M
    return feature.shape.buffer(away + feature.width_m / 2 + feature.overhang_m, quad_segs=4)


def _built(site: Site, layout: Layout, bores_m: float) -> Iterator[BaseGeometry]:
    """What is dug or drilled, and the way in, with what a heap keeps from each."""
    options, header = site.exchanger.horizontal, site.exchanger.piping.header
    beside = (strip_width(options) - options.width_m) / 2 + max(SPOIL_SETBACK_M, options.depth_m)
    shapes = np.array([element.footprint for element in layout.elements], dtype=object)
    away = [beside if isinstance(element, Trench) else bores_m for element in layout.elements]
    yield from shapely.buffer(shapes, away, quad_segs=4)
    deep = max(SPOIL_SETBACK_M, header_depth(layout.piping, header))
    if layout.header is not None:
        for run in layout.header.runs:
            yield run.buffer(header.width_m / 2 + deep, quad_segs=4)
        if layout.header.pit is not None:
            yield layout.header.pit.outline.buffer(deep, quad_segs=4)
    for crossover in layout.crossovers:
        yield crossover.line.buffer(header.width_m / 2 + deep, quad_segs=4)
    if layout.access is not None and not layout.access.path.is_empty:
        yield layout.access.path.buffer(layout.access.width_m / 2 + BESIDE_WAY_M, quad_segs=4)


def _work(layout: Layout, kind: HeapKind) -> BaseGeometry:
    """Where earth comes up: at the holes, or along what is dug."""
    dug = layout.of(Trench) if kind == "spoil" else layout.new
    shapes: list[BaseGeometry] = [element.footprint for element in dug]
    if not shapes and layout.header is not None:
        shapes = list(layout.header.runs)
    return shapely.union_all(shapes)


def _nearest(
    site: Site, layout: Layout, free: BaseGeometry, earth: Earth, share: float
) -> Stockpile | None:
    """The rectangle nearest to the work; nothing bars the way from there, or from a drive."""
    work = _work(layout, earth.kind)
    if free.is_empty or work.is_empty:
        return None
    reached = shapely.union_all([work, *_ways(site, layout)])
    barred = shapely.union_all([feature.shape for feature in site.features if _bars(feature)])
    lot = site.parcel.buffer(1e-6)
    best: tuple[float, Stockpile] | None = None
    for width, length in rectangles(earth, share, step_m=site.unit.metres):
        for box in _boxes(free, work, (width, length)):
            path = shapely.shortest_line(box, reached)
            if path.crosses(barred) or not lot.contains(path):
                continue
            # a long heap is more to walk round than a square one
            away = round(float(box.centroid.distance(work)) + 0.1 * length, 3)
            if best is None or away < best[0]:
                best = (away, Stockpile(earth.kind, box, width, length, share))
            break
    return best[1] if best is not None else None


def _ways(site: Site, layout: Layout) -> Iterator[BaseGeometry]:
    """What a loader drives on: the way in, and drives."""
    if layout.access is not None:
        yield layout.access.path
    yield from (drive.shape for drive in site.of_kind("driveway"))


def _bars(feature: Feature) -> bool:
    """Whether no machine swings or drives over a feature."""
    return bool(feature.shape.area) and kinds()[feature.kind].rig == "never"


def rectangles(
    earth: Earth, share: float = 1.0, *, step_m: float = FOOT
) -> Iterator[tuple[float, float]]:  # fmt: skip
    """Shorter and longer side of ground for earth, in several shapes and whole steps [m].

    A heap with level top and sides at the slope at which it rests, no higher than is usual, and
    beside it the pit or tank for mud.

    Examples
    --------
    >>> [(round(a, 1), round(b, 1)) for a, b in rectangles(Earth("spoil", 50.0), step_m=1.0)][:2]
    [(8.0, 8.0), (7.0, 10.0)]
    """
    volume = earth.loose_m3 * share
    for aspect in ASPECTS:
        low, high = 0.0, 4.0 * math.sqrt(volume + 1.0) + 2.0
        for _ in range(50):
            middle = (low + high) / 2
            low, high = (
                (low, middle) if heap_volume(middle, aspect * middle) >= volume else (middle, high)
            )
        width, length = high, aspect * high
        length += earth.mud_m3 / PIT_DEPTH_M / width
        sides = sorted(math.ceil(round(side / step_m, 6)) * step_m for side in (width, length))
        yield sides[0], sides[1]


def heap_volume(width_m: float, length_m: float) -> float:
    """Earth in a heap on a rectangle, with its top cut off where it would be too high [m3].

    Examples
    --------
    12 m x 12 m at 1.5 to 1 would end in a point at 4 m; cut at 6 ft it is 6.514 m wide at its top,
    1.8288 (12^2 + 6.514^2 + 12 x 6.514) / 3 = 161.3 m3:

    >>> round(heap_volume(12.0, 12.0), 1), round(heap_volume(3.0, 3.0), 1)
    (161.3, 3.0)
    """
    short, long = sorted((width_m, length_m))
    high = min(HEAP_HEIGHT_M, short / (2 * REPOSE))
    return short * long * high - REPOSE * high**2 * (short + long) + 4 / 3 * REPOSE**2 * high**3


def _boxes(free: BaseGeometry, work: BaseGeometry, sides: tuple[float, float]) -> Iterator[Polygon]:
    """Rectangles on free ground, the nearest to the work first, along and across it if they can."""
    core = shrunk(free, 0.99 * sides[0] / 2)
    if core.is_empty:
        return
    west, south, east, north = core.bounds
    step = max((east - west) / MOST_SPOTS, (north - south) / MOST_SPOTS, LEAST_STEP_M)
    xs, ys = (np.arange(a, b + step / 2, step) for a, b in ((west, east), (south, north)))
    spots = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    shapely.prepare(core)
    spots = spots[shapely.contains_xy(core, spots[:, 0], spots[:, 1])]
    order = np.argsort(np.round(shapely.distance(shapely.points(spots), work), 3), kind="stable")
    shapely.prepare(free)
    turn = _direction(work)
    for turned in TURNS_DEG:
        angles = [turn + math.radians(turned + right) for right in (0.0, 90.0)]
        corners = np.stack([_corners(sides, angle) for angle in angles])
        for first in range(0, len(spots), BATCH):
            some = spots[order[first : first + BATCH]]
            boxes = np.asarray(shapely.polygons((some[:, None, None] + corners).reshape(-1, 4, 2)))
            yield from boxes[shapely.contains(free, boxes)]


def shrunk(free: BaseGeometry, away: float) -> BaseGeometry:
    """Ground at least so far from the edge of what is free, among many bores in steps.

    Grown at once each of their rings would cross many others; in steps they flow together early.
    """
    many = shapely.get_num_coordinates(free) > MANY_CORNERS
    steps = max(1, math.ceil(away / STEP_M)) if many else 1
    for _ in range(steps):
        free = free.buffer(-away / steps)
    return free


def _direction(work: BaseGeometry) -> float:
    """Direction of the longer side of the least rectangle around the work [rad]."""
    around = work.minimum_rotated_rectangle
    ring = shapely.get_coordinates(around)
    if len(ring) < 2:
        return 0.0
    sides = np.diff(ring[:3], axis=0)
    dx, dy = max(sides.tolist(), key=lambda side: math.hypot(*side))
    return math.atan2(dy, dx)


def _corners(sides: tuple[float, float], angle: float) -> npt.NDArray[np.float64]:
    """Corners of a rectangle around the origin, its longer side along an angle [m]."""
    cosine, sine = math.cos(angle), math.sin(angle)
    across, along = sides[0] / 2, sides[1] / 2
    flat = np.array([(-along, -across), (along, -across), (along, across), (-along, across)])
    return np.asarray(flat @ np.array([[cosine, sine], [-sine, cosine]]))
