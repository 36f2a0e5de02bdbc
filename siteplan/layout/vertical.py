"""Vertical bores: as few as carry the length required, in straight rows near an entry."""

from __future__ import annotations

import math
from typing import Final

from siteplan.layout.block import place_in_rows
from siteplan.layout.header import reachable_area
from siteplan.layout.model import Bore, Ground, Layout
from siteplan.layout.wording import NO_AREA, NO_WAY, count_of, in_words
from siteplan.site.model import VerticalOptions
from siteplan.units import FOOT

DEPTH_STEP: Final = FOOT
"""Bores are drilled to whole feet [m]; common practice, no source."""

ROUNDING_SLACK: Final = 1e-9
"""Share of a step that a float's last bits may be off before it is rounded up."""


def lay_out_bores(ground: Ground, options: VerticalOptions, required_m: float) -> Layout:
    """Bores that carry the length required [m], or all that fit.

    The number is the fewest that can carry it at the greatest depth; the depth is the same for
    all, rounded up to a whole foot where that does not pass the greatest depth. The bores form
    full straight rows in a compact block near an entry, numbered row by row, to and fro.
    """
    area = reachable_area(ground)
    needed = bores_needed(required_m, options.depth_most_m)
    placed = place_in_rows(ground, area, spacing_m=options.spacing_m, count=needed)
    depth = depth_of_each(required_m, len(placed.points), options=options)
    bores = tuple(
        Bore(f"B{number}", float(x), float(y), options.diameter_m, depth)
        for number, (x, y) in enumerate(placed.points, start=1)
    )
    return Layout(
        system="vertical",
        elements=bores,
        header=placed.header,
        spacing_m=options.spacing_m,
        capacity_m=placed.capacity * options.depth_most_m,
        obstacle=_obstacle(ground, options, placed=len(bores), needed=needed),
    )


def bores_needed(required_m: float, depth_most_m: float) -> int:
    """Fewest bores that carry a length at the greatest depth, at least one.

    Examples
    --------
    >>> bores_needed(300.0, 100.0), bores_needed(300.1, 100.0), bores_needed(0.0, 100.0)
    (3, 4, 1)
    """
    return max(1, math.ceil(required_m / depth_most_m - ROUNDING_SLACK))


def depth_of_each(required_m: float, bores: int, *, options: VerticalOptions) -> float:
    """Depth of each bore [m]: the length shared out, up to a whole foot, within the limits."""
    share = required_m / max(bores, 1)
    feet = math.ceil(share / DEPTH_STEP - ROUNDING_SLACK)
    depth = min(feet * DEPTH_STEP, options.depth_most_m)
    return max(depth, options.depth_least_m)


def _obstacle(ground: Ground, options: VerticalOptions, *, placed: int, needed: int) -> str:
    if placed >= needed:
        return ""
    if ground.area.is_empty:
        return NO_AREA.format(things="bores")
    if placed == 0:
        return NO_WAY
    spacing = in_words(options.spacing_m, ground.unit)
    depth = in_words(options.depth_most_m, ground.unit)
    room = f"room for {count_of(placed, 'bore')} at {spacing} spacing"
    return f"{room}; {needed} of at most {depth} are needed"
