"""What a record of bores and wells as built has to tell, and what of it is missing.

The list is Connecticut's: Regulations of Connecticut State Agencies, section 25-128-62 (record of
the loop as built, within 60 days), as the shipped rule book ``connecticut`` cites it: coordinates
to the fifth decimal of a degree; diameter, depth and spacing; a sketch with measurements to at
least two fixed points. To be verified with the authority before use.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from siteplan.audit.measured import Measured
from siteplan.findings.model import Finding, Values
from siteplan.layout.model import Layout
from siteplan.rule_books.model import Book
from siteplan.sheet.content.ties import TiePoint
from siteplan.site.model import Site

BOOK: Final = "connecticut"
"""The rule book that cites the list."""
SOURCE: Final = "Connecticut 25-128-62 (as built)"
FIXED_POINTS: Final = 2
DECIMALS: Final = 5


def record_findings(
    site: Site,
    layout: Layout,
    points: Sequence[Measured],
    ties: Sequence[TiePoint],
    books: Sequence[Book],
) -> Iterator[Finding]:
    """Items of the record that are missing, each with how to give it, or a note that none is.

    Where the book that lists them is not among those of the lot, one note tells all.
    """
    if not layout.elements or not layout.loop.drilled:
        return
    values: Values
    missing = list(_missing(site, points, ties))
    if all(book.id != BOOK for book in books):
        if missing:
            lacked = tuple(ITEMS[name] for name in dict(missing))
            values = {"items": lacked, "source": SOURCE}
            yield Finding("record-lacks-elsewhere", rule=SOURCE, values=values)
        return
    held = [name for name in ITEMS if name not in dict(missing)]
    for name, mend in missing:
        values = {"item": ITEMS[name], "source": SOURCE, "mend": mend}
        yield Finding("record-lacks", subject=name, rule=SOURCE, values=values)
    values = {"items": tuple(ITEMS[name] for name in held), "source": SOURCE}
    yield Finding("record-has", rule=SOURCE, values=values)


ITEMS: Final = {
    "coordinates": "coordinates to the fifth decimal of a degree",
    "diameter": "the diameter",
    "depth": "the depth drilled",
    "spacing": "the spacing",
    "fixed points": "measurements to two fixed points",
}
"""Items of the record, in words."""


def _missing(
    site: Site, points: Sequence[Measured], ties: Sequence[TiePoint]
) -> Iterator[tuple[str, str]]:
    """Names of the items that are missing, and how to give them."""
    if site.georeference is None:
        yield "coordinates", "Give the site file a parcel with a coordinate system."
    coarse = [
        point.id for point in points if point.decimals is not None and point.decimals < DECIMALS
    ]
    if coarse and site.georeference is not None:
        yield "coordinates", f"Write {DECIMALS} decimals for {', '.join(dict.fromkeys(coarse))}."
    without = [point.id for point in points if point.depth_m is None]
    if without:
        yield "depth", f"Fill the column depth for {', '.join(dict.fromkeys(without))}."
    if len(ties) < FIXED_POINTS:
        yield "fixed points", "Draw a building, so that there are corners to tape from."
