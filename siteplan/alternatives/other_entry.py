"""Another wall to come in through: what it saves the header of the field that is drawn."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

import shapely

from siteplan.alternatives.screening import fits_with, screened
from siteplan.available.area import wall_entries
from siteplan.available.ground import prepare
from siteplan.available.prepared import PreparedLot
from siteplan.design.entries import entered
from siteplan.design.evaluate import Trial, try_system
from siteplan.design.loop_types import record_of
from siteplan.findings.model import Finding, Reason, reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Trench
from siteplan.layout.header.least import least_header
from siteplan.layout.header.router import reachable_area, route_header
from siteplan.layout.model import Ground, Header, Layout
from siteplan.layout.trenches.clear_header import joined_header
from siteplan.site.model import Feature, HorizontalOptions
from siteplan.site.walls import place_on_wall, served_building, wall_entries_of
from siteplan.units.lengths import FOOT

MUCH_LESS: Final = 2 / 3
"""Share of the header from which another entry is worth a word: it saves a third [-]."""
WORTH_M: Final = 20 * FOOT
"""A header that is shorter by less than this is not worth asking for; common practice, no
source [m]."""


def any_wall_of(lot: PreparedLot) -> PreparedLot | None:
    """The lot with all walls of its building to choose from; None where none is drawn."""
    served = _served(lot)
    if served is None:
        return None
    places = wall_entries_of(served)
    inside = tuple(place for place in places if lot.site.parcel.covers(place.point))
    if not inside:
        return None
    return replace(lot, site=replace(lot.site, entries=inside, any_wall=True, wall=""))


def entry_findings(lot: PreparedLot, drawn: Trial) -> tuple[Finding, ...]:
    """Which entry was chosen where none is stated, or that another would be much better."""
    layout, served = drawn.layout, _served(lot)
    if layout is None or layout.header is None or served is None:
        return ()
    # a wall left open was chosen by the tool: the owner must be told where, to agree or object
    if lot.site.any_wall:
        place = place_on_wall(served, layout.header.entry.point)
        if place is None:
            return ()
        named = layout.header.entry.id
        return (
            Finding(
                "entry-in-wall-assumed" if lot.site.wall else "entry-assumed",
                subject=named,
                values={"place": place.told, "building": served.id},
            ),
        )
    # where nothing fits another wall is a remedy, and stands there with all the others
    better = _better_header(lot, layout) if drawn.fits else None
    place = place_on_wall(served, better.entry.point) if better is not None else None
    if better is None or place is None:
        return ()
    return (
        Finding(
            "entry-elsewhere",
            subject=layout.header.entry.id,
            measured_m=layout.header.length_m,
            values={
                "place": place.told,
                "building": served.id,
                "length_m": better.length_m,
                "crossings": len(better.crossings),
                "now": len(layout.header.crossings),
            },
        ),
    )


def through_another_wall(lot: PreparedLot, trial: Trial) -> Iterator[Reason]:
    """Another wall through which a loop type fits that does not from the entries stated."""
    open_lot, served = any_wall_of(lot), _served(lot)
    all_tried = lot.site.any_wall and not lot.site.wall
    if all_tried or open_lot is None or served is None or trial.required is None:
        return
    # the same ground that a header gets to: another wall would change nothing
    areas = [
        reachable_area(prepare(each, record_of(trial.system).ground).ground)
        for each in (lot, open_lot)
    ]
    unjoined = trial.layout is not None and trial.layout.header is None
    if areas[1].area <= areas[0].area + WORTH_M**2 and not unjoined:
        return
    held = fits_with(open_lot, trial.system, trial.required.length_m)
    if held is None:
        return
    best = entered(open_lot, trial.system, trial.required.length_m).site.entries[0]
    if not screened(trial.system):
        made = try_system(open_lot, trial.system)
        if made.layout is not None and made.layout.header is not None:
            best = made.layout.header.entry
    place = place_on_wall(served, best.point)
    if place is not None:
        yield reason(
            "another-entry",
            place=place.told_of(served.id),
            screened=held.screened,
        )


def _served(lot: PreparedLot) -> Feature | None:
    return served_building(lot.site.of_kind("building"), wall_entries(lot.site))


def _better_header(lot: PreparedLot, layout: Layout) -> Header | None:
    """Header of the same field through another wall; None where that saves too little."""
    now = layout.header
    # neither length nor crossings could be saved that are worth asking the owner for
    if now is None or not layout.elements or (now.length_m < WORTH_M and not now.crossings):
        return None
    open_lot = any_wall_of(lot)
    if open_lot is None or layout.piping is None:
        return None
    ground = prepare(open_lot, record_of(layout.system).ground).ground
    # a header is the dear part of the search, and often no wall can save as much
    if not _may_save(ground, layout, now):
        return None
    header = same_field_header(ground, layout, now, lot.site.exchanger.horizontal)
    if header is None:
        return None
    shorter = now.length_m - header.length_m
    much = header.length_m <= MUCH_LESS * now.length_m and shorter >= WORTH_M
    fewer = len(header.crossings) < len(now.crossings) and shorter >= -TOLERANCE
    return header if much or fewer else None


def _may_save(ground: Ground, layout: Layout, now: Header) -> bool:
    """Whether a header from one of the entries could be short enough, were nothing in its way."""
    if layout.of(Trench):
        return True
    worth = now.length_m if now.crossings else MUCH_LESS * now.length_m
    spots = [(element.x_m, element.y_m) for element in layout.elements]
    return any(
        least_header([(entry.point.x, entry.point.y), *spots]) <= worth + TOLERANCE
        for entry in ground.entries
    )


def same_field_header(
    ground: Ground, layout: Layout, now: Header, options: HorizontalOptions
) -> Header | None:
    """Header that joins the elements as they are drawn, from the entry where it costs least."""
    trenches = layout.of(Trench)
    if not trenches:
        spots = [(element.x_m, element.y_m) for element in layout.elements]
        return route_header(ground, [[spot] for spot in spots], along_deg=_along(spots))
    runs = shapely.MultiLineString(list(now.runs))
    lines = []
    for trench in trenches:
        first, last = (shapely.Point(trench.line.coords[k]) for k in (0, -1))
        joined = runs.distance(first) <= runs.distance(last)
        lines.append(trench.line if joined else trench.line.reverse())
    spots = [(float(line.coords[0][0]), float(line.coords[0][1])) for line in lines]
    return joined_header(ground, lines, options, _along(spots))


def _along(spots: list[tuple[float, float]]) -> float | None:
    """Direction from the first element to the second, which is that of its row [deg]."""
    if len(spots) < 2:
        return None
    (x, y), (to_x, to_y) = spots[:2]
    return math.degrees(math.atan2(to_y - y, to_x - x)) % 180.0
