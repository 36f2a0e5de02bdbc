"""What was mended of the shapes of a lot as they were read."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from siteplan.findings.model import Finding
from siteplan.site.model import Site

COUNTED: Final = ("corners-dropped", "touch-split", "thinned")


def repair_remarks(site: Site) -> Iterator[Finding]:
    """Each repair with its place on the sheet."""
    for repair in site.repairs:
        x_m, y_m = repair.at
        values: dict[str, str | float] = {"where": repair.where, "x_m": x_m, "y_m": y_m}
        if repair.what in COUNTED:
            values["count"] = repair.count
        if repair.left:
            values |= {"left": repair.left, "departs_m": repair.departs_m}
        yield Finding(repair.what, values=values)
