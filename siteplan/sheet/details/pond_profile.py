"""Section through a pond at its lowest level: bottom, coils, header at the shore, ice."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Point

from siteplan.layout.elements import Coil
from siteplan.ponds.bottom import Bottom, bottom_of
from siteplan.quantities.shallow import shallow_header
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.details.drafting import Drafting, Scale, room_beside
from siteplan.sheet.details.trench import scale_words, scaled_heading
from siteplan.sheet.model import XY
from siteplan.sheet.place.blocks import Block, Flow
from siteplan.sheet.style.formats import detail_mark
from siteplan.sheet.style.paper import enlargement
from siteplan.site.model import Feature
from siteplan.units.lengths import format_length

Floats = NDArray[np.float64]

TALLER: Final = (10, 5, 4, 3, 2, 1)
"""How many times heights may be drawn larger than widths."""
HIGH_MM: Final = 42.0
"""Greatest height of the water as drawn [mm]."""
BANK_M: Final = 4.0
"""Ground drawn beyond each shore [m]."""
PLACES: Final = 160
"""Places at which the bottom is read along the section."""
WRAP_MM: Final = 0.9
"""Half the width of insulation around the header as drawn [mm]."""
NOTE: Final = (
    "Along {ids}, seen {towards}. Bottom between the depths that are known; have it sounded again "
    "before anything is placed. The header lies under frost through the shore, then on the bottom; "
    "where ice may reach it, insulated (hatched) as the specification asks."
)


@dataclass(frozen=True, slots=True)
class Cut:
    """A line across a pond.

    Parameters
    ----------
    line
        From shore to shore through coils, the shore where the header comes in first.
    pond
        The pond, and its bottom at the lowest level.
    coils
        Coils along it.
    """

    line: LineString
    pond: Feature
    bottom: Bottom
    coils: tuple[Coil, ...]

    def along(self, coil: Coil) -> float:
        """Distance of a coil along the line [m]."""
        return float(self.line.project(Point(coil.x_m, coil.y_m)))

    def deep(self, along: Floats) -> Floats:
        """Depth at distances along the line [m]."""
        places = shapely.line_interpolate_point(self.line, along)
        return self.bottom.depths(shapely.get_coordinates(places))


def profile_block(content: PlanContent, width: float, *, room_mm: float) -> Block | None:
    """Section through the pond with the coils, None where there is none."""
    cut = _cut(content)
    if cut is None:
        return None
    unit, across = content.site.unit, cut.line.length + 2 * BANK_M
    drawn = room_beside(width, 0.55) - 14.0
    scale = _scale(content, across, drawn)
    deepest = max(cut.bottom.deepest_m, 0.5)
    high = min(HIGH_MM, room_mm)
    taller = next(
        (times for times in TALLER if deepest * times * 1000 / scale.ratio <= high), TALLER[-1]
    )
    flow = Flow(width, "pond-profile")
    words = scale_words(scale.nominal, unit)
    scaled_heading(
        flow, "POND AT LOW WATER", words if taller == 1 else f"{words}, HEIGHTS x {taller}"
    )
    survey_mm = cut.pond.survey.drawdown_m * taller * 1000 / scale.ratio
    origin = (14.0 + BANK_M * 1000 / scale.ratio, -flow.depth - 5.0 - survey_mm)
    drawing = Drafting(flow, scale.ratio, origin)
    named = _draw(drawing, cut, taller, content)
    low = drawing.mm(0.0, -deepest * taller)[1]
    lowest = drawing.labels(drawing.mm(cut.line.length + BANK_M, 0.0)[0] + 4.0, origin[1], named)
    drawing.deep(origin[0] - BANK_M * 1000 / scale.ratio, (origin[1], low), _mark(content, deepest))
    flow.depth = max(-low + 3.0, -lowest) + 2.0
    ids = _ids(cut.coils)
    flow.paragraph(NOTE.format(ids=ids, towards=_towards(cut.line)))
    return flow.block()


def _mark(content: PlanContent, depth_m: float) -> str:
    return detail_mark(depth_m, content.site.unit, rounding="down")


def _ids(coils: Sequence[Coil]) -> str:
    names = [coil.id for coil in coils]
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _towards(line: LineString) -> str:
    """Where one looks who has the start of the line at his left."""
    (x, y), (to_x, to_y) = line.coords[0], line.coords[-1]
    turn = math.degrees(math.atan2(to_x - x, to_y - y)) - 90.0
    names = ("north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest")
    return names[round(turn % 360.0 / 45.0) % 8]


def _cut(content: PlanContent) -> Cut | None:
    """Line through the coils of the pond with most of them, from where the header comes in."""
    coils = content.layout.of(Coil) if content.layout else ()
    if not coils or content.layout is None:
        return None
    counts = {coil.pond: sum(other.pond == coil.pond for other in coils) for coil in coils}
    name = max(sorted(counts), key=lambda pond: counts[pond])
    pond = next((each for each in content.site.of_kind("pond") if each.id == name), None)
    bottom = bottom_of(pond) if pond is not None else None
    if pond is None or bottom is None:
        return None
    own = [coil for coil in coils if coil.pond == name]
    # between two coils the way to their middle may pass both: then it leads to the nearest
    for towards_middle in (True, False):
        line = _through(content, pond, own, towards_middle=towards_middle)
        along = tuple(coil for coil in own if line.distance(coil.footprint) <= coil.reach_m)
        if along:
            return Cut(line, pond, bottom, along)
    return None


def _through(
    content: PlanContent, pond: Feature, coils: Sequence[Coil], *, towards_middle: bool
) -> LineString:
    """Line from shore to shore, from the header's shore to the middle or to the nearest coil."""
    runs = content.layout.header.runs if content.layout and content.layout.header else ()
    shore = pond.shape.boundary
    landing = shapely.union_all(list(runs)).intersection(shore) if runs else Point()
    first = coils[0]
    if not landing.is_empty:
        first = min(coils, key=lambda coil: float(coil.footprint.distance(landing)))
    middle = shapely.centroid(shapely.multipoints([(coil.x_m, coil.y_m) for coil in coils]))
    begin = landing if not landing.is_empty else shore
    start = shapely.get_coordinates(shapely.shortest_line(begin, first.footprint))[0]
    far_from_it = towards_middle and middle.distance(first.footprint) > 0.5
    to = shapely.get_coordinates(middle if far_from_it else first.footprint)[0]
    way = np.array([first.x_m, first.y_m]) - start if np.allclose(to, start) else to - start
    far = start + way / np.hypot(*way) * 2 * math.hypot(*_size(pond))
    through = LineString([start - way / np.hypot(*way) * 0.01, far]).intersection(pond.shape)
    parts = [part for part in shapely.get_parts(through) if part.geom_type == "LineString"]
    longest: LineString = max(parts, key=lambda part: part.length)
    return longest


def _size(pond: Feature) -> tuple[float, float]:
    west, south, east, north = pond.shape.bounds
    return east - west, north - south


def _scale(content: PlanContent, across_m: float, room_mm: float) -> Scale:
    """The largest stated scale at which the pond fits across a room."""
    drawing, factor = content.site.unit.drawing, enlargement(content.site.sheet.size)
    ratios = sorted({*drawing.detail_ratios, *drawing.plan_ratios})
    for nominal in ratios:
        scale = Scale(nominal, factor)
        if across_m * 1000.0 / scale.ratio <= room_mm:
            break
    return scale


def _draw(
    drawing: Drafting, cut: Cut, taller: int, content: PlanContent
) -> list[tuple[str, tuple[float, float]]]:
    """Draw banks, water, bottom, ice, coils and header; words and the places that they name."""
    whole, unit = cut.line.length, content.site.unit
    along = np.linspace(0.0, whole, PLACES)
    depths = cut.deep(along)
    drawdown, options = cut.pond.survey.drawdown_m, content.site.exchanger.pond
    bank = drawdown * taller
    ground = [(float(x), float(-depth * taller)) for x, depth in zip(along, depths, strict=True)]
    # above the lowest level the bank rises to that of the survey
    left = [(-BANK_M, bank), (0.0, bank)]
    right = [(whole, bank), (whole + BANK_M, bank)]
    wet = [at for at in ground if at[1] < 0.0] or ground
    drawing.line([*left, *wet, *right], "section-ground")
    drawing.line([(wet[0][0], 0.0), (wet[-1][0], 0.0)], "water")
    middle = whole * 0.72
    named = [("LOW WATER LEVEL", drawing.mm(middle, 0.0))]
    if drawdown > 0:
        drawing.line([(0.0, bank), (whole, bank)], "contour")
        level = format_length(drawdown, unit)
        named.append((f"LEVEL OF THE SURVEY, {level} HIGHER", drawing.mm(whole * 0.8, bank)))
    if options.year is not None and max(options.year.ice_m) > 0.01:
        ice = max(options.year.ice_m)
        inside = [at for at in ground if at[1] < -ice * taller]
        if inside:
            y = -ice * taller
            drawing.line([(inside[0][0], y), (inside[-1][0], y)], "contour")
            thick = format_length(ice, unit, rounding="up")
            named.append((f"THICKEST ICE, {thick}", drawing.mm(min(inside[-1][0], middle), y)))
    named.append(("POND BOTTOM", drawing.mm(*wet[-len(wet) // 8])))
    return [*named, *_coils(drawing, cut, taller, content)]


def _insulation(
    drawing: Drafting, bed: Sequence[XY], run: Sequence[XY], taller: int, content: PlanContent
) -> list[tuple[str, XY]]:
    """Hatch along the header where it is insulated: where ice may reach down to the bottom."""
    shallow = shallow_header(content.site, content.layout) if content.layout else None
    if shallow is None:
        return []
    wrapped = [at for at, (_, low) in zip(run, bed, strict=True) if -low <= shallow.reach_m]
    if len(wrapped) < 2:
        return []
    half = WRAP_MM * drawing.ratio / 1000.0
    above = [(s, d * taller + half) for s, d in wrapped]
    below = [(s, d * taller - half) for s, d in reversed(wrapped)]
    drawing.hatch([*above, *below], gap_mm=0.6)
    drawing.line([*above, *below], "section-hole", closed=True)
    s, d = wrapped[-1]
    assumed = ", ASSUMED" if shallow.assumed else ""
    reach = format_length(shallow.reach_m, content.site.unit, rounding="up")
    words = f"INSULATED TO {reach} OF WATER{assumed}"
    return [(words, drawing.mm(s, d * taller))]


def _coils(
    drawing: Drafting, cut: Cut, taller: int, content: PlanContent
) -> list[tuple[str, tuple[float, float]]]:
    """Draw coils on their blocks, and the header to the first."""
    height = max(content.site.exchanger.pond.height_m, 0.2)
    nearest = min(cut.coils, key=cut.along)
    for coil in cut.coils:
        x = cut.along(coil)
        low = -float(cut.deep(np.array([x]))[0])
        ring = [
            (x - coil.reach_m, (low + height * 0.4) * taller),
            (x + coil.reach_m, (low + height * 0.4) * taller),
            (x + coil.reach_m, (low + height) * taller),
            (x - coil.reach_m, (low + height) * taller),
        ]
        drawing.hatch(ring, gap_mm=0.9, angle=0.0)
        drawing.line(ring, "section-hole", closed=True)
        for foot in (x - coil.reach_m * 0.7, x + coil.reach_m * 0.7):
            drawing.line(
                [(foot, low * taller), (foot, (low + height * 0.4) * taller)], "section-hole"
            )
    place = cut.along(nearest)
    last = max(cut.coils, key=cut.along)
    x = cut.along(last) + last.reach_m
    y = -float(cut.deep(np.array([x]))[0]) + height * 0.7
    layout = content.layout
    thing = layout.loop.short.upper() if layout is not None else "COIL"
    named = [(f"{thing} ON BALLAST BLOCKS, {_ids((last,))}", drawing.mm(x, y * taller))]
    if layout is None or layout.piping is None:
        return named
    bank = cut.pond.survey.drawdown_m - layout.piping.depth_m
    along = np.linspace(0.0, max(place - nearest.reach_m, 0.1), 40)
    bed = [(float(s), -float(d)) for s, d in zip(along, cut.deep(along), strict=True)]
    wet = [(s, min(bank, d)) for s, d in bed]
    drawing.line([(s, d * taller) for s, d in [(-BANK_M, bank), *wet]], "header")
    deep = detail_mark(layout.piping.depth_m, content.site.unit, rounding="nearest")
    landings = layout.header.landings if layout.header is not None else ()
    entry = "SHORE ENTRY HS" if len(landings) == 1 else "THE SHORE"
    assumed = "" if all(landing.stated for landing in landings) else ", ASSUMED"
    words = f"HEADER, {deep} DEEP AT {entry}{assumed}"
    named.append((words, drawing.mm(0.0, bank * taller)))
    named += _insulation(drawing, bed, wet, taller, content)
    return named
