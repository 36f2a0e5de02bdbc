"""How the deed's calls close that the outline of the lot was drawn from."""

from __future__ import annotations

from collections.abc import Iterator

from siteplan.findings.model import Finding
from siteplan.site.model import Site


def deed_remarks(site: Site) -> Iterator[Finding]:
    """The closure of the deed: a note, or a warning where it is worse than asked for."""
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
