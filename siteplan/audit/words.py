"""How an audit words places, moves and faults."""

from __future__ import annotations

import math
from typing import Final

from siteplan.findings.model import Finding
from siteplan.sheet.marks import (
    CIRCUITS,
    CORNERS,
    ELEMENTS,
    HEADER,
    PIECES,
    PIPES,
    SEPARATIONS,
    STAKING,
    TAKE_OFF,
    TAPES,
)
from siteplan.sheet.model import XY
from siteplan.sheet.style.formats import coordinate
from siteplan.units.lengths import format_bearing, format_length
from siteplan.units.model import UnitSystem

BLOCKS: Final = {
    ELEMENTS: "Table of elements", TAPES: "Table of tapes", HEADER: "Table of header points",
    CORNERS: "Table of property corners", SEPARATIONS: "Table of separations",
    CIRCUITS: "Table of circuits", PIECES: "Table of header pipes", TAKE_OFF: "Take-off",
    STAKING: "Table of bent trenches", PIPES: "Circuits and flow",
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
    code: str, message: str, subject: str = "", measured_m: float | None = None
) -> Finding:
    """Finding about what does not agree in a drawing or list."""
    values = {"told": message}
    return Finding(code, subject, measured_m, rule="comparison", values=values)


def place_words(at: XY, unit: UnitSystem) -> str:
    """Easting and northing in the display unit.

    Examples
    --------
    >>> from siteplan.units.systems import US
    >>> place_words((3.048, 6.096), US)
    'E 10.00 N 20.00'
    """
    return f"E {coordinate(at[0], unit)} N {coordinate(at[1], unit)}"


def move_words(start: XY, end: XY, unit: UnitSystem) -> str:
    r"""Length and bearing of the way from one place to another.

    Examples
    --------
    >>> from siteplan.units.systems import US
    >>> move_words((0.0, 0.0), (0.6096, 0.0), US)
    '2.00 ft towards N 90°00\'00" E'
    """
    length = format_length(math.dist(start, end), unit, 2, rounding="up")
    return f"{length} towards {format_bearing(end[0] - start[0], end[1] - start[1])}"
