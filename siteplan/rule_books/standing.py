"""How far a row of a book may be relied on, and how the book writes it."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace
from typing import Literal, cast, get_args

from siteplan.reading import Table

Status = Literal["required", "recommended"]
STATUSES: tuple[Status, ...] = get_args(Status)
Reading = Literal["rule", "quoted"]
READINGS: tuple[Reading, ...] = get_args(Reading)


@dataclass(frozen=True, slots=True)
class Standing:
    """How far a row may be relied on: what it is worth to the authority, and how it was read.

    Parameters
    ----------
    status
        Whether the authority requires or recommends it.
    read
        Whether it was read in the rule's own text, or in a page that quotes it.
    superseded_on
        Day from which another text stands in its place; None: it is not known to be superseded.
    """

    status: Status = "required"
    read: Reading = "rule"
    superseded_on: datetime.date | None = None

    @property
    def words(self) -> str:
        """How far it may be relied on, to stand behind its source; empty: required and read.

        Examples
        --------
        >>> Standing("recommended", "quoted").words, Standing().words
        (', recommended, as quoted by a public page', '')
        """
        words: list[str] = [self.status] if self.status != "required" else []
        if self.read == "quoted":
            words.append("as quoted by a public page")
        if self.superseded_on is not None:
            words.append(f"SUPERSEDED from {self.superseded_on.isoformat()}")
        return "".join(f", {word}" for word in words)


AS_READ = Standing()
"""Required, and read in the rule's own text."""


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
