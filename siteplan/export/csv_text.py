"""Rows as comma-separated text that a spreadsheet opens without computing what it reads."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from typing import Final

COMPUTED: Final = ("=", "+", "-", "@", "\t", "\r")
"""What a cell begins with that spreadsheets take for a formula (OWASP, "CSV Injection")."""


def csv_text(rows: Iterable[Sequence[str]]) -> str:
    """Rows as in RFC 4180, but with plain line feeds.

    Names come from site files and lists that others may have sent: one that a spreadsheet would
    take for a formula gets an apostrophe before it, which shows that it is text.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerows([_as_text(cell) for cell in row] for row in rows)
    return text.getvalue()


def _as_text(cell: str) -> str:
    """A cell that no spreadsheet computes.

    Examples
    --------
    >>> _as_text("=HYPERLINK(1)"), _as_text("-12.5"), _as_text("B1"), _as_text("-2+3")
    ("'=HYPERLINK(1)", '-12.5', 'B1', "'-2+3")
    """
    return f"'{cell}" if cell.startswith(COMPUTED) and not _is_number(cell) else cell


def _is_number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True
