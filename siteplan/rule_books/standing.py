"""How far a row of a book may be relied on, as the book writes it."""

from __future__ import annotations

import datetime
from dataclasses import replace
from typing import cast

from siteplan.reading import Table
from siteplan.rule_books.model import AS_READ, READINGS, STATUSES, Reading, Standing, Status


def read_standing(table: Table, usual: Standing = AS_READ) -> Standing:
    """Standing of a book or of a row; what a row does not say is as its book says."""
    return replace(
        usual,
        status=cast("Status", table.choice("status", STATUSES, usual.status)),
        read=cast("Reading", table.choice("read", READINGS, usual.read)),
        superseded_on=_day(table, "superseded_on") or usual.superseded_on,
    )


def _day(table: Table, key: str) -> datetime.date | None:
    value = table.raw(key)
    if value is None or (isinstance(value, datetime.date) and type(value) is datetime.date):
        return value
    table.fault(key, f"{value!r} is not a day.", f"Write {key} = 2026-06-28.")
    return None
