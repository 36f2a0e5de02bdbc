"""How many elements carry a length."""

from __future__ import annotations

import math
from typing import Final

from siteplan.errors import Fault, InputError
from siteplan.limits import MOST_ELEMENTS
from siteplan.preferences.table import figure_of

HEADER_SHARE = figure_of("layout.counting.header_share")
ROUNDING_SLACK: Final = 1e-9
"""Share of a whole number that a float's last bits may be off before it is rounded."""


def elements_needed(required_m: float, most_m: float) -> int:
    """Fewest elements that carry a length with so much in each, at least one.

    Parameters
    ----------
    required_m
        Exchanger length required [m].
    most_m
        Most that one carries: greatest depth of a bore, pipe of a coil [m].

    Examples
    --------
    >>> elements_needed(300.0, 100.0), elements_needed(300.1, 100.0), elements_needed(0.0, 100.0)
    (3, 4, 1)
    """
    return max(1, math.ceil(required_m / most_m - ROUNDING_SLACK))


def within_limit(needed: int, noun: str, key: str) -> int:
    """The number of elements, where so many are laid out.

    Raises
    ------
    InputError
        It is beyond the limit.

    Examples
    --------
    >>> within_limit(12, "bores", "vertical")
    12
    """
    if needed > MOST_ELEMENTS:
        what = f"needs {needed:,} {noun}; at most {MOST_ELEMENTS:,} are laid out on one lot."
        mend = "Let each carry more, or plan the field in parts with a site file each."
        raise InputError([Fault(f"[{key}]", what, mend)])
    return needed
