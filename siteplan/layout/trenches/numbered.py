"""Centre lines as trenches: named in their order, as wide and deep as asked for, with a header."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from shapely import LineString

from siteplan.layout.elements import Trench
from siteplan.layout.header.crossings import over_trenches
from siteplan.layout.model import Header, Layout
from siteplan.site.model import HorizontalOptions


def trenches_along(lines: Sequence[LineString], options: HorizontalOptions) -> tuple[Trench, ...]:
    """Trenches along centre lines, T1 first."""
    return tuple(
        Trench(f"T{number}", line, options.width_m, options.depth_m, options.pipes, options.kind)
        for number, line in enumerate(lines, start=1)
    )


def laid_along(
    lines: Sequence[LineString],
    header: Header | None,
    options: HorizontalOptions,
    capacity_m: float,
) -> Layout:
    """Trenches along centre lines with their header, which says where it crosses over them."""
    trenches = trenches_along(lines, options)
    if header is not None:
        over = over_trenches(header, trenches)
        header = replace(header, crossings=(*header.crossings, *over))
    return Layout("horizontal", trenches, header, options.spacing_m, capacity_m)
