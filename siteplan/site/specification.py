"""What a site file says for the specification, beside what the design has already."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from siteplan.units.pressures import PSI

FILL_PA: Final = 40 * PSI
"""Pressure to which a loop is filled; common practice, no source [Pa]."""


@dataclass(frozen=True, slots=True)
class SpecificationOptions:
    """Texts as they are to be printed, empty where common practice is; and a few figures.

    Parameters
    ----------
    fusion, casing, tracer, backfill, abandoned
        How pipe is joined, bores are cased, pipe is found again, trenches are filled, and what is
        given up is sealed.
    test_minutes
        How long the test pressure is held; None: as the rule books ask [min].
    fill_pa
        Pressure to which the loop is filled [Pa].
    purge_minutes
        How long is flushed after the last bubbles [min].
    service
        Whom the owner calls.
    stated
        Keys that somebody stated.
    """

    fusion: str = ""
    casing: str = ""
    tracer: str = ""
    backfill: str = ""
    abandoned: str = ""
    test_minutes: float | None = None
    fill_pa: float = FILL_PA
    purge_minutes: float = 15.0
    service: str = ""
    stated: tuple[str, ...] = ()
