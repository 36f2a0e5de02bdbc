"""The header of trenches, clear of the ground that they open."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from typing import Final

import numpy as np
import shapely
from shapely import LineString, MultiLineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.lines.bends import is_closed, part_of
from siteplan.geometry.lines.sweep import polygonal, xy_of
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.header.router import HeaderDraft, drafted_header
from siteplan.layout.model import Ground, Header
from siteplan.layout.trenches.digging import NEIGHBOUR
from siteplan.layout.trenches.ends import led_on
from siteplan.site.model import HorizontalOptions
from siteplan.units.lengths import FOOT

JOINT_M: Final = 3 * FOOT
"""Length at a joined end over which header and trench are one pit [m]; common practice."""


def joined_header(
    ground: Ground,
    lines: Sequence[LineString],
    options: HorizontalOptions,
    along_deg: float | None,
    *,
    between: bool = True,
) -> Header | None:
    """Header that joins the first end of each line, clear of all trenches; None without a way.

    Where ``between`` says so it also keeps out of the ground between neighbours, if it can.
    """
    draft = drafted_joining(ground, lines, options, along_deg, between=between)
    return None if draft is None else draft.finished()


@dataclass(frozen=True, slots=True, eq=False)
class JoiningDraft:
    """A header that joins trenches and may still run along a line, and what to try after it."""

    header: Header
    tried: HeaderDraft
    others: Iterator[HeaderDraft]

    def finished(self) -> Header | None:
        """The header led off the lines that it runs along; None without a way for it."""
        finished = (draft.finished() for draft in chain([self.tried], self.others))
        return next(filter(None, finished), None)


def drafted_joining(
    ground: Ground,
    lines: Sequence[LineString],
    options: HorizontalOptions,
    along_deg: float | None,
    *,
    between: bool = True,
) -> JoiningDraft | None:
    """The same as a draft, to be compared with others."""
    ends = [[xy_of(np.array(line.coords[0]))] for line in lines]
    strips = [_strip(line, options.width_m) for line in lines]
    tries = [_with_gaps(strips, lines, options), strips] if between else [strips]
    grounds = (
        replace(ground, passable=polygonal(ground.passable.difference(shapely.union_all(taken))))
        for taken in tries
    )
    drafts = (
        drafted_header(open_ground, ends, along_deg=along_deg, combs=False)
        for open_ground in grounds
    )
    found = filter(None, drafts)
    first = next(found, None)
    return None if first is None else JoiningDraft(first.header, first, found)


def inside_trenches(header: Header, lines: Sequence[LineString], width_m: float) -> float:
    """Length of the header that shares the ground of trenches, their joints aside [m]."""
    strips = shapely.union_all([_strip(line, width_m) for line in lines])
    whole = MultiLineString(list(header.runs))
    # a header that touches a strip along its edge keeps its distance
    return float(whole.intersection(strips.buffer(-TOLERANCE)).length)


def _strip(line: LineString, width_m: float) -> BaseGeometry:
    """Ground that a trench takes from the header's middle, the pit at its first end aside.

    A header's trench is as wide as the loop's own, at most: they may touch.
    """
    inner = part_of(line, min(JOINT_M, line.length / 2), line.length)
    beyond = led_on(inner, width_m / 2) if not is_closed(line) else inner
    strip = beyond.buffer(width_m, cap_style="flat", join_style="mitre")
    return strip.difference(Point(line.coords[0]).buffer(min(JOINT_M, line.length / 2)))


def _with_gaps(
    strips: Sequence[BaseGeometry], lines: Sequence[LineString], options: HorizontalOptions
) -> list[BaseGeometry]:
    """Strips of the trenches, and the ground between every two neighbours."""
    # the first trench of another block is no neighbour
    gaps = [
        shapely.convex_hull(shapely.union(strips[k], strips[k + 1]))
        for k in range(len(strips) - 1)
        if lines[k].distance(lines[k + 1]) < NEIGHBOUR * options.spacing_m
    ]
    return [*strips, *gaps]
