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
        itself was taken as its parts; or a street that nobody stated was taken as it was guessed,
        or left out for one that is drawn.
    where
        File and feature.
    at
        The place, or the first of them, on the sheet [m].
    count
        How many corners were dropped, or parts it has.
    """

    what: Literal[
        "ring-closed", "corners-dropped", "touch-split", "street-assumed", "street-replaced"
    ]
    where: str
    at: tuple[float, float]
    count: int = 1
