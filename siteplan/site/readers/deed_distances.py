"""The distance of a call of a deed, among the other numbers that stand in it.

A call names widths, sizes of pipes, lot and page numbers, and what is passed on the way. What could
be two distances is refused, and so is a number in words.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from siteplan.site.readers.deed_bearings import BEARING, CallError
from siteplan.units.lengths import DEED_LENGTHS, INCH
from siteplan.units.written import AMOUNT, number_in

_NUMBER: Final = rf"(?<![0-9/])(?<![0-9][.,])(?:[0-9]+\s+and\s+[0-9]+/[0-9]+|{AMOUNT})"
"""A number or a fraction, and no part of one whose comma does not separate thousands."""
_UNITS: Final = "|".join(
    re.escape(word) + (r"\b" if word[-1].isalpha() else "")
    for word in sorted(DEED_LENGTHS, key=len, reverse=True)
)
LENGTH: Final = re.compile(
    rf"(?P<value>{_NUMBER})(?:\s*\)?[\s-]*(?:of\s+an?\s+)?(?P<unit>{_UNITS})|\s*(?![A-Za-z]))",
    re.IGNORECASE,
)
"""A number with its unit or without one; a letter behind it, as in 10O, makes it none."""
_JOINT: Final = re.compile(r"\.?\s*[-–,&]?\s*(?:and\s+)?", re.IGNORECASE)
"""What stands between feet and inches, or chains and links."""
_WORDS: Final = (
    "one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|thirteen|fourteen|fifteen|"
    "sixteen|seventeen|eighteen|nineteen|twenty|thirty|forty|fifty|sixty|seventy|eighty|ninety|"
    "hundred|thousand|half|third|quarter|fourth|tenths|hundredths"
)
_IN_WORDS: Final = re.compile(
    rf"\b(?:{_WORDS})\b(?:[\s,-]+(?:and\s+)?(?:{_WORDS})\b)*[\s,-]*(?:and\s+)?(?:{AMOUNT}\s*)?"
    rf"(?:of\s+an?\s+)?(?:{_UNITS})",
    re.IGNORECASE,
)
_DIRECTLY: Final = re.compile(
    r"[\s,;:.(–-]*(?:(?:for|a|the|running|distance|of)\s+)*[\s,:(]*", re.IGNORECASE
)
"""What stands between a direction and its distance where nothing else does."""
_WIDTH: Final = re.compile(
    r"[\s-]*(?:wide|width|right[- ]of[- ]way|r\.?o\.?w|easement|strip|street|road|alley|lane|"
    r"avenue|drive\w*|buffer|setback|passage\w*|contour|offset)\b",
    re.IGNORECASE,
)
_TOTAL_BEFORE: Final = re.compile(
    r"(?:\b(?:total|whole|entire|full)\s+(?:distance|length)(?:\s+of)?|\bin\s+all|\bin\s+total)"
    r"[\s,:]*$",
    re.IGNORECASE,
)
_TOTAL_BEHIND: Final = re.compile(r"[\s,]*(?:in\s+all|in\s+total|altogether)\b", re.IGNORECASE)
_DISTANCE_OF: Final = re.compile(r"\bdistance\s+of[\s,:]*(?:about\s+)?\(?$", re.IGNORECASE)
_NAMED: Final = re.compile(
    r"(?:\b(?:lots?|no\.?|number|route|rte\.?|book|page|pg\.?|parcels?|block|plan|plat|tract|section|"
    r"sec\.?|highway|map|unit|volume|vol\.?|document|station|sta\.?)|#)\s*$",
    re.IGNORECASE,
)
"""What a number without a unit is the name of."""
_PASSED: Final = re.compile(r"\bat\s+(?:a\s+distance\s+of\s+)?$", re.IGNORECASE)
_ENDS: Final = re.compile(
    r"[\s)]*(?:$|[,;.(–-]|(?:to|and|more|along|by|on|with|in|from|as)\b)", re.IGNORECASE
)
_TELLS_WHERE: Final = re.compile(
    r"\b(?:bears|bearing|which\s+is|being|located|lies|lying|situated)\W*(?:\w+\W+){0,2}$",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Distance:
    """A distance as it is written.

    Parameters
    ----------
    metres
        [m].
    value, unit
        Number and unit as written; the unit is empty where none is written, and both where it is
        several terms or a fraction.
    start, end
        Where it stands in the words.
    marked
        Whether a unit is written.
    """

    metres: float
    value: str
    unit: str
    start: int
    end: int
    marked: bool


def distance_of(words: str, after: int, unit: str) -> Distance:
    """The distance of a call whose direction ends at ``after``.

    Parameters
    ----------
    words
        The call, with plain signs.
    unit
        Unit of a number that says none: a name of `DEED_LENGTHS`.

    Raises
    ------
    CallError
        There is none, it could be one of several, it stands in words, or another course follows.

    Examples
    --------
    >>> distance_of("East across a 20' lane 300'", 4, "ft").value
    '300'
    """
    told = list(_distances(words, after, unit))
    chosen = _chosen(words, after, told) if told else None
    joint = _JOINT.match(words, chosen.end) if chosen else None
    for match in _IN_WORDS.finditer(words, after):
        if joint is None or match.start() <= joint.end():
            raise CallError(f"“{match[0]}” stands in words: write it in figures")
    if chosen is None:
        raise CallError("no distance is found")
    if chosen.metres <= 0:
        raise CallError("its distance is zero")
    _one_course(words, chosen.end)
    return chosen


def terms_from(words: str, first: re.Match[str], unit: str) -> Distance:
    """The distance that begins with a number.

    Of chains and links, feet and inches, each unit is smaller than the one before; a fraction may
    have the same.
    """
    match: re.Match[str] | None = first
    last, metres, terms, end = math.inf, 0.0, 0, first.end()
    while match is not None:
        factor = DEED_LENGTHS[(match["unit"] or unit).lower()]
        fraction = factor == last and "/" in match["value"] and number_in(match["value"]) < 1
        if terms and (not match["unit"] or not (factor < last or fraction)):
            break
        metres += number_in(match["value"]) * factor
        last, terms, end = factor if match["unit"] else 0.0, terms + 1, match.end()
        joint = _JOINT.match(words, end)
        match = LENGTH.match(words, joint.end()) if joint else None
    plain = terms == 1 and "/" not in first["value"]
    value, told = (first["value"], (first["unit"] or unit).lower()) if plain else ("", "")
    return Distance(metres, value, told, first.start(), end, bool(first["unit"]))


def directly_behind(words: str, place: int) -> re.Match[str] | None:
    """The number that stands directly behind a place in the words, with its unit."""
    directly = _DIRECTLY.match(words, place)
    return LENGTH.match(words, directly.end()) if directly else None


def _distances(words: str, after: int, unit: str) -> Iterator[Distance]:
    """All distances behind a place, without sizes in inches of what stands at a corner."""
    match = LENGTH.search(words, after)
    while match is not None:
        distance = terms_from(words, match, unit)
        size = match["unit"] and DEED_LENGTHS[match["unit"].lower()] == INCH
        if not size:
            yield distance
        match = LENGTH.search(words, distance.end)


def _chosen(words: str, after: int, told: Sequence[Distance]) -> Distance:
    """The one that is the way to go."""
    totals = [
        each
        for each in told
        if _TOTAL_BEFORE.search(words[: each.start]) or _TOTAL_BEHIND.match(words, each.end)
    ]
    # a total counts what is passed on the way
    if len(totals) == 1:
        return totals[0]
    passed = [each for each in told if _PASSED.search(words[: each.start])]
    ways = [
        each
        for each in told
        if each not in passed
        and not _WIDTH.match(words, each.end)
        and (each.marked or not _NAMED.search(words[: each.start]))
    ]
    # nothing between bearing and number: surveyors write it so, and what follows tells of its end
    directly = directly_behind(words, after)
    if ways and directly and directly.start("value") == ways[0].start:
        return _with_known_unit(words, ways[0])
    # else the one that is called the distance, or the only one with a unit
    said = [each for each in ways if _DISTANCE_OF.search(words[: each.start])]
    marked = said[:1] or [each for each in ways if each.marked] or ways
    if not marked:
        raise CallError("no distance is found")
    sure = marked[0].marked and _ENDS.match(words, marked[0].end)
    if len(marked) > 1 and not sure:
        several = ", ".join(words[each.start : each.end].strip() for each in marked)
        raise CallError(f"which is its distance: {several}? Write that behind the bearing")
    return marked[0]


def _with_known_unit(words: str, first: Distance) -> Distance:
    """The distance directly behind the direction, unless something else than a unit follows it."""
    if first.marked or _ENDS.match(words, first.end):
        return first
    following = re.compile(r"\s*\S+").match(words, first.end)
    said = words[first.start : following.end() if following else first.end]
    raise CallError(f"“{said}”: such a unit is not read")


def _one_course(words: str, end: int) -> None:
    """Refuse a second course behind the distance; where something bears to is none."""
    match = BEARING.search(words, end)
    if match is None or _TELLS_WHERE.search(words[: match.start()]):
        return
    length = directly_behind(words, match.end())
    if length is not None:
        second = words[match.start() : length.end()].strip()
        raise CallError(f"holds a second course, “{second}”: begin it with “thence”")
