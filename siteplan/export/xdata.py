"""Marks in a drawing: extended data of a text, under one registered application id.

The fields are four: block, row and column as strings (group code 1000), the line as a whole number
(1070). ``docs/audit.md`` tells them to whoever reads a drawing by another program.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from siteplan.sheet.marks import Mark

APPLICATION: Final = "SITEPLAN"
STRING, NUMBER = 1000, 1070
"""Group codes of the format."""
MOST_BYTES: Final = 255
"""The format takes no longer string."""


def to_xdata(mark: Mark) -> list[tuple[int, str | int]]:
    """Tags of a mark.

    Examples
    --------
    >>> to_xdata(Mark("elements", "B1", "east"))
    [(1000, 'elements'), (1000, 'B1'), (1000, 'east'), (1070, 0)]
    """
    names = (mark.block, mark.row, mark.column)
    return [*((STRING, shortened(name)) for name in names), (NUMBER, mark.line)]


def from_xdata(tags: Iterable[tuple[int, object]]) -> Mark | None:
    """Mark of tags; None where they are none of ours.

    Examples
    --------
    >>> from_xdata([(1000, "elements"), (1000, "B1"), (1000, "east"), (1070, 0)])
    Mark(block='elements', row='B1', column='east', line=0)
    >>> from_xdata([(1000, "of another form")]) is None
    True
    """
    tags = list(tags)
    names = [str(value) for code, value in tags if code == STRING]
    lines = [value for code, value in tags if code == NUMBER]
    if len(names) != 3 or len(lines) != 1 or not isinstance(lines[0], int):
        return None
    block, row, column = names
    return Mark(block, row, column, lines[0])


def shortened(name: str) -> str:
    r"""The name in one line, cut to what the format takes.

    Examples
    --------
    >>> len(shortened(300 * "é").encode()), shortened("two\nlines")
    (254, 'two lines')
    """
    return " ".join(name.split()).encode()[:MOST_BYTES].decode(errors="ignore")
