"""What was mended of shapes as they were read, so that nothing is mended in secret."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Repair:
    """One thing that was mended of a shape.

    Parameters
    ----------
    what
        A ring that was open was closed, corners drawn twice were dropped, an area that touches
        itself was taken as its parts, one of thousands of corners was drawn with fewer; or a
        street that nobody stated was taken as it was guessed, or left out for one that is drawn.
    where
        File and feature.
    at
        The place, or the first of them, on the sheet [m].
    count
        How many corners were dropped, or parts it has, or corners it had.
    left
        How many corners it has since.
    departs_m
        How far its outline may lie from what was drawn [m].
    """

    what: Literal[
        "ring-closed",
        "corners-dropped",
        "touch-split",
        "thinned",
        "street-assumed",
        "street-replaced",
    ]
    where: str
    at: tuple[float, float]
    count: int = 1
    left: int = 0
    departs_m: float = 0.0
