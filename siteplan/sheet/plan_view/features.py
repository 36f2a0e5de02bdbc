"""What exists on the lot: drawn by kind, every feature labelled."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import compress
from types import MappingProxyType
from typing import Final

import numpy as np
import shapely
from shapely import LineString, Point, get_parts
from shapely import Polygon as Area
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.offset import grow
from siteplan.sheet.model import Symbol
from siteplan.sheet.place.candidates import CLEARANCE_MM, Candidate, led
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.label import Label, readable
from siteplan.sheet.place.placer import HARD, corners_of
from siteplan.sheet.plan_view.feature_names import plain_name, told_apart
from siteplan.sheet.plan_view.pond_depths import drawn_contours
from siteplan.sheet.style.formats import short_mark
from siteplan.sheet.style.styles import Treatment, layer, treatment
from siteplan.sheet.style.text import room_width, wrapped
from siteplan.site.model import (
    Feature,
    Site,
)
from siteplan.units.model import UnitSystem
from siteplan.vocabulary.kinds import Kind, kinds

LABEL_HEIGHT_MM = 2.3
SMALL_HEIGHT_MM = 2.05
LETTER_STEP_MM = 42.0
"""Distance between the letters in a utility line [mm]."""
LEAST_LETTERED_MM = 12.0
"""A shorter utility line goes without its letter if there is no room [mm]."""
MOST_INSIDE = 60.0
"""A name that disturbs more than this inside its area is led out of it."""
TIP_MM = 1.6
"""Round the tip of a leader no text [mm]."""
INK = {
    "building": HARD, "road": HARD, "easement": HARD, "water": HARD, "utility": 20.0,
    "septic": 30.0, "paving": 15.0,
}  # fmt: skip
"""What a label pays for crossing the line of a group; 4 for the others."""
LEADER_INK = {
    "building": 30.0, "road": 4.0, "easement": 4.0, "water": 4.0, "paving": 4.0, "septic": 8.0,
    "utility": 8.0,
}  # fmt: skip
"""What a leader pays for it, where that is not the same."""
COVER = {"building": 9.0, "septic": 9.0, "reserve": 9.0, "tank": 9.0, "paving": 2.0}
"""What a label pays for lying on an area of a group; next to nothing on the others."""

NOTHING_WIDE: Final[Mapping[str, str]] = MappingProxyType({})
PAVED: Final = "paving"
"""Group of what is drawn as the surface that it is."""

SOUNDING_MM: Final = 1.6
"""Size of the mark of a sounding [mm]."""
SOUNDING_OFF_MM: Final = 0.4
"""So far from its middle a leader to it ends [mm]."""


def draw_feature(canvas: Canvas, feature: Feature, unit: UnitSystem) -> None:
    """Draw one feature, without its label."""
    kind = kinds()[feature.kind]
    look = treatment(kind)
    if isinstance(feature.shape, Point):
        name = look.symbol or "obstacle"
        style = look.symbol_style or "point"
        canvas.symbol(Symbol(name, _xy(feature.shape), look.size or 2.0, style, kind.layer))
        return
    shape = _as_it_lies(feature, kind)
    if look.fill:
        canvas.fill(shape, look.fill, kind.layer)
    if look.hatch:
        canvas.hatch(shape, look.hatch, kind.layer, gap=look.gap, angle=look.angle)
    ink = INK.get(kind.group, 4.0)
    leader = LEADER_INK.get(kind.group, ink)
    canvas.outline(shape, look.line, kind.layer, ink=ink, leader=leader)
    if feature.overhang_m > 0:
        canvas.outline(grow(feature.shape, feature.overhang_m), "overhang", kind.layer, ink=2.0)
    canvas.cover(shape, COVER.get(kind.group, 0.5))
    if look.symbol == "water-well":
        center = _xy(feature.shape.centroid)
        canvas.symbol(Symbol(look.symbol, center, look.size, look.symbol_style, kind.layer))
    for _, area in drawn_contours(feature, unit):
        canvas.outline(area, "contour", kind.layer, ink=2.0)
    for sounding in feature.survey.soundings:
        canvas.symbol(Symbol("crossing", _xy(sounding.at), SOUNDING_MM, "contour", kind.layer))


def _as_it_lies(feature: Feature, kind: Kind) -> BaseGeometry:
    """The ground that a feature covers: a drive given by its middle line and width is a strip."""
    if kind.group != PAVED or feature.width_m <= 0 or feature.shape.geom_type != "LineString":
        return feature.shape
    return feature.shape.buffer(feature.width_m / 2, cap_style="flat", join_style="mitre")


MISTAKEN: Final = ("drainfield", "pond", "wetland", "reserve area")
"""Kinds of ground that bear a name or a hatch, and are taken for what a name within them says."""


def label_features(canvas: Canvas, site: Site, wide: Mapping[str, str] = NOTHING_WIDE) -> None:
    """Write the names of all features, buildings first; no other name lies in a building.

    Nor does one lie in ground that would be taken for what it names, if there is room elsewhere.

    ``wide``: what is told of the width of some, by their ids.
    """
    features = told_apart(site.features)
    buildings = [feature for feature in features if feature.kind == "building"]
    rest = [feature for feature in features if feature.kind != "building"]
    houses = [feature.shape for feature in buildings]
    for feature in (*buildings, *rest):
        mistaken = [
            other.shape for other in rest
            if other.kind in MISTAKEN and not other.shape.intersects(feature.shape)
        ]  # fmt: skip
        canvas.keep_for_own_names(mistaken if feature in buildings else [*houses, *mistaken])
        more = wide.get(feature.id, "")
        label_feature(canvas, feature, site.unit, _smaller(site, feature), more)
    canvas.keep_for_own_names(houses)


def _smaller(site: Site, feature: Feature) -> BaseGeometry:
    """Areas that are smaller than a feature."""
    return shapely.union_all(
        [inner.shape for inner in site.features if 0.0 < inner.shape.area < feature.shape.area]
    )


def label_feature(
    canvas: Canvas, feature: Feature, unit: UnitSystem, others: BaseGeometry, wide: str = ""
) -> None:  # fmt: skip
    """Write the feature's name where it is free, its letter in its line, depths on contours.

    The name of an area keeps off ``others``, the smaller areas that lie in it. ``wide``: what is
    told of its width.
    """
    kind = kinds()[feature.kind]
    look = treatment(kind)
    seen = feature.shape.intersection(canvas.window)
    if seen.is_empty:
        return
    text = feature_text(feature, unit, wide)
    if kind.letter:
        if not _letter_line(canvas, seen, kind) or feature.label or wide:
            _name_line(canvas, seen, _line_label(text, f"text-{kind.letter}"))
    elif isinstance(seen, Point):
        _name_point(canvas, _xy(seen), text, look)
    elif seen.area == 0.0:
        _name_line(canvas, seen, _line_label(text, "text-existing", bold=look.bold))
    else:
        alone = seen.difference(others)
        labels = area_labels(text, "text-existing", layer("label"), bold=look.bold)
        name_area(canvas, seen if alone.is_empty else alone, labels)
    for depth_m, area in drawn_contours(feature, unit):
        line = area.boundary.intersection(canvas.window)
        label = _line_label(f"{short_mark(depth_m, unit)} DEEP", "text-W")
        _name_line(canvas, line, label, over=True)
    for sounding in feature.survey.soundings:
        if canvas.window.contains(sounding.at):
            labels = area_labels(sounding.id, "text-W", layer("label"))[:1]
            # its mark is open: a leader ends in it rather than between it and a coil
            at = _xy(sounding.at)
            canvas.put_around(labels, at, SOUNDING_MM, stand_off=SOUNDING_OFF_MM)


def feature_text(feature: Feature, unit: UnitSystem, wide: str = "") -> str:
    """Label of a feature: its own or its kind's, in capitals, with what a reader must know.

    Examples
    --------
    >>> from siteplan.units.systems import US
    >>> feature_text(Feature("w1", "potable well", Point(0, 0), use="private"), US)
    'WELL (PRIVATE)'
    >>> told = Feature("w1", "potable well", Point(0, 0), use="private", use_assumed=True)
    >>> feature_text(told, US)
    'WELL (PRIVATE, ASSUMED)'
    >>> feature_text(Feature("b", "stream", Point(0, 0), "brook"), US, "0.4 m WIDE")
    'BROOK, 0.4 m WIDE'
    """
    text = " ".join(plain_name(feature).upper().split())
    if feature.use and feature.use.upper() not in text:
        assumed = ", ASSUMED" if feature.use_assumed else ""
        text += f" ({feature.use.upper()}{assumed})"
    if feature.depth_m is not None:
        text += f" {short_mark(feature.depth_m, unit)} DEEP"
    # a unit is never in capitals: M is no metre
    return f"{text}, {wide}" if wide else text


def _xy(point: Point) -> tuple[float, float]:
    return float(point.x), float(point.y)


def area_labels(text: str, style: str, where: str, *, bold: bool = False) -> list[Label]:
    """The text on one, two, three or four lines."""
    height = LABEL_HEIGHT_MM
    longest = max(room_width(word, height, bold=bold) for word in text.split())
    forms = (
        wrapped(text, max(width, longest), height, bold=bold) for width in (400.0, 34.0, 24.0, 16.0)
    )
    return [Label(lines, height, style, where, bold=bold) for lines in dict.fromkeys(forms)]


def _name_point(canvas: Canvas, at: tuple[float, float], text: str, look: Treatment) -> None:
    labels = area_labels(text, "text-existing", layer("label"), bold=look.bold)[:3]
    canvas.put_around(labels, at, look.size or 2.0)


def name_area(canvas: Canvas, seen: BaseGeometry, labels: Sequence[Label]) -> None:
    """Write a name in an area, or led to it from outside."""
    parts = [part for part in get_parts(seen) if isinstance(part, Area)]
    largest = max(parts, key=lambda part: part.area)
    shape = Area(
        canvas.view.to_paper(largest.exterior.coords),
        [canvas.view.to_paper(hole.coords) for hole in largest.interiors],
    )
    # inside without a leader in any number of lines, before any is led in from outside
    within = [(label, _inside(shape, label)) for label in labels]
    if canvas.put_one(within, most=MOST_INSIDE):
        return
    shapely.prepare(shape)
    grid = _grid(shape)
    seen_in = shapely.contains_xy(shape, grid).tolist()
    spots = list(compress(grid, seen_in))
    # several places to lead to: the way to one may be barred
    inner = list(compress(grid[::5], seen_in[::5]))
    targets = [_xy(shape.representative_point()), *inner[:: max(1, len(inner) // 3)][:3]]
    # a leader ends on open ground, not in a text
    free = canvas.placer.free_of
    bare = free(targets, TIP_MM) or free(spots, TIP_MM)
    targets = bare[:: max(1, len(bare) // 4)][:4] or targets
    choices = []
    for label, inside in within[:3]:
        outside = (
            replace(place, cost=place.cost + 0.2 * rank)
            for rank, target in enumerate(targets)
            for place in led(target, label.width, label.height)
        )
        choices.append((label, [*inside, *outside]))
    canvas.put_one(choices)


def inside_places(canvas: Canvas, area: Area, label: Label) -> list[Candidate]:
    """Places where a whole label lies in an area of the model."""
    return _inside(shapely.transform(area, canvas.view.to_paper), label)


def _inside(shape: Area, label: Label) -> list[Candidate]:
    """Places where the whole label lies in the area, level or along its longer side."""
    middle = shape.centroid
    # the centroid of a bent area may lie outside of it, or in its narrowest part
    if not shape.contains(middle.buffer(label.height)):
        middle = Point(shapely.maximum_inscribed_circle(shape, tolerance=1.0).coords[0])
    spots = [_xy(middle), *_grid(shape)]
    shapely.prepare(shape)
    # a box whose middle lies outside lies outside too, which is sooner asked
    in_shape = shapely.contains_xy(shape, spots).tolist()
    angles = {0.0, readable(_long_direction(shape))}
    places = [
        Candidate(spot, angle, 0.15 * math.dist(spot, spots[0]) + (0.0 if angle == 0.0 else 3.0))
        for spot in compress(spots, in_shape)
        for angle in sorted(angles)
    ]
    if not places:
        return []
    size = (label.width + 2 * CLEARANCE_MM, label.height + 2 * CLEARANCE_MM)
    boxes = shapely.polygons(corners_of(places, size))
    fits = np.atleast_1d(shapely.contains(shape, boxes))
    return [place for place, fit in zip(places, fits, strict=True) if fit]


def _grid(shape: Area) -> list[tuple[float, float]]:
    left, bottom, right, top = shape.bounds
    xs, ys = np.linspace(left, right, 15)[1:-1], np.linspace(bottom, top, 15)[1:-1]
    return [(float(x), float(y)) for y in ys for x in xs]


def _long_direction(shape: Area) -> float:
    """Direction of the longer side of the tightest box around an area [deg]."""
    box = shape.minimum_rotated_rectangle
    if not isinstance(box, Area):
        return 0.0
    corners = list(box.exterior.coords)
    sides = [np.subtract(corners[k + 1], corners[k]) for k in (0, 1)]
    longer = max(sides, key=lambda side: float(np.hypot(*side)))
    return math.degrees(math.atan2(longer[1], longer[0]))


def _lines(shape: BaseGeometry) -> list[LineString]:
    return [part for part in get_parts(shape) if isinstance(part, LineString) and part.length > 0]


def _letter_line(canvas: Canvas, seen: BaseGeometry, kind: Kind) -> bool:
    """Write the letter in the line every so often; False if it found no place at all."""
    placed = False
    for part in _lines(seen):
        path = LineString(canvas.view.to_paper(part.coords))
        # a scrap of line without a letter is no reason to write out the name
        placed |= path.length < LEAST_LETTERED_MM
        count = max(1, round(path.length / LETTER_STEP_MM))
        for number in range(count):
            label = Label((kind.letter,), SMALL_HEIGHT_MM, f"text-{kind.letter}", layer("label"))
            places = on_line(path, (number + 0.5) / count, 0.6 / count)
            placed |= canvas.put(label, places, most=MOST_INSIDE)
    return placed


def on_line(path: LineString, share: float, spread: float) -> list[Candidate]:
    """Places on a line around a share of its length, each turned along it."""
    places = []
    for step in (0.0, 0.25, -0.25, 0.5, -0.5, 0.75, -0.75):
        # at the very end half of the letter would stand beyond the line
        where = min(max(share + step * spread, 0.04), 0.96)
        angle, spot = _direction(path, where)
        places.append(Candidate(spot, readable(angle), 4.0 * abs(step)))
    return places


def _direction(path: LineString, share: float) -> tuple[float, tuple[float, float]]:
    spot = path.interpolate(share, normalized=True)
    # over about the width of a letter, which a single short chord of a curve would turn anyhow
    near = path.interpolate(max(share * path.length - 1.5, 0.0))
    far = path.interpolate(min(share * path.length + 1.5, path.length))
    return math.degrees(math.atan2(far.y - near.y, far.x - near.x)), _xy(spot)


def _line_label(text: str, style: str, *, bold: bool = False) -> Label:
    height = LABEL_HEIGHT_MM if bold else SMALL_HEIGHT_MM
    return Label((text,), height, style, layer("label"), bold=bold)


def _name_line(canvas: Canvas, seen: BaseGeometry, label: Label, *, over: bool = False) -> None:
    """Write a name beside a line, or over it, turned along it."""
    parts = _lines(shapely.line_merge(seen) if seen.geom_type.startswith("Multi") else seen)
    places = []
    # a name on a scrap of a line would not be taken for that of the whole
    for part in sorted(parts, key=lambda part: -part.length)[:3]:
        path = LineString(canvas.view.to_paper(part.coords))
        places += beside_line(path, label, over=over)
        if not over:
            for share in (0.5, 0.25, 0.75):
                spot = path.interpolate(share, normalized=True)
                places += led(_xy(spot), label.width, label.height)
    canvas.put(label, places, most=HARD if not over else MOST_INSIDE)


def beside_line(
    path: LineString, label: Label, *, over: bool = False, gap: float = 0.9
) -> list[Candidate]:
    """Places beside a line (or on it) where it runs straight enough under the whole label.

    ``gap``: between the line and the label [mm].
    """
    places = []
    half = label.width / 2
    length = path.length
    count = max(1, int(length / 5.0))
    shares = [(number + 0.5) / count for number in range(count)]
    shares = [share for share in shares if half <= share * length <= length - half]
    steps = np.array([[share * length + step for step in (-half, 0.0, half)] for share in shares])
    spots = shapely.get_coordinates(shapely.line_interpolate_point(path, steps))
    for share, ((x, y), middle, (far_x, far_y)) in zip(
        shares, spots.reshape(-1, 3, 2).tolist(), strict=True
    ):
        chord = math.hypot(far_x - x, far_y - y)
        # text in a line has to follow it; beside it a slight bend is not seen
        if chord < (0.99 if over else 0.95) * label.width:
            continue
        along = ((far_x - x) / chord, (far_y - y) / chord)
        angle = readable(math.degrees(math.atan2(along[1], along[0])))
        for side in (0.0,) if over else (1.0, -1.0):
            off = side * (label.height / 2 + gap)
            center = (middle[0] - along[1] * off, middle[1] + along[0] * off)
            places.append(Candidate(center, angle, 2.0 * abs(share - 0.5)))
    return places
