"""Leaders on paper, and what others pay that meet one, or run along it."""

from __future__ import annotations

from collections.abc import Sequence, Set
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from siteplan.sheet.model import XY
from siteplan.sheet.place.covered_ink import CoveredInk, Shapes

NEAR_MM: Final = 2.1
"""Leaders nearer than this to each other read as one line [mm],"""
ALONG_MM: Final = 5.0
"""if over more than such a length [mm]."""
READ_MM: Final = 0.8
"""A leader so near to a base line or a dimension over such a length cannot be told from it [mm]."""
ALONG_COST: Final = 400.0
"""What that costs: more than any place that is taken as long as there is another, and less than a
name that is lost."""


class LedLines:
    """Leaders, whole, with their tips: leaders to one thing must not meet there either."""

    def __init__(self) -> None:
        # of each leader its line, and the ground along it
        self._lines, self._strips = CoveredInk(), CoveredInk()
        # of other thin lines the ground along them alone: they may be crossed
        self._others = CoveredInk()

    @property
    def shapes(self) -> list[BaseGeometry]:
        """Their lines."""
        return self._lines.shapes

    def add(self, path: tuple[XY, ...], cost: float) -> None:
        """Remember a leader."""
        line = LineString(path)
        self._lines.add([line], cost, cost)
        self._strips.add([line.buffer(NEAR_MM, cap_style="flat")], cost, cost)

    def keep_apart(self, path: Sequence[XY]) -> None:
        """Remember a thin line that leaders may cross, and should not run along."""
        strip = LineString(path).buffer(READ_MM, cap_style="flat")
        self._others.add([strip], ALONG_COST, ALONG_COST)

    def without(self, gone: Set[int]) -> LedLines:
        """The same without lines of those identities."""
        left = LedLines()
        pairs = zip(self._lines.shapes, self._strips.shapes, strict=True)
        strips = {id(strip) for line, strip in pairs if id(line) in gone}
        left._lines = self._lines.without(gone)
        left._strips, left._others = self._strips.without(strips), self._others.without(set())
        return left

    def cost(self, lines: Shapes, met: float) -> npt.NDArray[np.float64]:
        """What each line pays: ``met`` if it meets a leader, else for running along some."""
        costs = np.where(self._lines.touched(lines), met, 0.0)
        for kept in (self._strips, self._others):
            free = np.flatnonzero(costs == 0.0)
            which, strip = kept.hits(lines[free])
            strips = np.array(kept.shapes, dtype=object)[strip]
            along = shapely.length(shapely.intersection(lines[free[which]], strips))
            costs[free[which[along > ALONG_MM]]] = ALONG_COST
        return costs
