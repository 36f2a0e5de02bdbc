"""Lines of text that want a place on the plan window."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from siteplan.sheet.marks import Mark
from siteplan.sheet.model import XY
from siteplan.sheet.style.text import DESCENT, text_width

SMALL_MM, SMALL_PITCH, WORD_MM = 2.05, 1.4, 1.1
"""Height of a further line in lesser letters, its distance from the line above in such heights, and
between words of two sizes in one line [mm]."""
LINE_PITCH = 1.65
"""Distance of base lines, in heights of a capital."""
UPRIGHT_DEG: Final = 5.0
"""Text that leans so little beyond upright is not turned round: neighbours then read one way."""


@dataclass(frozen=True, slots=True)
class Label:
    """Lines of text that want a place.

    Parameters
    ----------
    masked
        Whether the ground under the text is wiped.
    mark
        What programs call it, each further line by its number; None for what none has to find.
    small
        A further line in lesser letters, below the others; empty: none.
    inline
        Whether that stands behind the only other line instead.
    """

    lines: tuple[str, ...]
    height_mm: float
    style: str
    layer: str
    bold: bool = False
    masked: bool = True
    mark: Mark | None = None
    small: str = ""
    inline: bool = False

    @property
    def width(self) -> float:
        """Width of the widest line [mm]."""
        wide = max(text_width(line, self.height_mm, bold=self.bold) for line in self.lines)
        if not self.small:
            return wide
        small = text_width(self.small, SMALL_MM)
        return wide + WORD_MM + small if self.inline else max(wide, small)

    @property
    def height(self) -> float:
        """Height from the deepest descender to the top of the first line [mm]."""
        below = SMALL_MM * SMALL_PITCH if self.small and not self.inline else 0.0
        return self.height_mm * (1.0 + DESCENT + LINE_PITCH * (len(self.lines) - 1)) + below

    def parts(self) -> list[tuple[XY, XY]]:
        """Size of each line, and its middle from that of the box [mm]."""
        rows = []
        for number, (text, (aside, rise)) in enumerate(self.places()):
            lesser = number >= len(self.lines)
            height = SMALL_MM if lesser else self.height_mm
            wide = text_width(text, height, bold=self.bold and not lesser)
            rows.append(((wide, height), (aside, rise + height / 2)))
        return rows

    def places(self) -> list[tuple[str, XY]]:
        """Each line, and the middle of its base line from the middle of the box [mm]."""
        top = self.height / 2 - self.height_mm
        pitch = LINE_PITCH * self.height_mm
        rows = [(line, (0.0, top - number * pitch)) for number, line in enumerate(self.lines)]
        if not self.small:
            return rows
        if not self.inline:
            low = rows[-1][1][1] - SMALL_PITCH * SMALL_MM
            return [*rows, (self.small, (0.0, low))]
        wide = text_width(self.lines[0], self.height_mm, bold=self.bold)
        small = text_width(self.small, SMALL_MM)
        first = (wide - self.width) / 2
        return [
            (self.lines[0], (first, top)),
            (self.small, ((self.width - small) / 2, top)),
        ]


def readable(angle_deg: float) -> float:
    """The angle or its opposite, so that text reads from below or from the right.

    Examples
    --------
    >>> readable(180.0), readable(90.0), readable(-88.0), readable(-80.0), readable(94.0)
    (0.0, 90.0, 92.0, -80.0, 94.0)
    """
    turned = (angle_deg + 180.0) % 360.0 - 180.0
    if turned > 90.0 + UPRIGHT_DEG:
        return turned - 180.0
    return turned + 180.0 if turned <= -90.0 + UPRIGHT_DEG else turned
