"""The take-off as CSV."""

from __future__ import annotations

from siteplan.export.csv_text import csv_text
from siteplan.layout.model import Layout
from siteplan.quantities.take_off import amount_of, take_off
from siteplan.site.model import Site

COLUMNS = ("item", "size", "quantity", "unit", "basis")


def takeoff_csv(site: Site, layout: Layout | None) -> str:
    """Take-off of a layout, amounts rounded up; the heading alone where there is no header."""
    rows: list[tuple[str, ...]] = [COLUMNS]
    for item in take_off(site, layout) if layout is not None else ():
        amount, unit = amount_of(item, site.unit)
        rows.append((item.what, item.size, f"{amount:.1f}".removesuffix(".0"), unit, item.basis))
    return csv_text(rows)
