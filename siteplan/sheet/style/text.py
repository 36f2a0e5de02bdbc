"""Widths of text set in DejaVu Sans, and breaking it into lines."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any, Final

LEAST_HEIGHT_MM: Final = 2.032
"""Least height of a capital on the plotted sheet: 0.08 in, drafting handbooks [mm]."""
LETTER_GAP: Final = 1 / 3
"""From one letter of technical lettering to the next, in heights of a capital."""
HANG_MM: Final = 1.7
"""How far lettering may reach beyond its column or cell: less than is free beside these [mm]."""
DESCENT: Final = 0.33
"""Depth of a descender below the base line, in heights of a capital."""
NO_BREAK: Final = "\u00a0"
BREAKABLE: Final = re.compile(rf"[^\S{NO_BREAK}]+")
"""White space at which a line may end."""
_UNITS: Final = (
    "ft|in|m|mm|cm|km|ac|ha|sq|cu|gal|lb|gpm|psi|MBH|MBtu|MMBtu|Btu|kW|kWh|W|kPa|bar|L|kg|kV|min|h"
    "|hours|days|weeks|months|years|CFR|°F|°C|K"
)
"""What stands behind a figure and is not left for the next line."""
_TOGETHER: Final = re.compile(rf"(?<=\d) (?=(?:{_UNITS})\b|%)|(?<=CFR) (?=\d)")
_DESCENDING = frozenset("gjpqyQ,;()[]{}|@$/_")


@cache
def _fonts() -> dict[str, Any]:
    return tomllib.loads(files("siteplan.sheet.style").joinpath("fonts.toml").read_text("utf-8"))


@cache
def _advances(bold: bool) -> dict[str, float]:
    data = _fonts()
    widths = data["bold" if bold else "regular"]
    return {
        character: width / data["cap_height"]
        for character, width in zip(data["characters"], widths, strict=True)
    }


@cache
def _lettering() -> dict[str, float]:
    """Width of each character in technical lettering; as in the sheets' font where it has none."""
    data = _fonts()
    return {
        character: width / data["lettering_height"] if width else _advances(False)[character]
        for character, width in zip(data["characters"], data["lettering"], strict=True)
    }


@cache
def _widest(bold: bool) -> float:
    return max(_advances(bold).values())


def known(character: str) -> bool:
    """Whether the width table has the character."""
    return character in _advances(False)


def printable(text: str) -> str:
    """The text with a question mark for every character that the font cannot show.

    Examples
    --------
    >>> printable("Größe, улица, 道")
    'Größe, улица, ?'
    """
    return "".join(character if known(character) else "?" for character in text)


def text_width(text: str, height_mm: float, *, bold: bool = False) -> float:
    """Width of a line of text [mm] whose capitals are ``height_mm`` high.

    A character outside the table counts as the widest one, so that text never turns out
    wider than it was measured.

    Examples
    --------
    >>> round(text_width("BORE", 2.5), 2)
    9.6
    """
    return height_mm * _width(text, bold)


def room_width(text: str, height_mm: float, *, bold: bool = False) -> float:
    """Room for a line of text [mm], also in a drawing where it may be lettered.

    A program without the font of the sheets sets the drawing in the technical lettering of its own,
    some letters of which are wider. It may reach a little into the free paper beside every column.

    Examples
    --------
    >>> line = "20 ft away, 10 ft up to 50 kV, 25 to 45 ft"
    >>> round(text_width(line, 2.1), 1), round(room_width(line, 2.1), 1)
    (58.2, 62.7)
    """
    return max(height_mm * _width(text, bold), height_mm * _lettered(text) - HANG_MM)


@lru_cache(maxsize=16384)
def _width(text: str, bold: bool) -> float:
    """Width of a line of text in heights of a capital."""
    table, widest = _advances(bold), _widest(bold)
    return sum([table.get(character, widest) for character in text])


@lru_cache(maxsize=16384)
def _lettered(text: str) -> float:
    """Width of a line in technical lettering, in heights of a capital."""
    table, widest = _lettering(), _widest(False)
    # the gap behind the last letter is as free as the paper beside it
    return max(sum([table.get(character, widest) for character in text]) - LETTER_GAP, 0.0)


def text_depth(text: str) -> float:
    """How far the text reaches below its base line, in heights of a capital.

    Examples
    --------
    >>> text_depth("WELL"), text_depth("wall, pipe")
    (0.05, 0.33)
    """
    return DESCENT if _DESCENDING & set(text) else 0.05


@lru_cache(maxsize=4096)
def wrapped(text: str, width_mm: float, height_mm: float, *, bold: bool = False) -> tuple[str, ...]:
    """Lines with room in ``width_mm``; a word wider than that is broken.

    A figure stays with its unit, and what a no-break space joins stays together, as long as there
    is room for it in a line; that space is written as a plain one.

    Examples
    --------
    >>> wrapped("Locate buried utilities first", 30.0, 2.1)
    ('Locate buried', 'utilities first')
    >>> wrapped("stay at least 20 ft away", 25.0, 2.1)
    ('stay at least', '20 ft away')
    """
    lines: list[str] = []
    line = ""
    for word in BREAKABLE.split(_TOGETHER.sub(NO_BREAK, text)):
        for piece in _pieces(word, width_mm, height_mm, bold=bold):
            longer = f"{line} {piece}" if line else piece
            if not line or room_width(longer, height_mm, bold=bold) <= width_mm:
                line = longer
            else:
                lines.append(line)
                line = piece
    return tuple(written.replace(NO_BREAK, " ") for written in (*lines, line) if written)


def fitted(
    text: str, width_mm: float, heights_mm: Sequence[float], *, most: int = 2, bold: bool = False
) -> tuple[float, tuple[str, ...]]:
    """Height and lines of a text: the largest height that takes ``most`` lines, else the least.

    Nothing is cut: a text that is too long even at the least height takes more lines.

    Examples
    --------
    >>> fitted("one two three four five six", 22.0, (3.0, 2.1))
    (2.1, ('one two three', 'four five six'))
    """
    for height in heights_mm:
        lines = wrapped(text, width_mm, height, bold=bold)
        if len(lines) <= most:
            break
    return height, lines


def _pieces(word: str, width_mm: float, height_mm: float, *, bold: bool) -> list[str]:
    if NO_BREAK in word and room_width(word, height_mm, bold=bold) > width_mm:
        parts = word.split(NO_BREAK)
        return [piece for part in parts for piece in _pieces(part, width_mm, height_mm, bold=bold)]
    pieces = []
    while len(word) > 1 and room_width(word, height_mm, bold=bold) > width_mm:
        cut = len(word) - 1
        while cut > 1 and room_width(word[:cut], height_mm, bold=bold) > width_mm:
            cut -= 1
        pieces.append(word[:cut])
        word = word[cut:]
    return [*pieces, word]
