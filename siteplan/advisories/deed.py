"""How the deed's calls close that the outline of the lot was drawn from."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from siteplan.findings.model import Finding
from siteplan.site.model import Site

AREA_OFF: Final = 0.02
"""Share by which the area that a deed states may differ from that of its calls: deeds round it;
common practice, no source."""


def deed_remarks(site: Site) -> Iterator[Finding]:
    """The closure of the deed: a note, or a warning where it is worse than asked for.

    Where the deed states an area that is another than its calls enclose, a warning besides: two
    slips that cancel one another close the figure all the same.
    """
    deed = site.deed
    if deed is None:
        return
    if deed.perimeter_m >= deed.limit * deed.miss_m:
        yield Finding(
            "deed-closes",
            values={"miss_m": deed.miss_m, "calls": deed.calls, "limit": deed.limit},
        )
    else:
        ratio, calls, miss_m = deed.perimeter_m / deed.miss_m, deed.calls, deed.miss_m
        yield Finding(
            "deed-closes-badly",
            values={"ratio": ratio, "calls": calls, "miss_m": miss_m, "limit": deed.limit},
        )
    stated, area = deed.stated_m2, deed.area_m2
    if stated is not None and abs(area - stated) > AREA_OFF * stated:
        yield Finding("deed-area", values={"stated_m2": stated, "area_m2": area})
