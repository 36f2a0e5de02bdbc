"""How the outline of a lot closes that was drawn from its deed."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class DeedClosure:
    """How the calls of a deed close.

    Parameters
    ----------
    miss_m, perimeter_m
        Misclosure, and the sum of all calls [m].
    limit
        Perimeter over misclosure that is asked for.
    calls
        How many there are.
    adjusted
        Whether the misclosure was shared out by the compass rule; else the last call takes it.
    area_m2
        What the outline encloses [m2].
    stated_m2
        Area that the deed itself states [m2]; None where it states none.
    """

    miss_m: float
    perimeter_m: float
    limit: float
    calls: int
    adjusted: bool
    area_m2: float
    stated_m2: float | None = None
