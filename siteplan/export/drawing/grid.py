"""Figures of a DXF file on a fixed grid, so that no last digit depends on the machine."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

PLACES: Final = (range(10, 40), range(110, 140), range(1010, 1040))
"""Group codes of coordinates and directions, by the DXF reference."""
SIZES: Final = (range(40, 60), range(140, 150), range(210, 240), range(460, 470), range(1040, 1060))
"""Group codes of other figures with a fraction."""
DECIMALS: Final = 9
"""Of a coordinate: a billionth of a unit."""
DIGITS: Final = 12
"""Of other figures in all: scales are multiplied by coordinates of millions of units."""
NOTHING: Final = 1e-12
"""Other figures no larger are what rounding leaves."""


def on_grid(text: str) -> str:
    r"""Text of a DXF file with its figures rounded.

    Examples
    --------
    >>> on_grid(" 10\n0.30000000000000004\n  1\n0.30000000000000004\n 50\n-1e-17\n")
    ' 10\n0.3\n  1\n0.30000000000000004\n 50\n0.0\n'
    """
    lines = text.split("\n")
    codes, values = lines[0::2], lines[1::2]
    lines[1::2] = _rounded(codes, values)
    return "\n".join(lines)


def _rounded(codes: list[str], values: list[str]) -> Iterator[str]:
    """Values of tags, those with a fraction rounded."""
    kinds = {code: True for codes in PLACES for code in codes}
    kinds |= {code: False for codes in SIZES for code in codes}
    for code, value in zip(codes, values, strict=False):
        is_place = kinds.get(int(code))
        # what has no more digits stays as it is written
        if is_place is None or not ("e" in value or ("." in value and len(value) > DECIMALS)):
            yield value
        elif is_place:
            yield repr(round(float(value), DECIMALS) + 0.0)
        else:
            figure = float(value)
            yield repr(float(f"{figure:.{DIGITS}g}") if abs(figure) > NOTHING else 0.0)
