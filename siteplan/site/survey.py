"""What was made of a surveyor's drawing from which a lot was read."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SurveyDrawing:
    """How a drawing was read.

    Parameters
    ----------
    file
        The file.
    damaged
        Whether it had to be mended.
    gap_m
        Widest gap between lines of the outline that was closed [m]; 0: none was.
    left_out
        How much of it was not read: what is on layers frozen or off, and kinds of entity that are
        not read.
    missing
        Drawings to which it refers, and which are not in it.
    """

    file: str
    damaged: bool = False
    gap_m: float = 0.0
    left_out: int = 0
    missing: tuple[str, ...] = ()
