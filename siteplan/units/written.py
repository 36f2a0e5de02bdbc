"""Numbers and quantities as people write them: commas, fractions, feet and inches.

What can be read in two ways is refused: a comma that does not separate thousands (12,5 m), a second
number without its unit (12' 6), units that do not grow smaller (5 ft 3 ft).
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Final

_WHOLE: Final = r"(?:[0-9]{1,3}(?:,[0-9]{3})+|[0-9]+)"
NUMBER: Final = rf"(?:{_WHOLE}(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?(?![0-9]|[.,][0-9])"
"""Pattern of a number without its sign; commas separate thousands, and nothing else."""
FRACTION: Final = r"(?:[0-9]+(?:\s+|\s*-\s*))?[0-9]+/[0-9]+(?![0-9]|[.,/][0-9])"
"""Pattern of a fraction, as in 6 1/2 or 6-1/2."""
AMOUNT: Final = rf"(?:{FRACTION}|{NUMBER})"
FEET_SIGNS: Final = "'’′"
INCH_SIGNS: Final = '"”″'
JOINT: Final = r"\s*[-–,]?\s*"
"""What stands between feet and inches."""

_SIGNS: Final = str.maketrans(
    dict.fromkeys(FEET_SIGNS, "'")
    | dict.fromkeys(INCH_SIGNS, '"')
    | {"−": "-", "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "²": "2", "³": "3"}
)
_SIGN: Final = re.compile(r"\s*([+-]?)\s*")
_UNIT: Final = r"'|\"|[A-Za-z]+(?:[23](?![0-9.A-Za-z]))?(?:/[A-Za-z]+)?"
_TERM: Final = re.compile(rf"({AMOUNT})\s*(?:({_UNIT})\.?)?")
_SINGLE: Final = re.compile(rf"\s*([+-]?)\s*({AMOUNT})\s*([^\d\s.,/].*?)\s*")
_JOINT: Final = re.compile(rf"{JOINT}(?=[0-9.])")
_BARE: Final = re.compile(rf"\s*[+-]?\s*{AMOUNT}\s*")
_COMMA: Final = re.compile(r"[0-9],[0-9]")


class UnitError(ValueError):
    """A quantity that cannot be read; the message says what was expected."""


def plain_signs(text: str) -> str:
    r"""A text with the plain signs of feet, inches, minus and fractions.

    Examples
    --------
    >>> plain_signs("12’ 6½″"), plain_signs("9''")
    ('12\' 6 1/2"', '9"')
    """
    return text.translate(_SIGNS).replace("''", '"')


def number_in(written: str) -> float:
    """Value of a number or a fraction without its sign.

    Examples
    --------
    >>> number_in("1,100.5"), number_in("6 1/2"), number_in("6-1/2"), number_in("3/4")
    (1100.5, 6.5, 6.5, 0.75)
    """
    if "/" not in written:
        return float(written.replace(",", ""))
    *whole, over, under = map(float, re.findall(r"[0-9]+", written))
    return sum(whole) + (over / under if under else math.inf)


def parse_terms(value: object, table: Mapping[str, float], bare: str, expected: str) -> float:
    """Sum of the terms of a quantity, its units by a table.

    ``bare`` is the unit of a number that stands alone without one; none may if it is empty.

    Raises
    ------
    UnitError
        It is not what is expected, or can be read in two ways.

    Examples
    --------
    >>> units = {"'": 12.0, "in": 1.0}
    >>> parse_terms("12'-6 in", units, "", "a length"), parse_terms("-5 1/2 in", units, "", "")
    (150.0, -5.5)
    """
    if isinstance(value, bool) or not isinstance(value, (str, int, float)):
        raise UnitError(f"{value!r} is not {expected}.")
    text = plain_signs(str(value)).strip()
    sign = _SIGN.match(text)
    position = sign.end() if sign else 0
    total, factor = 0.0, math.inf
    while position < len(text) or factor == math.inf:
        match = _TERM.match(text, position)
        if match is None:
            raise UnitError(_why_not(value, expected))
        alone = factor == math.inf and match.end() == len(text)
        unit = (match[2] or (bare if alone else "")).lower()
        if unit not in table:
            raise UnitError(f"{value!r} has {_unit_told(match, alone=alone)}; write {expected}.")
        if table[unit] >= factor:
            raise UnitError(f"{value!r} has its units out of order; write {expected}.")
        factor = table[unit]
        total += number_in(match[1]) * factor
        joint = _JOINT.match(text, match.end())
        position = joint.end() if joint else match.end()
    if not math.isfinite(total):
        raise UnitError(f"{value!r} is not {expected}.")
    return -total if sign and sign[1] == "-" else total


def _unit_told(term: re.Match[str], *, alone: bool) -> str:
    """What stands in place of a unit that is known; ``alone``: the number is all there is."""
    if term[2]:
        return f"unit {term[2]!r}"
    return "no unit" if alone else f"no unit behind {term[1]}"


def split_quantity(value: object, units: Mapping[str, float], expected: str) -> tuple[float, str]:
    """Number and unit of a quantity with one number.

    Raises
    ------
    UnitError
        It is not what is expected.
    """
    match = _SINGLE.fullmatch(plain_signs(value)) if isinstance(value, str) else None
    if match is None:
        raise UnitError(_why_not(value, expected))
    unit = re.sub(r"[\s\-·*]+", ".", match[3].replace("°", "").lower()).rstrip(".")
    if unit not in units:
        raise UnitError(f"{value!r} has unit {match[3]!r}; write {expected}.")
    number = number_in(match[2])
    if not math.isfinite(number):
        raise UnitError(f"{value!r} is not {expected}.")
    return (-number if match[1] == "-" else number), unit


def _why_not(value: object, expected: str) -> str:
    """Why a quantity is not understood."""
    bare = isinstance(value, str) and _BARE.fullmatch(value)
    if bare or (isinstance(value, (int, float)) and not isinstance(value, bool)):
        return f"{value!r} has no unit; write {expected}."
    if isinstance(value, str) and _COMMA.search(value):
        return f"{value!r} has a comma that does not separate thousands; write {expected}."
    return f"{value!r} is not {expected}."
