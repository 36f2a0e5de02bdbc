"""Which codes of the catalogue the tests produce, over all processes of a run."""

from __future__ import annotations

from siteplan.findings import model
from siteplan.findings.entries import Entry, entries, entry_of

CODES: set[str] = set()
"""Codes that reasons and findings were made of in this process."""


def _noting(code: str) -> Entry:
    CODES.add(code)
    return entry_of(code)


def watch() -> None:
    """Note every code from now on."""
    model.entry_of = _noting  # type: ignore[assignment]


def unproduced() -> list[str]:
    """Codes of the catalogue that no test has produced."""
    return sorted(set(entries()) - CODES)
