"""What a field keeps off at the price of a longer header."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from siteplan.findings.model import Finding, reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.model import Layout

GROUNDS: Final = {
    "front yard": reason("the-front-yard"),
    "drive": reason("the-drive"),
    "utilities": reason("the-utilities"),
}
"""What ground to be spared is called."""


def spared_remarks(layout: Layout) -> Iterator[Finding]:
    """A note of the ground on which the field would lie with the shortest header found."""
    kept = layout.kept_off
    if kept is None or not kept.names:
        return
    longer = kept.more_m > TOLERANCE
    shorter = reason("shorter-header-there", more_m=kept.more_m) if longer else None
    grounds = tuple(GROUNDS[name] for name in kept.names)
    yield Finding("field-kept-off", values={"grounds": grounds, "shorter": shorter})
