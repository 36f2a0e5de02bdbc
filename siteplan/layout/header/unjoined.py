"""Why no header joins a layout: elements where pipe cannot come, or lines it would run along."""

from __future__ import annotations

from dataclasses import replace

from shapely import MultiLineString

from siteplan.findings.model import Reason, reason
from siteplan.layout.header.alongside import lies_along
from siteplan.layout.header.router import route_header
from siteplan.layout.model import Ground, Layout


def why_unjoined(layout: Layout, ground: Ground) -> Reason:
    """What keeps every header from a layout that has none.

    Parameters
    ----------
    layout
        Elements that no header joins.
    ground
        The ground on which one was looked for.
    """
    # first without the lines: what they alone prevent has another mend than a missing way
    free = replace(ground, strips=())
    ends = [element.ends for element in layout.elements]
    header = route_header(free, ends)
    if header is not None:
        whole = MultiLineString(list(header.runs))
        spots = [
            (header.entry.point.x, header.entry.point.y),
            *(spot for pair in ends for spot in pair),
        ]
        along = [strip.feature for strip in ground.strips if lies_along(whole, (strip,), spots)]
        if along:
            return reason("header-only-along-lines", lines=tuple(dict.fromkeys(along)))
    # each by itself: one element out of reach is moved, all of them mean the entry
    lost = tuple(
        element.id for element in layout.elements if route_header(free, [element.ends]) is None
    )
    if not lost:
        return reason("header-joins-not-all")
    if len(lost) == len(layout.elements):
        return reason("no-way-for-header")
    return reason("header-not-to", elements=lost)
