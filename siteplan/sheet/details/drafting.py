"""Drawing a section to scale in a block: lines, sizes, and words led to what they name."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.model import XY, Anchor, Hatch, Polygon, Polyline, Ring, Text
from siteplan.sheet.place.blocks import Flow
from siteplan.sheet.place.table import BODY_MM
from siteplan.sheet.style.paper import enlargement, paper
from siteplan.sheet.style.styles import layer
from siteplan.sheet.style.text import text_width, wrapped

PITCH_MM: Final = 3.5
"""Distance of base lines of words beside a section [mm]."""
BETWEEN_MM: Final = 1.5
"""What words of several lines stand off those below, beyond the distance of lines [mm]."""
DOT_MM: Final = 0.55
"""Least radius of a pipe cut across [mm]."""
WORDS_MM: Final = 75.0
"""What sizes and words beside a section take of a wide column [mm]."""
WAVE_MM: Final = 1.6
"""Height of a break line's tooth [mm]."""

Named = tuple[str, XY]
"""Words and the place on paper that they name [mm]."""


@dataclass(frozen=True, slots=True)
class Scale:
    """A stated scale on paper that is enlarged once everything is drawn."""

    nominal: int
    enlargement: float

    @property
    def ratio(self) -> float:
        """Ratio to draw with, before the paper is enlarged."""
        return self.nominal * self.enlargement


def room_beside(width: float, share: float) -> float:
    """Width for what is drawn beside its words in a column: a share, or what they leave [mm].

    Examples
    --------
    >>> room_beside(90.0, 0.5), room_beside(200.0, 0.5)
    (45.0, 125.0)
    """
    return max(width * share, width - WORDS_MM)


def largest_scale(content: PlanContent, size_m: XY, room_mm: XY) -> Scale:
    """The largest scale at which a width and height [m] fit into a room [mm]."""
    factor = enlargement(content.site.sheet.size)
    for nominal in content.site.unit.drawing.detail_ratios:
        scale = Scale(nominal, factor)
        wide, high = (size * 1000.0 / scale.ratio for size in size_m)
        if wide <= room_mm[0] and high <= room_mm[1]:
            break
    return scale


@dataclass(frozen=True, slots=True)
class Drafting:
    """A section in metres: x to the right, y up from the ground, drawn into a block.

    Parameters
    ----------
    origin
        Where the ground at x = 0 lies in the block [mm].
    """

    flow: Flow
    ratio: float
    origin: XY

    def mm(self, x: float, y: float) -> XY:
        """Place in the block [mm]."""
        scale = 1000.0 / self.ratio
        return self.origin[0] + x * scale, self.origin[1] + y * scale

    def line(self, points: Sequence[XY], style: str, *, closed: bool = False) -> None:
        """Draw a line through places [m]."""
        self.stroke([self.mm(*point) for point in points], style, closed=closed)

    def stroke(self, points: Sequence[XY], style: str, *, closed: bool = False) -> None:
        """Draw a line through places in the block [mm]."""
        ring = tuple(points)
        self.flow.items.append(Polyline(ring, style, layer("section"), "paper", closed=closed))

    def hatch(self, points: Sequence[XY], *, gap_mm: float = 1.1, angle: float = 45.0) -> None:
        """Hatch an area [m]."""
        ring = tuple(self.mm(*point) for point in points)
        where = layer("section")
        self.flow.items.append(Hatch((ring,), "other-hatch", where, "paper", gap_mm, angle))

    def pipe(self, at: XY, outer_m: float) -> None:
        """Draw a pipe cut across, no smaller than can be seen [m]."""
        radius = max(DOT_MM, outer_m * 500.0 / self.ratio)
        x, y = self.mm(*at)
        turns = [2 * math.pi * step / 24 for step in range(24)]
        ring: Ring = tuple((x + radius * math.cos(t), y + radius * math.sin(t)) for t in turns)
        self.flow.items.append(Polygon((ring,), "ink-fill", layer("section"), "paper"))

    def write(self, text: str, at: XY, anchor: Anchor = "left") -> None:
        """Write words at a place in the block [mm]."""
        line = Text(text, at, BODY_MM, "text", layer("sheet-text"), "paper", 0.0, anchor)
        self.flow.items.append(line)

    def break_line(self, left: float, right: float, y: float) -> None:
        """Draw a line with a tooth: what lies beyond is left out; all in the block [mm]."""
        middle, wave = (left + right) / 2, WAVE_MM
        points = [
            (left, y), (middle - wave, y), (middle - wave / 2, y + wave),
            (middle + wave / 2, y - wave), (middle + wave, y), (right, y),
        ]  # fmt: skip
        self.stroke(points, "hair")

    def ticked(self, *ends: XY) -> None:
        """Draw the line of a size between two places in the block, with a tick at each [mm]."""
        self.stroke(ends, "dimension")
        for x, y in ends:
            self.stroke([(x - 0.8, y - 0.8), (x + 0.8, y + 0.8)], "dimension")

    def deep(self, x: float, ends: XY, text: str) -> None:
        """Draw the size of a depth left of x, between two heights in the block [mm]."""
        top, bottom = ends
        self.ticked((x, top), (x, bottom))
        self.write(text, (x - 1.4, (top + bottom) / 2 - BODY_MM / 2), "right")

    def wide(self, y: float, ends: XY, text: str) -> None:
        """Draw the size of a width above y, between two places in the block [mm]."""
        left, right = ends
        self.ticked((left, y), (right, y))
        # words wider than what they measure stand clear of the ticks at its ends
        lift = 1.3 if text_width(text, BODY_MM) < right - left - 1.6 else 2.0
        self.write(text, ((left + right) / 2, y + lift), "center")

    def labels(self, x: float, top: float, named: Sequence[Named]) -> float:
        """Write words from x on, each led to its place, from the top down; the lowest line [mm]."""
        y = lowest = top
        for text, target in sorted(named, key=lambda label: (-label[1][1], -label[1][0])):
            y = min(y, target[1] - BODY_MM / 2)
            self.stroke([(x - 0.6, y + BODY_MM / 2), target], "hair")
            for line in (lines := wrapped(text, self.flow.width - x, BODY_MM)):
                self.write(line, (x, y))
                y -= PITCH_MM
                lowest = y + PITCH_MM
            # words of several lines stand off what follows: else both would be read as one
            y -= BETWEEN_MM if len(lines) > 1 else 0.0
        return lowest


def tallest(content: PlanContent) -> float:
    """Height of a column of the sheet, before the paper is enlarged [mm]."""
    page = paper(content.site.sheet.size).shrunk()
    return page.height_mm - 2 * page.margin_mm


def widest(texts: Sequence[str]) -> float:
    """Width of the widest of some words [mm]."""
    return max(text_width(text, BODY_MM) for text in texts)
