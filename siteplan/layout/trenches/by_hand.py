"""Trenches exactly where somebody gave them, each joined at the end that the header comes to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import shapely
from shapely import LineString, MultiLineString, Point

from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.by_hand import joined_by_hand
from siteplan.layout.counting import within_limit
from siteplan.layout.header.router import reachable_area
from siteplan.layout.model import Ground, Header, Layout
from siteplan.layout.trenches.clear_header import joined_header
from siteplan.layout.trenches.fit import total_length
from siteplan.layout.trenches.numbered import laid_along
from siteplan.site.model import HorizontalOptions


def lay_out_runs(ground: Ground, options: HorizontalOptions) -> Layout:
    """Trenches along the runs that somebody gave, and a header to as many as it comes to.

    Nothing is asked of the runs. Each begins where the header joins it, whichever end was given
    first; where it can, the header keeps clear of all of them.
    """
    within_limit(len(options.runs), "trenches", "horizontal")
    header = joined_by_hand(ground, [_ends(run) for run in options.runs], avoid=options.runs)
    lines = tuple(_from_its_joint(run, header) for run in options.runs)
    header = _clear(ground, lines, options) or header
    return replace(laid_along(lines, header, options, total_length(lines)), by_hand=True)


def _ends(run: LineString) -> list[tuple[float, float]]:
    (x, y), *_, (to_x, to_y) = run.coords
    return [(x, y)] if run.is_ring else [(x, y), (to_x, to_y)]


def _from_its_joint(run: LineString, header: Header | None) -> LineString:
    """The run from the end that the header comes to."""
    if header is None:
        return run
    pipes = MultiLineString(list(header.runs))
    start, *_, end = run.coords
    nearer_end = pipes.distance(Point(end)) < pipes.distance(Point(start)) - TOLERANCE
    return shapely.reverse(run) if nearer_end else run


def _clear(
    ground: Ground, lines: Sequence[LineString], options: HorizontalOptions
) -> Header | None:
    """A header that keeps clear of all trenches; None without a way for one."""
    way = reachable_area(replace(ground, area=ground.passable))
    joined = [
        line for line in lines if float(shapely.distance(Point(line.coords[0]), way)) <= TOLERANCE
    ]
    return joined_header(ground, joined, options, None) if joined else None
