"""Figures in texts, compared."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from siteplan.sheet.style.formats import short_mark
from siteplan.units.lengths import parse_length
from siteplan.units.model import UnitSystem
from siteplan.units.written import UnitError

NUMBER: Final = re.compile(r"\d[\d,]*(?:\.\d+)?")


@dataclass(frozen=True, slots=True)
class Rounding:
    """What rounded words may explain: the unit [m], and what lengths read may lack [m]."""

    unit_m: float
    lacking_m: float


def unit_rounding(unit: UnitSystem, lacking_m: float) -> Rounding:
    """Rounding of a drawing whose lengths, read from words, lack so much together [m]."""
    return Rounding(unit.metres, lacking_m)


def figures(text: str) -> list[str]:
    """Every figure of a text, as it is written.

    Examples
    --------
    >>> figures("2 BORES × 300 ft = 1,200.5 ft")
    ['2', '300', '1,200.5']
    """
    return NUMBER.findall(text)


def figure(text: str) -> float | None:
    """The first figure of a text; None where it has none.

    Examples
    --------
    >>> figure("-1,250.00'"), figure("ring")
    (-1250.0, None)
    """
    number = NUMBER.search(text)
    if number is None:
        return None
    below = text[: number.start()].endswith(("-", "−"))
    return -_value(number[0]) if below else _value(number[0])


def length_in(text: str, unit: UnitSystem) -> float | None:
    """Length written in a text; None where it has none that can be read [m].

    Examples
    --------
    >>> from siteplan.units.systems import US
    >>> length_in("10'", US), length_in("deep", US)
    (3.048, None)
    """
    try:
        return parse_length(text, unit.name) if text else None
    except UnitError:
        return None


def length_said(text: str, expected_m: float, unit: UnitSystem) -> float:
    """Length written in a drawing; what the site file says where that is it, rounded [m].

    The site's own length where no text, or none that can be read, is there.
    """
    if text == short_mark(expected_m, unit, rounding="down"):
        return expected_m
    length_m = length_in(text, unit)
    return expected_m if length_m is None else length_m


def alike(said: str, wanted: str, rounding: Rounding) -> bool:
    """Whether a text says what is wanted; where lengths read were rounded, to the last decimal."""
    if said == wanted:
        return True
    return NUMBER.sub("#", said) == NUMBER.sub("#", wanted) and same_figures(said, wanted, rounding)


def same_figures(said: str, wanted: str, rounding: Rounding) -> bool:
    """Whether two texts have the same figures in the same order, whatever stands between them.

    Examples
    --------
    >>> from siteplan.units.systems import US
    >>> same_figures("TRENCH 12.5 ft", "12.5 ft of trench", unit_rounding(US, 0.0))
    True
    """
    figures_said, other = figures(said), figures(wanted)
    return len(figures_said) == len(other) and all(
        abs(_value(left) - _value(right)) <= _slack(right, rounding)
        for left, right in zip(figures_said, other, strict=True)
    )


def _value(text: str) -> float:
    return float(text.replace(",", ""))


def _slack(text: str, rounding: Rounding) -> float:
    """What two figures may differ by: nothing, unless lengths were read from rounded words."""
    if rounding.lacking_m == 0.0:
        return 1e-9
    decimals = len(text.partition(".")[2])
    return float(10.0**-decimals + 2 * rounding.lacking_m / rounding.unit_m)
