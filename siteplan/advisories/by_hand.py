"""That somebody gave the places of what is laid out: they are checked, not looked for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from siteplan.findings.model import Finding
from siteplan.layout.model import Layout

PLACED: Final = "placed-by-hand"
"""Code of the note that says so."""


def by_hand_remarks(layout: Layout) -> Iterator[Finding]:
    """The note on places given by hand; nothing where the plan has found them."""
    if layout.kept and len(layout.kept) < len(layout.elements):
        yield Finding("some-placed-by-hand", layout.system, values={"names": layout.kept})
    elif layout.by_hand:
        yield Finding(PLACED, subject=layout.system, values={"thing": layout.loop.noun})
