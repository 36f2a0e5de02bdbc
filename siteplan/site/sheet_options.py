"""What a site file wants of the sheet: paper, scale, how many."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

PAPERS = ("ANSI A", "ANSI B", "ANSI D", "Arch D", "A4", "A3", "A1")
"""Papers that a sheet can have; their sizes are the sheet's business."""
AUTO = "auto"
"""Stands for the paper on which the plan is drawn the largest."""

North = Literal["turned", "up"]
"""Whether north may be turned, up to a quarter, where the plan gains a scale by it."""
NORTHS: tuple[North, ...] = get_args(North)

SheetSet = Literal["one", "auto", "full"]
"""How many sheets: the plan alone, as many as it takes to say all, or always the whole set."""
SHEET_SETS: tuple[SheetSet, ...] = get_args(SheetSet)

PlanParts = Literal["auto", "always", "never"]
"""Whether parts of the plan are drawn larger on sheets of their own."""
PLAN_PARTS: tuple[PlanParts, ...] = get_args(PlanParts)


@dataclass(frozen=True, slots=True)
class SheetOptions:
    """Paper and scale of the plan sheet, and how many sheets there are.

    ``scale`` is the ratio (240 for 1 in = 20 ft); ``parts``: whether parts of the plan are drawn
    larger on sheets of their own; ``open_size``: nobody asked for this paper; ``scales``: ratios
    of which one has to be taken, empty: any; ``auto_size``: a paper is still to be chosen, among
    ``sizes`` or, where there are none, among those that the unit's offices take; ``turned``:
    whether north may be turned where that gains a scale.
    """

    size: str = "ANSI B"
    scale: int | None = None
    sheets: SheetSet = "auto"
    parts: PlanParts = "auto"
    open_size: bool = False
    scales: tuple[int, ...] = ()
    auto_size: bool = False
    sizes: tuple[str, ...] = ()
    turned: bool = True
