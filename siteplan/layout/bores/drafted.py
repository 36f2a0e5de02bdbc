"""Bores without their header: how many a field is likely to come to, before it is laid out."""

from __future__ import annotations

from typing import Final

from siteplan.layout.block import Field
from siteplan.layout.bores.neighbours import Neighbours
from siteplan.layout.bores.upright import depth_of_each
from siteplan.layout.counting import elements_needed
from siteplan.layout.elements import Bore
from siteplan.layout.header.router import reachable_area
from siteplan.layout.in_rows import widest_block
from siteplan.layout.model import Ground, Layout
from siteplan.layout.own_frame import in_own_frame
from siteplan.layout.way import ways_of
from siteplan.preferences.table import count_of
from siteplan.site.model import VerticalOptions

LEAST_BORES: Final = count_of("layout.bores.drafted.least_bores")


def draft_bores(
    ground: Ground, options: VerticalOptions, required_m: float, neighbours: Neighbours | None
) -> Layout | None:
    """The block of bores that looks cheapest as far apart as they may be, in the lot's own frame.

    They need no more than bores that are laid out nearer to one another. What bores need is known
    from it in a hundredth of the time that a header takes. None of few bores, where no block of
    that many has room, and where somebody gave their number or places.

    Parameters
    ----------
    ground
        What the engine gets to see.
    options
        Spacing and depths.
    required_m
        Length that the bores are to carry [m].
    neighbours
        What bores near one another cost; None: not known.
    """
    given = options.stated or options.as_typed or options.arrangement == "free"
    count = elements_needed(required_m, options.depth_most_m)
    if given or not ground.entries or count < LEAST_BORES:
        return None
    area = reachable_area(ground)
    if area.is_empty:
        return None
    own, room = in_own_frame(ground, area)
    field = Field(own, room, ways_of(own), count, neighbours)
    block = widest_block(field, options.spacing_m, options.spacing_most_m)
    if block is None:
        return None
    depth = depth_of_each(required_m, count, options=options, unit=ground.unit)
    bores = tuple(
        Bore(f"B{number}", float(x), float(y), options.diameter_m, depth)
        for number, (x, y) in enumerate(block.points, start=1)
    )
    return Layout("vertical", bores, None, options.spacing_m, 0.0)
