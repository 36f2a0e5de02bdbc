"""Reading of pressures; inside the package every pressure is in pascals."""

from __future__ import annotations

import math
import re
from typing import Final

from siteplan.units.lengths import UnitError

PSI: Final = 6894.757293168
"""Pound-force per square inch: 0.45359237 x 9.80665 / 0.0254^2 [Pa]."""
PRESSURES: Final = {"psi": PSI, "kpa": 1000.0, "bar": 1e5, "mpa": 1e6, "pa": 1.0}

_SINGLE = re.compile(r"\s*([+-]?(?:\d[\d,]*\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([a-zA-Z]+)\s*")


def parse_pressure(value: object) -> float:
    """Pressure [Pa].

    Raises
    ------
    UnitError
        It is no pressure with its unit.

    Examples
    --------
    >>> round(parse_pressure("75 psi")), parse_pressure("6 bar")
    (517107, 600000.0)
    """
    match = _SINGLE.fullmatch(value) if isinstance(value, str) else None
    known = match is not None and match[2].lower() in PRESSURES
    number = float(match[1].replace(",", "")) if match is not None and known else math.inf
    if match is None or not math.isfinite(number):
        raise UnitError(f"{value!r} is not a pressure; write one such as '100 psi' or '7 bar'.")
    return number * PRESSURES[match[2].lower()]
