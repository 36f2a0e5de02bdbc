"""How an audit words places, moves and faults."""

from __future__ import annotations

import math

from siteplan.checks.model import Finding
from siteplan.sheet.model import XY
from siteplan.sheet.style.formats import coordinate
from siteplan.site.model import DisplayUnit
from siteplan.units.lengths import format_bearing, format_length


def drawn_fault(
    code: str, message: str, subject: str = "", measured_m: float | None = None
) -> Finding:
    """Finding about what does not agree in a drawing or list: an error."""
    return Finding(code, "error", message, subject, measured_m, None, "comparison")


def place_words(at: XY, unit: DisplayUnit) -> str:
    """Easting and northing in the display unit.

    Examples
    --------
    >>> from siteplan.units.systems import US
    >>> place_words((3.048, 6.096), US)
    'E 10.00 N 20.00'
    """
    return f"E {coordinate(at[0], unit)} N {coordinate(at[1], unit)}"


def move_words(start: XY, end: XY, unit: DisplayUnit) -> str:
    r"""Length and bearing of the way from one place to another.

    Examples
    --------
    >>> from siteplan.units.systems import US
    >>> move_words((0.0, 0.0), (0.6096, 0.0), US)
    '2.00 ft towards N 90°00\'00" E'
    """
    length = format_length(math.dist(start, end), unit, 2, rounding="up")
    return f"{length} towards {format_bearing(end[0] - start[0], end[1] - start[1])}"
