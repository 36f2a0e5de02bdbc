"""Centre lines as trenches: named in their order, as wide and deep as asked for."""

from __future__ import annotations

from collections.abc import Sequence

from shapely import LineString

from siteplan.layout.elements import Trench
from siteplan.site.model import HorizontalOptions


def trenches_along(lines: Sequence[LineString], options: HorizontalOptions) -> tuple[Trench, ...]:
    """Trenches along centre lines, T1 first."""
    return tuple(
        Trench(f"T{number}", line, options.width_m, options.depth_m, options.pipes, options.kind)
        for number, line in enumerate(lines, start=1)
    )
