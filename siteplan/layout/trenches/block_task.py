"""What blocks of trenches must carry, and where."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shapely.geometry.base import BaseGeometry

from siteplan.geometry.lines.rows import RowRule
from siteplan.layout.model import Ground
from siteplan.layout.trenches.blocks import Wanted
from siteplan.site.model import HorizontalOptions


@dataclass(frozen=True, slots=True)
class BlockTask:
    """Ground to lay blocks on, and what they must carry there.

    Parameters
    ----------
    ground, area
        The ground, and the part of it that a header reaches.
    rule
        Spacing and lengths of the trenches.
    target_m
        Length that they carry together [m].
    options
        What is asked for of trenches.
    trench_cost_m
        What it costs to set up for one more trench, as a length of digging [m].
    room
        Part of the area to which they keep; None: all of it.
    below_m
        What they must cost less than, as a length of digging [m].
    """

    ground: Ground
    area: BaseGeometry
    rule: RowRule
    target_m: float
    options: HorizontalOptions
    trench_cost_m: float
    room: BaseGeometry | None = None
    below_m: float = math.inf

    @property
    def wanted(self) -> Wanted:
        """What one block must carry alone."""
        return Wanted(self.target_m, self.trench_cost_m, self.multiple, self.below_m)

    @property
    def multiple(self) -> int:
        """What the number of trenches is a multiple of: an odd pipe comes home through another."""
        return 1 + self.options.pipes % 2
