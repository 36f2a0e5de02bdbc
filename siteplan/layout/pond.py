"""Coils, mats or frames in a pond: as few as carry the length required, in rows near an entry."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.findings.model import Reason, reason
from siteplan.layout.by_hand import joined_by_hand
from siteplan.layout.counting import elements_needed, within_limit
from siteplan.layout.elements import Coil
from siteplan.layout.header.router import reachable_area
from siteplan.layout.header.threaded import threaded
from siteplan.layout.in_rows import Placement, place_in_rows
from siteplan.layout.model import Ground, Layout
from siteplan.layout.own_frame import placed_alike
from siteplan.ponds.bottom import Bottom, bottom_of, least_depth, well_inside
from siteplan.site.model import Feature, PondOptions
from siteplan.site.pond_bodies import PlateFrame


@dataclass(frozen=True, slots=True)
class Water:
    """Where in a pond coils may lie.

    Parameters
    ----------
    pond
        Id of the pond.
    area
        Where coil centres may lie: deep enough, and a coil's radius and the shore distance in.
    depth_m
        Least water over a coil there [m].
    bottom
        Tells the depth under each coil; None: the same everywhere.
    """

    pond: str
    area: BaseGeometry
    depth_m: float
    bottom: Bottom | None = None

    def over(self, at: tuple[float, float], options: PondOptions) -> float:
        """Water over a coil at a place, where it is least [m]."""
        if self.bottom is None:
            return self.depth_m
        return least_depth(self.bottom, at, options.coil_diameter_m / 2) - options.height_m

    def is_deep(self, options: PondOptions) -> bool:
        """Whether a coil has its water anywhere in the pond, whatever else is kept off."""
        if self.bottom is None:
            return True
        deep = self.bottom.at_least(options.water_depth_m + options.height_m)
        return not well_inside(deep, options.coil_diameter_m / 2).is_empty


def lay_out_coils(
    ground: Ground, options: PondOptions, required_m: float, waters: Sequence[Water]
) -> Layout:
    """Coils that carry the length required [m], or all that fit.

    Coils keep their gap edge to edge, also from pond to pond; they form full straight rows in a
    compact block near an entry, numbered row by row, to and fro.
    """
    # all ponds as one area, so that coils keep their gap across a dam as well
    area = shapely.union_all([water.area for water in waters])
    reached = reachable_area(replace(ground, area=area))
    needed = elements_needed(required_m, options.pipe_per_coil_m)
    needed = within_limit(needed, options.words.several, "pond")
    step_m = options.coil_diameter_m + options.gap_m
    placed = placed_alike(
        ground, reached, lambda own, room: _place(own, room, step_m=step_m, needed=needed)
    )
    coils = tuple(
        _coil(number, float(x), y=float(y), options=options, waters=waters)
        for number, (x, y) in enumerate(placed.points, start=1)
    )
    return Layout(
        system="pond",
        elements=coils,
        header=placed.header,
        spacing_m=options.gap_m,
        capacity_m=placed.capacity * options.pipe_per_coil_m,
        obstacle=_obstacle(ground, options, waters, placed=len(coils), needed=needed),
        body=options.words.name,
    )


def lay_out_placed_coils(ground: Ground, options: PondOptions, ponds: Sequence[Feature]) -> Layout:
    """Coils exactly where somebody gave their places, and a header to as many as it comes to.

    Parameters
    ----------
    ground
        Where the header may run; nothing is asked of the places.
    options
        Places and sizes of the coils.
    ponds
        The ponds: each coil is of that which it lies in or nearest to.
    """
    within_limit(len(options.places), options.words.several, "pond")
    bottoms = [(pond, bottom) for pond in ponds if (bottom := bottom_of(pond)) is not None]
    waters = [Water(pond.id, pond.shape, options.water_depth_m, bottom) for pond, bottom in bottoms]
    coils = tuple(
        _coil(number, x, y=y, options=options, waters=waters)
        for number, (x, y) in enumerate(options.places, start=1)
    )
    return Layout(
        system="pond",
        elements=coils,
        header=joined_by_hand(ground, [[place] for place in options.places]),
        spacing_m=options.gap_m,
        capacity_m=sum(coil.length_m for coil in coils),
        by_hand=True,
        body=options.words.name,
    )


def _place(ground: Ground, area: BaseGeometry, *, step_m: float, needed: int) -> Placement:
    """Centres of coils in rows, with the header that leads to them or runs through them."""
    placed = place_in_rows(ground, area, spacing_m=step_m, count=needed)
    header = threaded(ground, placed.points, placed.header, step_m=step_m)
    return replace(placed, header=header)


def _coil(
    number: int, x: float, *, y: float, options: PondOptions, waters: Sequence[Water]
) -> Coil:
    here = shapely.Point(x, y)
    # by distance, not by which holds it: a point on the very edge may lie a hair outside
    water = min(waters, key=lambda water: float(water.area.distance(here)))
    words = options.words
    coil = Coil(
        id=f"{words.letter}{number}",
        x_m=x,
        y_m=y,
        diameter_m=options.coil_diameter_m,
        pipe_m=options.pipe_per_coil_m,
        water_depth_m=water.over((x, y), options),
        pond=water.pond,
        body=words.name,
    )
    return with_plates(coil, options)


def with_plates(coil: Coil, options: PondOptions) -> Coil:
    """The same; a frame with its plates, which the pipe in it only joins."""
    frame = options.body
    if not isinstance(frame, PlateFrame) or coil.body != frame.words.name:
        return coil
    return replace(coil, pipe_m=frame.manifold_m, plate_m=coil.pipe_m, fluid_m3=frame.fluid_m3)


def _obstacle(
    ground: Ground, options: PondOptions, waters: Sequence[Water], *, placed: int, needed: int
) -> Reason | None:
    if placed >= needed:
        return None
    if ground.area.is_empty:
        if waters and not any(water.is_deep(options) for water in waters):
            return reason(
                "water-nowhere-deep",
                depth_m=options.water_depth_m + options.height_m,
                across_m=options.coil_diameter_m,
                thing=options.words.short,
            )
        return reason("no-available-area", things=options.words.several)
    if placed == 0:
        return reason("no-way-for-header")
    return reason(
        "room-for-coils",
        placed=placed,
        across_m=options.coil_diameter_m,
        gap_m=options.gap_m,
        needed=needed,
        thing=options.words.short,
    )
