"""The take-off as CSV."""

from __future__ import annotations

import csv
import io

from siteplan.layout.model import Layout
from siteplan.quantities.take_off import amount_of, take_off
from siteplan.site.model import Site

COLUMNS = ("item", "size", "quantity", "unit", "basis")


def takeoff_csv(site: Site, layout: Layout | None) -> str:
    """Take-off of a layout, amounts rounded up; the heading alone where there is no header."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    for item in take_off(site, layout) if layout is not None else ():
        amount, unit = amount_of(item, site.unit)
        writer.writerow(
            [item.what, item.size, f"{amount:.1f}".removesuffix(".0"), unit, item.basis]
        )
    return text.getvalue()
