"""What stands on a random lot and near it, thought up in metres with the street in the south."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import shapely
from random_wishes import Words, length, wishes
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

XY = tuple[float, float]


@dataclass
class Thing:
    """A feature as it is thought up: kind, shape [m], and what is said of it."""

    kind: str
    shape: BaseGeometry
    says: dict[str, Any] = field(default_factory=dict)
    id: str = ""


@dataclass
class Thought:
    """A lot as it is thought up: parcel, features, entries [m], and what is wanted on it."""

    parcel: Polygon
    things: list[Thing]
    entries: list[XY]
    wanted: str
    metric: bool
    front: list[XY]
    house: Polygon


def thought_up(r: random.Random) -> Thought:
    """A lot in metres, the street in the south."""
    metric = r.random() < 0.35
    parcel, front = _parcel(r)
    house = _house(r, parcel)
    things = [Thing("building", house, _house_says(r, metric))]
    things += _street(r, front)
    things += _drive(r, house, front)
    things += _services(r, house, front, parcel, metric)
    things += _others(r, parcel, house, metric)
    things = [
        thing
        for number, thing in enumerate(things)
        # nobody lists the same thing twice, and whoever does is told
        if not any(
            (t.kind, t.shape, t.says) == (thing.kind, thing.shape, thing.says)
            for t in things[:number]
        )
    ]
    ponds = [thing for thing in things if thing.kind == "pond"]
    walls = [house, *(t.shape for t in things[1:] if t.kind == "building")]
    entries = _entries(r, walls, parcel)
    words = Words(r, metric, has_pond=bool(ponds), has_house=bool(entries), area=parcel.area)
    words.has_well = any(thing.kind == "potable well" for thing in things)
    words.has_drive = any(t.kind == "driveway" and t.shape.area > 0 for t in things)
    return Thought(parcel, things, entries, wishes(words), metric, front, house)


def _parcel(r: random.Random) -> tuple[Polygon, list[XY]]:
    """A parcel, and its side along the street from west to east."""
    wide, deep = r.uniform(20, 65), r.uniform(32, 115)
    if r.random() < 0.15:
        wide, deep = r.uniform(60, 130), r.uniform(80, 160)
    front = [(0.0, 0.0), (wide, r.uniform(-2, 2))]
    shape = r.choice(("quad", "quad", "quad", "curved", "bulb", "ell", "flag", "many"))
    if shape in ("curved", "bulb"):
        sag = wide * (r.uniform(0.03, 0.12) if shape == "curved" else r.uniform(-0.4, -0.2))
        front = _arc(front[0], front[1], sag)
    back = [
        (wide + r.uniform(-6, 8), deep + r.uniform(-5, 5)),
        (r.uniform(-8, 6), deep + r.uniform(-5, 5)),
    ]
    corners = [*front, *back]
    if shape == "ell":
        cut, up = wide * r.uniform(0.3, 0.6), deep * r.uniform(0.4, 0.7)
        corners = [
            *front,
            (wide + 1, up),
            (wide - cut, up + r.uniform(-2, 2)),
            (wide - cut, deep),
            back[1],
        ]
    if shape == "flag":
        pole, up = r.uniform(4.5, 8), deep * r.uniform(0.25, 0.5)
        front = [(0.0, 0.0), (pole, 0.4)]
        corners = [
            *front,
            (pole + 0.5, up),
            (wide + 10, up + r.uniform(-3, 3)),
            (wide + 12, deep + up),
            back[1],
        ]
    if shape == "many":
        corners = [
            *front,
            *_wavy(r, front[1], back[0]),
            *_wavy(r, back[0], back[1]),
            *_wavy(r, back[1], front[0]),
        ]
    parcel = Polygon(corners)
    return (parcel, front) if parcel.is_valid and parcel.area > 350 else _parcel(r)


def _arc(start: XY, end: XY, sag: float) -> list[XY]:
    """Points of an arc, by its chord and its sagitta to the right of it."""
    chord = math.dist(start, end)
    radius = (chord * chord / 4 + sag * sag) / (2 * abs(sag))
    half = math.asin(min(1.0, chord / 2 / radius))
    ux, uy = (end[0] - start[0]) / chord, (end[1] - start[1]) / chord
    count = max(4, int(half / math.radians(4)))
    points = []
    for k in range(count + 1):
        a = -half + 2 * half * k / count
        along, off = radius * math.sin(a), radius * (math.cos(a) - math.cos(half))
        off = -math.copysign(off, sag)
        middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        points.append((middle[0] + ux * along - uy * off, middle[1] + uy * along + ux * off))
    return points


def _wavy(r: random.Random, start: XY, end: XY) -> list[XY]:
    """Corners on the way from one to another, a little off the straight, the last one too."""
    count = r.randint(2, 9)
    shares = [k / count for k in range(1, count)]
    return [
        (
            start[0] + s * (end[0] - start[0]) + r.uniform(-1, 1),
            start[1] + s * (end[1] - start[1]) + r.uniform(-1, 1),
        )
        for s in shares
    ] + [end]


def _box(
    r: random.Random, size: tuple[float, float, float, float], lean_deg: float = 8.0
) -> Polygon:
    """A rectangle round 0, 0 of a size between limits, turned a little."""
    wide, high = r.uniform(*size[:2]), r.uniform(*size[2:])
    turned = shapely.affinity.rotate(shapely.box(0, 0, wide, high), r.uniform(-lean_deg, lean_deg))
    return shapely.affinity.translate(turned, -wide / 2, -high / 2)


def _somewhere(r: random.Random, shape: BaseGeometry, beyond_m: float = 0.0) -> XY:
    """A place in the rectangle around a shape, or so far beyond it."""
    west, south, east, north = shape.bounds
    return (
        r.uniform(west - beyond_m, east + beyond_m), r.uniform(south - beyond_m, north + beyond_m),
    )  # fmt: skip


def _house(r: random.Random, parcel: Polygon) -> Polygon:
    """A house on the parcel, in its front half where there is room."""
    for attempt in range(200):
        scale = 1.0 - attempt / 260
        house = _box(r, (9 * scale, 17 * scale, 7 * scale, 13 * scale), r.choice((0, 10)))
        if r.random() < 0.35:
            wing = shapely.affinity.translate(house, house.bounds[2] * 0.9, house.bounds[3] * 0.7)
            joined = house.union(shapely.affinity.scale(wing, 0.6, 0.6))
            house = joined if isinstance(joined, Polygon) else house
        west, south, east, north = parcel.bounds
        x, y = r.uniform(west, east), r.uniform(south + 6, south + (north - south) * 0.6)
        house = shapely.affinity.translate(house, x, y)
        if parcel.buffer(-2.0).contains(house):
            return Polygon(house.exterior)
    spot = parcel.representative_point()
    return Polygon(shapely.box(spot.x - 2.5, spot.y - 2.5, spot.x + 2.5, spot.y + 2.5).exterior)


def _house_says(r: random.Random, metric: bool) -> dict[str, Any]:
    says: dict[str, Any] = {"label": "HOUSE"} if r.random() < 0.5 else {}
    if r.random() < 0.2:
        says["overhang"] = length(r.choice((0.3, 0.6, 0.9)), metric)
    return says


def _street(r: random.Random, front: list[XY]) -> list[Thing]:
    """The street along the front, drawn as its line or as an area; often named."""
    if r.random() < 0.07:
        return []
    off = r.uniform(0.0, 6.0)
    west, east = (front[0][0] - 15, front[0][1]), (front[-1][0] + 15, front[-1][1])
    line = [west, *front, east]
    says = {"label": r.choice(("MILL ROAD", "HALDENWEG", "ALDER LANE"))} if r.random() < 0.6 else {}
    if r.random() < 0.25:
        below = [(x, y - off - 9) for x, y in reversed(line)]
        area = Polygon([*((x, y - off) for x, y in line), *below])
        return [Thing("street", area, says)] if area.is_valid else []
    return [Thing("street", LineString([(x, y - off) for x, y in line]), says)]


def _drive(r: random.Random, house: Polygon, front: list[XY]) -> list[Thing]:
    """A driveway from the street to the house, at its side."""
    if r.random() < 0.15:
        return []
    west, south, east, _ = house.bounds
    start = LineString(front).interpolate(r.uniform(0.1, 0.9), normalized=True)
    x = r.choice((west - 2.0, east + 2.0, (west + east) / 2))
    line = LineString([(start.x, start.y - 1), (x, south + (4 if x < west or x > east else -0.2))])
    if r.random() < 0.2:
        return [Thing("driveway", line, {})]
    area = line.buffer(r.uniform(1.4, 2.6), cap_style="flat").difference(house)
    return [Thing("driveway", area, {})] if isinstance(area, Polygon) else []


def _services(
    r: random.Random, house: Polygon, front: list[XY], parcel: Polygon, metric: bool
) -> list[Thing]:
    """Lines from the street to the house; or a well, a septic tank and a drainfield."""
    wall = LineString(house.exterior.coords)
    things = []
    kinds = ["water line", "sewer line", "gas line", "electric line"]
    own_water, own_sewer = r.random() < 0.4, r.random() < 0.4
    kinds = kinds[1:] if own_water else kinds
    kinds = [kind for kind in kinds if not (own_sewer and kind == "sewer line")]
    for kind in kinds:
        if r.random() < 0.75:
            out = LineString(front).interpolate(r.random(), normalized=True)
            at = wall.interpolate(r.random(), normalized=True)
            middle = ((out.x + at.x) / 2 + r.uniform(-4, 4), (out.y + at.y) / 2)
            line = (
                [(at.x, at.y), middle, (out.x, out.y - 5)]
                if r.random() < 0.4
                else [(at.x, at.y), (out.x, out.y - 5)]
            )
            says = {"use": "building"} if kind == "sewer line" and r.random() < 0.3 else {}
            if kind == "sewer line" and r.random() < 0.3:
                says["pipe"] = r.choice(("watertight", "not watertight"))
            if r.random() < 0.1:
                says["width"] = length(0.3, metric)
            things.append(Thing(kind, LineString(line), says))
    if r.random() < 0.3:
        says = {"voltage": r.choice(("240 V", "7.2 kV", "13.8 kV"))} if r.random() < 0.6 else {}
        y = r.uniform(-4, parcel.bounds[3])
        things.append(
            Thing(
                "overhead power line",
                LineString([(-20, y), (parcel.bounds[2] + 20, y + r.uniform(-8, 8))]),
                says,
            )
        )
    if own_water:
        things.append(Thing("potable well", Point(_somewhere(r, parcel, 3)), _well_says(r, metric)))
    if own_sewer:
        tank = Point(_somewhere(r, house, 8))
        things.append(Thing("septic tank", tank))
        field = shapely.affinity.translate(_box(r, (6, 14, 5, 10)), *_somewhere(r, parcel))
        things.append(
            Thing("drainfield", field, {"daily_flow": "450 gpd"} if r.random() < 0.3 else {})
        )
        if r.random() < 0.3:
            things.append(Thing("reserve area", shapely.affinity.translate(field, 16, 2)))
    return things


def _well_says(r: random.Random, metric: bool) -> dict[str, Any]:
    says: dict[str, Any] = {}
    if r.random() < 0.3:
        says["use"] = r.choice(("private", "private drilled", "public", "public municipal"))
    if r.random() < 0.2:
        says["pump_rate"] = r.choice(("8 gpm", "30 gpm", "0.5 L/s"))
    if r.random() < 0.2:
        says["casing"] = length(r.choice((12.0, 24.0)), metric)
    if r.random() < 0.2:
        says["lies"] = r.choice(("uphill", "downhill"))
    if r.random() < 0.2:
        says["owner"] = r.choice(("own", "other"))
    return says


SPOTS: Final = (
    "tree", "tree", "tree", "tree", "potable well", "spring", "energy well", "well pit",
    "septic tank",
    "seepage pit", "privy", "fuel tank", "silo", "hydrant", "material storage", "storm drain",
    "other keep-out",
)  # fmt: skip
LINES: Final = (
    "stream", "easement", "drain tile", "storm drain", "heat pipe", "tunnel", "other keep-out",
    "water line", "sewer line", "gas line", "electric line", "overhead power line",
)  # fmt: skip
AREAS: Final = (
    "building", "building", "garden", "pool", "planned addition", "easement", "steep slope",
    "floodplain", "wetland", "livestock pen", "material storage", "sewage lagoon", "cemetery",
    "landfill", "protection zone", "protected site", "tree", "other keep-out", "stream",
    "lent ground", "tunnel", "storm drain",
)  # fmt: skip
USES: Final = {
    "fuel tank": ("buried", "propane"),
    "protection zone": ("zone 2", "zone 3", "ground water", "far"),
    "planned addition": ("building", "pool"),
    "sewer line": ("main", "force main", "building"),
}


def _others(r: random.Random, parcel: Polygon, house: Polygon, metric: bool) -> list[Thing]:
    """What else stands on a lot and beside it."""
    things = [_spot(r, parcel, metric) for _ in range(r.choice((0, 1, 2, 3, 5)))]
    things += [_line(r, parcel, metric) for _ in range(r.choice((0, 0, 1, 1, 2)))]
    things += [_area(r, parcel) for _ in range(r.choice((0, 0, 1, 1, 2, 3)))]
    if r.random() < 0.22:
        things += _pond(r, parcel, house, metric)
    kept = []
    for thing in things:
        if r.random() < 0.06 and thing.kind != "depth contour":
            thing.says["clearance"] = length(r.choice((1.5, 3.0, 8.0)), metric)
            thing.says["clearance_source"] = "health officer, 2026-02-03"
        if thing.kind in USES and r.random() < 0.5:
            thing.says["use"] = r.choice(USES[thing.kind])
        solid = thing.kind in ("building", "pool", "pond", "silo")
        if not (solid and thing.shape.distance(house) < 1.0):
            kept.append(thing)
    return kept


def _spot(r: random.Random, parcel: Polygon, metric: bool) -> Thing:
    kind = r.choice(SPOTS)
    says = _well_says(r, metric) if kind == "potable well" else {}
    if kind == "tree" and r.random() < 0.5:
        says["canopy"] = length(r.choice((4.0, 6.0, 9.0, 12.0)), metric)
    return Thing(kind, Point(_somewhere(r, parcel, 8)), says)


def _line(r: random.Random, parcel: Polygon, metric: bool) -> Thing:
    kind = r.choice(LINES)
    ends = [_somewhere(r, parcel, 10) for _ in range(r.choice((2, 2, 3)))]
    side = r.random()
    west, south, east, north = parcel.bounds
    if side < 0.3:  # along a side of the lot, as most are
        x = r.uniform(0.5, 4)
        ends = [(east - x, south - 5), (east - x + r.uniform(-1, 1), north + 5)]
    elif side < 0.5:
        y = north - r.uniform(0.5, 5)
        ends = [(west - 5, y), (east + 5, y + r.uniform(-1, 1))]
    says = {}
    if (
        kind in ("stream", "easement", "tunnel", "sewer line", "other keep-out")
        and r.random() < 0.5
    ):
        says["width"] = length(r.choice((0.6, 1.5, 3.0)), metric)
    if kind == "overhead power line" and r.random() < 0.5:
        says["voltage"] = r.choice(("240 V", "7.2 kV", "34.5 kV"))
    return Thing(kind, LineString(ends), says)


def _area(r: random.Random, parcel: Polygon) -> Thing:
    kind = r.choice(AREAS)
    west, south, east, north = parcel.bounds
    if kind == "lent ground":
        return Thing(kind, shapely.box(east + 9, south, east + 20, north))
    if kind == "easement" and r.random() < 0.7:
        wide = r.uniform(2, 6)
        return Thing(kind, shapely.box(west - 12, north - wide, east + 12, north + 3))
    if kind in ("protection zone", "floodplain") and r.random() < 0.6:
        return Thing(
            kind,
            shapely.box(
                west - 5, south + (north - south) * r.uniform(0.3, 0.8), east + 5, north + 9
            ),
        )
    if kind in ("cemetery", "landfill", "protected site"):
        box = _box(r, (8, 20, 8, 20))
        return Thing(
            kind,
            shapely.affinity.translate(
                box, r.choice((west - 25, east + 25)), r.uniform(south, north)
            ),
        )
    small = kind in (
        "building",
        "pool",
        "planned addition",
        "material storage",
        "tunnel",
        "storm drain",
    )
    size = (2.5, 7.0, 2.5, 6.0) if small else (4.0, 14.0, 4.0, 14.0)
    shape = shapely.affinity.translate(
        _box(r, size, 30.0), *_somewhere(r, parcel, 2 if small else 6)
    )
    if kind in ("tree", "wetland", "garden") and r.random() < 0.5:
        shape = _blob(r, shape.centroid, math.sqrt(shape.area) / 2)
    return Thing(kind, shape)


def _blob(r: random.Random, centre: Point, radius: float) -> Polygon:
    """A round outline that no compass drew."""
    count = r.randint(7, 16)
    return Polygon(
        (
            centre.x + radius * r.uniform(0.8, 1.2) * math.cos(a),
            centre.y + radius * r.uniform(0.8, 1.2) * math.sin(a),
        )
        for a in (2 * math.pi * k / count for k in range(count))
    )


def _pond(r: random.Random, parcel: Polygon, house: Polygon, metric: bool) -> list[Thing]:
    """A pond with depth, with contours, or of a depth that nobody knows; partly beyond the line."""
    radius = r.uniform(8, 22)
    shore = _blob(r, Point(_somewhere(r, parcel, 5)), radius)
    if shore.distance(house) < 2.0 or shore.buffer(0.1).covers(parcel):
        return []
    says: dict[str, Any] = {"use": r.choice(("private", "public"))} if r.random() < 0.3 else {}
    which = r.random()
    if which < 0.15:
        return [Thing("pond", shore, {**says, "depth": "unknown"})]
    if which < 0.55:
        return [
            Thing("pond", shore, {**says, "depth": length(r.choice((2.0, 3.0, 3.6, 5.0)), metric)})
        ]
    rings = []
    for off, deep in ((0.15, 1.2), (0.35, 2.7), (0.55, 4.0))[: r.randint(1, 3)]:
        ring = shore.buffer(-off * radius)
        if isinstance(ring, Polygon) and not ring.is_empty:
            outline = Polygon(ring.simplify(0.05).exterior)
            rings.append(Thing("depth contour", outline, {"depth": length(deep, metric)}))
    if not rings:
        says["depth"] = length(3.6, metric)
    return [Thing("pond", shore, says), *rings]


def _entries(r: random.Random, walls: Sequence[Polygon], parcel: Polygon) -> list[XY]:
    """Places at walls where the pipes may enter; none where the wall is left open."""
    if r.random() < 0.2:
        return []
    places = []
    for _ in range(r.choice((1, 1, 1, 2, 3))):
        at = r.choice(walls[:1] * 3 + list(walls)).exterior.interpolate(r.random(), normalized=True)
        if parcel.buffer(-0.3).contains(at):
            places.append((at.x, at.y))
    return places
