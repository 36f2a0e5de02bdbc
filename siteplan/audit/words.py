"""How an audit words places, moves and faults."""

from __future__ import annotations

import math
from typing import Final

from siteplan.findings.model import Finding, Reason, reason
from siteplan.sheet.marks import (
    BASE_LINES,
    CIRCUITS,
    CORNERS,
    ELEMENTS,
    GROUPS,
    HEADER,
    PIECES,
    PIPES,
    SEPARATIONS,
    STAKING,
    TAKE_OFF,
    TAPES,
)
from siteplan.sheet.model import XY
from siteplan.units.lengths import format_bearing

BLOCKS: Final = {
    ELEMENTS: "Table of elements", TAPES: "Table of tapes", HEADER: "Table of header points",
    CORNERS: "Table of property corners", SEPARATIONS: "Table of separations",
    BASE_LINES: "Table of base lines",
    CIRCUITS: "Table of circuits", PIECES: "Table of header pipes", TAKE_OFF: "Take-off",
    STAKING: "Table of bent trenches", PIPES: "Circuits and flow",
    GROUPS: "Table of circuit groups",
}  # fmt: skip
"""What an audit calls the blocks of a sheet, whatever their headings say."""


def block_words(name: str) -> str:
    """What an audit calls a block, by its mark.

    Examples
    --------
    >>> block_words("take-off")
    'Take-off'
    """
    return BLOCKS[name]


def drawn_fault(
    code: str, told: Reason, subject: str = "", measured_m: float | None = None
) -> Finding:
    """Finding about what does not agree in a drawing or list."""
    values = {"told": told}
    return Finding(code, subject, measured_m, rule="comparison", values=values)


def place(at: XY) -> Reason:
    """Easting and northing, to be worded."""
    return reason("place", east_m=at[0], north_m=at[1])


def move(start: XY, end: XY) -> Reason:
    """Length and bearing of the way from one place to another, to be worded."""
    bearing = format_bearing(end[0] - start[0], end[1] - start[1])
    return reason("move", way_m=math.dist(start, end), bearing=bearing)


def on_sheet(block: str, sheet: int) -> Reason:
    """Which block on which sheet, to be worded."""
    return reason("on-sheet", block=block_words(block), sheet=sheet)
