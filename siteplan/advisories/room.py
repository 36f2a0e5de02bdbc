"""Whether there is room to dig: what one trench takes beside the spacing, and where spoil goes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.earthwork.excavation import SPOIL_SETBACK_M, heap_width, strip_width, working_width
from siteplan.findings.model import Finding, reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Trench
from siteplan.layout.model import Layout
from siteplan.site.model import HorizontalOptions, Site

SOURCE: Final = "29 CFR 1926.651(j)(2)"
"""What keeps spoil 2 ft from the edge."""
MOST_NAMED: Final = 3
"""Trenches named in one sentence."""


def room_remarks(site: Site, layout: Layout) -> Iterator[Finding]:
    """Note on digging one trench at a time, and a warning where spoil has no room on the lot."""
    trenches = layout.of(Trench)
    options = site.exchanger.horizontal
    if len(trenches) > 1:
        yield from _one_at_a_time(options)
    yield from _no_room(site, options, trenches)


def _one_at_a_time(options: HorizontalOptions) -> Iterator[Finding]:
    takes, strip = working_width(options), strip_width(options)
    if takes <= options.spacing_m + TOLERANCE or strip > options.spacing_m:
        return  # that the strip alone is wider is said elsewhere
    yield Finding(
        "one-trench-at-a-time",
        measured_m=takes,
        required_m=options.spacing_m,
        rule=SOURCE,
        values={"strip_m": strip, "setback_m": SPOIL_SETBACK_M, "heap_m": heap_width(options)},
    )


def _no_room(
    site: Site, options: HorizontalOptions, trenches: Sequence[Trench]
) -> Iterator[Finding]:
    walls = shapely.union_all([building.shape for building in site.of_kind("building")])
    open_ground = site.parcel.difference(walls)
    full = strip_width(options) / 2 + SPOIL_SETBACK_M + heap_width(options)
    all_lacks = [(spoil_lacks(trench, open_ground, full), trench.id) for trench in trenches]
    short = [(lack, name) for lack, name in all_lacks if lack > TOLERANCE]
    if not short:
        return
    lacks = tuple(
        reason("trench-lacks", trench=name, lack_m=lack) for lack, name in short[:MOST_NAMED]
    )
    unnamed = len(short) - MOST_NAMED
    yield Finding(
        "no-room-for-spoil",
        subject=short[0][1],
        measured_m=max(lack for lack, _ in short),
        required_m=full,
        rule=SOURCE,
        values={
            "heap_m": heap_width(options),
            "setback_m": SPOIL_SETBACK_M,
            "short": len(short),
            "trenches": len(trenches),
            "lacks": lacks,
            "more": reason("and-so-many-more", number=unnamed) if unnamed > 0 else None,
        },
    )


def spoil_lacks(trench: Trench, open_ground: BaseGeometry, full_m: float) -> float:
    """What lacks for the spoil on the better side of a trench; 0 where it has room [m].

    Parameters
    ----------
    trench
        The trench.
    open_ground
        Where spoil may lie.
    full_m
        From the middle of the trench to the far edge of its heap [m].

    Examples
    --------
    5 m to the north, 4 m to the south.

    >>> trench = Trench("T1", shapely.LineString([(1, 4), (19, 4)]), 0.6, 1.5, 2)
    >>> lot = shapely.box(0, 0, 20, 9)
    >>> spoil_lacks(trench, lot, 4.9), spoil_lacks(trench, lot, 5.5)
    (0.0, 0.5)
    """
    return min(_lacks(trench, open_ground, side * full_m) for side in (1.0, -1.0))


def _lacks(trench: Trench, open_ground: BaseGeometry, reach_m: float) -> float:
    """What lacks on the left side, or for a negative reach on the right [m]."""
    band = trench.line.buffer(reach_m, single_sided=True)
    outside = band.difference(open_ground)
    if outside.area <= TOLERANCE:
        return 0.0
    return max(0.0, abs(reach_m) - float(outside.distance(trench.line)))
