"""Directions of a deed as they are written: bearings, azimuths, points of the compass.

What can be read in two ways is refused: two directions before the distance, a bearing of which
only the beginning is understood, two points of the compass beside each other.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from siteplan.units.written import number_in

_NUMBER: Final = r"\d+(?:\s+[1-9]/[1-9]|\.\d+)?"
_DEGREES: Final = r"(?:°|º|deg[a-z]*\.?)"
_MINUTES: Final = r"(?:'|min[a-z]*\.?)"
_SECONDS: Final = r"(?:\"|sec[a-z]*\.?)"
_ANGLE: Final = (
    rf"(?P<deg>{_NUMBER})\s*(?:{_DEGREES}|d\b|-|,|\s)?\s*"
    rf"(?:(?P<min>{_NUMBER})\s*(?:{_MINUTES}|m\b|-|,|\s)?\s*)?"
    rf"(?:(?:and\s+)?(?P<sec>{_NUMBER})\s*(?:{_SECONDS}|s\b)?\s*)?"
)
MARKED_ANGLE: Final = (
    rf"(?P<deg>{_NUMBER})(?:-(?P<min>{_NUMBER})(?:-(?P<sec>{_NUMBER}))?"
    rf"|\s*{_DEGREES}\s*(?:(?P<minute>{_NUMBER})\s*{_MINUTES}\s*"
    rf"(?:(?P<second>{_NUMBER})\s*{_SECONDS})?)?)?"
)
"""Angle without a letter behind it: a blank ends it, unless the words say what comes."""
_NORTH_SOUTH: Final = r"\b(?P<ns>N(?:orth|\.)?|S(?:outh|\.)?)"
_EAST_WEST: Final = r"(?P<ew>E(?:ast|\.)?|W(?:est|\.)?)(?![a-z])"
BEARING: Final = re.compile(rf"{_NORTH_SOUTH}\s*{_ANGLE}{_EAST_WEST}", re.IGNORECASE)
AZIMUTH: Final = re.compile(rf"\b(?:azimuth|az\.?)\s*(?:of\s*)?{MARKED_ANGLE}", re.IGNORECASE)
_HALF_READ: Final = re.compile(
    rf"{_NORTH_SOUTH}\s*\d[\d\s.,/:°º'\"-]*"
    rf"(?:(?:{_DEGREES}|{_MINUTES}|{_SECONDS}|[dms]\b|and\b)[\d\s.,/:°º'\"-]*)*{_EAST_WEST}",
    re.IGNORECASE,
)
"""What is written as a bearing is, and is none."""
CARDINAL: Final = re.compile(
    r"(?<!\bthe\s)(?<![-'.\w])(?:due\s+)?(?P<way>North|South|East|West|N|S|E|W)\b\.?(?!-)"
    r"(?!\s*(?:line|side|corner|boundary|edge|bank|shore|margin|half|end)\b)"
    rf"(?!\s*\d+\s*{_DEGREES})",
    re.IGNORECASE,
)
"""A point of the compass to go to; not the name of a line, a side or a corner."""
_BETWEEN: Final = re.compile(
    r"[\s.-]*(?:by\s+)?(?:north|south|east|west|[NSEW]\b)[a-z]*", re.IGNORECASE
)
"""What makes two points of the compass out of one: North by East."""
WAYS: Final = {"N": 0.0, "E": 90.0, "S": 180.0, "W": 270.0}


class CallError(ValueError):
    """A call that cannot be read: what is missing or contradicts."""


@dataclass(frozen=True, slots=True)
class Direction:
    """Where a call goes.

    Parameters
    ----------
    azimuth_deg
        Clockwise from north [deg].
    angle
        Degrees, minutes and seconds as written; empty where a point of the compass says it.
    quadrant
        North or south, east or west, as written; empty where an azimuth or the compass says it.
    end
        Where in the words what comes after it begins.
    """

    azimuth_deg: float
    angle: tuple[float, ...]
    quadrant: str
    end: int


def direction_of(words: str) -> Direction:
    """The direction of a call, from its words with plain signs.

    Raises
    ------
    CallError
        There is none, or it can be read in two ways.

    Examples
    --------
    >>> direction_of("along the lane S 45 1/2 W 10 rods").azimuth_deg
    225.5
    >>> direction_of("West along the North line 10 rods").azimuth_deg
    270.0
    """
    match = BEARING.search(words)
    half = _HALF_READ.search(words)
    if half and (match is None or half.start() < match.start()):
        raise CallError(f"“{half[0].strip()}”: such a bearing is not read")
    if match:
        return _bearing(match)
    match = AZIMUTH.search(words)
    if match:
        angle, parts = angle_of(match)
        if angle > 360.0:
            raise CallError(f"“{match[0].strip()}”: an azimuth has at most 360 degrees")
        return Direction(angle % 360.0, parts, "", match.end())
    return _cardinal(words)


def has_direction(words: str) -> bool:
    """Whether some direction is written, however."""
    patterns = (BEARING, _HALF_READ, AZIMUTH, CARDINAL)
    return any(pattern.search(words) for pattern in patterns)


def angle_of(match: re.Match[str]) -> tuple[float, tuple[float, ...]]:
    """Degrees of an angle, and its parts as written.

    Raises
    ------
    CallError
        60 minutes or seconds or more.
    """
    said = match.groupdict()
    texts = [said["deg"], said["min"] or said.get("minute"), said["sec"] or said.get("second")]
    parts = tuple(number_in(text) for text in texts if text)
    if any(part >= 60.0 for part in parts[1:]):
        raise CallError(f"“{match[0].strip()}”: minutes and seconds are less than 60")
    return sum(part / 60.0**power for power, part in enumerate(parts)), parts


def _bearing(match: re.Match[str]) -> Direction:
    angle, parts = angle_of(match)
    if angle > 90.0:
        raise CallError(f"“{match[0].strip()}”: a bearing has at most 90 degrees")
    north, east = match["ns"][0].upper(), match["ew"][0].upper()
    azimuth = angle if north == "N" else 180.0 - angle
    azimuth = azimuth if east == "E" else -azimuth
    return Direction(azimuth % 360.0, parts, north + east, match.end())


def _cardinal(words: str) -> Direction:
    """The first point of the compass, unless another stands beside it."""
    match = CARDINAL.search(words)
    if match is None:
        raise CallError("no bearing is found")
    beside = _BETWEEN.match(words, match.end())
    if beside:
        said = words[match.start() : beside.end()]
        raise CallError(f"“{said}”: two points of the compass are not read; write degrees")
    way = match["way"][0].upper()
    other = CARDINAL.search(words, match.end())
    between = words[match.end() : other.start()] if other else "0"
    if other and other["way"][0].upper() != way and not re.search(r"\d", between):
        raise CallError(f"has two directions, “{match[0]}” and “{other[0]}”")
    return Direction(WAYS[way], (), "", match.end())
