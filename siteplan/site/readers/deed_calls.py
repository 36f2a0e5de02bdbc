"""Calls of a deed as they are written: bearings, distances in old units, curves."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from siteplan.geometry.traverse import CircularCurve, Leg
from siteplan.units.lengths import DEED_LENGTHS, FOOT
from siteplan.units.written import AMOUNT, number_in, plain_signs

NUMBER: Final = rf"(?<![0-9/])(?<![0-9][.,]){AMOUNT}"
"""A number or a fraction, and no part of one whose comma does not separate thousands."""
ANGLE: Final = (
    r"(?P<deg>\d+(?:\.\d+)?)\s*(?:°|º|deg(?:rees|\.)?|d\b|-|\s)?\s*"
    r"(?:(?P<min>\d+(?:\.\d+)?)\s*(?:'|’|′|min(?:utes|\.)?|m\b|-|\s)?\s*)?"
    r"(?:(?P<sec>\d+(?:\.\d+)?)\s*(?:\"|”|″|''|sec(?:onds|\.)?|s\b)?\s*)?"
)
MARKED_ANGLE: Final = (
    r"(?P<deg>\d+(?:\.\d+)?)(?:"
    r"-(?P<min>\d+(?:\.\d+)?)(?:-(?P<sec>\d+(?:\.\d+)?))?"
    r"|\s*(?:°|º|deg(?:rees|\.)?)\s*(?:(?P<minute>\d+(?:\.\d+)?)\s*(?:'|’|′|min(?:utes|\.)?)\s*"
    r"(?:(?P<second>\d+(?:\.\d+)?)\s*(?:\"|”|″|''|sec(?:onds|\.)?))?)?)?"
)
"""Angle without a letter behind it: a blank ends it, unless the words say what comes."""
BEARING: Final = re.compile(
    rf"\b(?P<ns>N(?:orth|\.)?|S(?:outh|\.)?)\s*{ANGLE}(?P<ew>E(?:ast|\.)?|W(?:est|\.)?)(?![a-z])",
    re.IGNORECASE,
)
CARDINAL: Final = re.compile(
    r"\b(?:due\s+)?(?P<way>North|South|East|West|N|S|E|W)\b\.?(?!\s*\d+\s*(?:°|-|deg))",
    re.IGNORECASE,
)
AZIMUTH: Final = re.compile(rf"\b(?:azimuth|az\.?)\s*(?:of\s*)?{MARKED_ANGLE}", re.IGNORECASE)
_UNIT_WORDS: Final = "|".join(
    re.escape(word) + (r"\b" if word[-1].isalpha() else "")
    for word in sorted(DEED_LENGTHS, key=len, reverse=True)
)
LENGTH: Final = re.compile(
    rf"(?P<value>{NUMBER})\s*(?:(?P<unit>{_UNIT_WORDS})|(?![A-Za-z]))", re.IGNORECASE
)
"""A number with its unit or without one; a letter behind it, as in 10O, makes it none."""
JOINT: Final = re.compile(r"\.?\s*[-–,&]?\s*(?:and\s+)?", re.IGNORECASE)
"""What stands between feet and inches, or chains and links."""
CURVE: Final = re.compile(r"\bcurve\b", re.IGNORECASE)
TURN: Final = re.compile(r"\b(?P<turn>left|right)\b", re.IGNORECASE)
PARTS: Final = {
    "radius": re.compile(rf"radius\s*(?:of|=|:)?\s*{LENGTH.pattern}", re.IGNORECASE),
    "arc": re.compile(
        rf"\barc(?:\s+(?:length|distance))?\s*(?:of|=|:)?\s*{LENGTH.pattern}", re.IGNORECASE
    ),
    "chord": re.compile(
        rf"chord(?:\s+(?:length|distance))?\s*(?:of|=|:)?\s*{LENGTH.pattern}", re.IGNORECASE
    ),
    "delta": re.compile(
        rf"(?:central\s+angle|delta)\s*(?:of|=|:)?\s*{MARKED_ANGLE}", re.IGNORECASE
    ),
}  # fmt: skip
CHORD_BEARING: Final = re.compile(r"\bchord\s+(?:bearing|bears|course)\b[\s,:=]*", re.IGNORECASE)
NOT_TANGENT: Final = re.compile(r"\bnon-?\s?tangent\b", re.IGNORECASE)
AGREE: Final = 1e-3
"""What the parts of a curve may contradict one another, as a share of the radius."""
THENCE: Final = re.compile(r"\bthence\b[\s,;:]*", re.IGNORECASE)
WAYS: Final = {"N": 0.0, "E": 90.0, "S": 180.0, "W": 270.0}


class CallError(ValueError):
    """A call that cannot be read: what is missing or contradicts."""


@dataclass(frozen=True, slots=True)
class Call:
    """A call as it is written and as it is meant.

    Parameters
    ----------
    words
        As it is written.
    course
        What it says.
    angle
        Degrees, minutes and seconds as written; empty where a point of the compass says it.
    quadrant
        North or south, east or west, as written; empty where an azimuth or the compass says it.
    length
        The number written for the length of a line; empty of a curve or of several units.
    unit
        Name of its unit.
    """

    words: str
    course: Leg
    angle: tuple[float, ...] = ()
    quadrant: str = ""
    length: str = ""
    unit: str = ""


def split_calls(text: str) -> list[str]:
    """The calls of a paragraph: what stands behind each "thence", or between semicolons.

    What stands before the first "thence" tells where the description begins, and is no call.

    Examples
    --------
    >>> split_calls("Beginning at a pin; thence N 10 E 100 feet to a pin; thence East 50 ft.")
    ['N 10 E 100 feet to a pin', 'East 50 ft.']
    """
    told = THENCE.split(text)[1:] or text.split(";")
    parts = [part.strip(" ;,\n\t") for part in told]
    return [part for part in parts if _has_direction(part)]


def _has_direction(part: str) -> bool:
    if CURVE.search(part):
        return True
    found = BEARING.search(part) or AZIMUTH.search(part) or CARDINAL.search(part)
    return bool(found and LENGTH.search(part, found.end()))


def read_call(words: str, unit: str, before: Leg | None = None) -> Call:
    """A call, after the course that comes before it.

    Parameters
    ----------
    words
        Such as ``N 45°30'15" E 123.45 feet``.
    unit
        Unit of a length that says none: a name of `DEED_LENGTHS`.
    before
        The course before, that a tangent curve goes on from.

    Raises
    ------
    CallError
        No direction, no length, a curve with too few parts, or parts that contradict.

    Examples
    --------
    >>> call = read_call("S 10 W, 2 chains 50 links", "ft")
    >>> call.course.azimuth_deg, round(call.course.length_m / 0.3048, 6)
    (190.0, 165.0)
    """
    plain = plain_signs(words)
    if CURVE.search(plain):
        return replace(_curve(plain, unit, before), words=words)
    azimuth, angle, quadrant, rest = _direction(plain)
    metres, written, named = _length(rest, unit)
    return Call(words, Leg(azimuth, metres), angle, quadrant, written, named)


def _direction(words: str) -> tuple[float, tuple[float, ...], str, str]:
    """Azimuth, its angle and quadrant as written, and what stands behind it."""
    match = BEARING.search(words)
    if match:
        angle, parts = _angle(match)
        if angle > 90.0:
            raise CallError(f"“{match[0].strip()}”: a bearing has at most 90 degrees")
        north, east = match["ns"][0].upper(), match["ew"][0].upper()
        azimuth = angle if north == "N" else 180.0 - angle
        azimuth = azimuth if east == "E" else -azimuth
        return azimuth % 360.0, parts, north + east, words[match.end() :]
    match = AZIMUTH.search(words)
    if match:
        angle, parts = _angle(match)
        if angle > 360.0:
            raise CallError(f"“{match[0].strip()}”: an azimuth has at most 360 degrees")
        return angle % 360.0, parts, "", words[match.end() :]
    match = CARDINAL.search(words)
    if match:
        return WAYS[match["way"][0].upper()], (), "", words[match.end() :]
    raise CallError("no bearing is found")


def _angle(match: re.Match[str]) -> tuple[float, tuple[float, ...]]:
    """Degrees of an angle, and its parts as written."""
    said = match.groupdict()
    texts = [said["deg"], said["min"] or said.get("minute"), said["sec"] or said.get("second")]
    parts = tuple(float(text) for text in texts if text)
    if any(part >= 60.0 for part in parts[1:]):
        raise CallError(f"“{match[0].strip()}”: minutes and seconds are less than 60")
    return sum(part / 60.0**power for power, part in enumerate(parts)), parts


def _length(rest: str, unit: str) -> tuple[float, str, str]:
    """Length [m], and its number and unit as written where it is one number."""
    first = LENGTH.search(rest)
    if first is None:
        raise CallError("no distance is found")
    metres, alone = _terms(rest, first, unit)
    if metres <= 0:
        raise CallError("its distance is zero")
    plain = alone and "/" not in first["value"]
    return metres, first["value"] if plain else "", (first["unit"] or unit).lower() if plain else ""


def _terms(text: str, first: re.Match[str], unit: str) -> tuple[float, bool]:
    """Length that begins with a number [m]; whether that is all of it.

    Of chains and links, feet and inches, each unit is smaller than the one before.
    """
    match: re.Match[str] | None = first
    last, metres, terms = math.inf, 0.0, 0
    while match is not None:
        factor = DEED_LENGTHS[(match["unit"] or unit).lower()]
        if terms and (not match["unit"] or factor >= last):
            break
        metres += number_in(match["value"]) * factor
        last, terms = factor if match["unit"] else 0.0, terms + 1
        joint = JOINT.match(text, match.end())
        match = LENGTH.match(text, joint.end()) if joint else None
    return metres, terms == 1


def _curve(words: str, unit: str, before: Leg | None) -> Call:
    turn = TURN.search(words)
    if turn is None:
        raise CallError("the curve does not say whether it turns left or right")
    parts = {name: match for name, pattern in PARTS.items() if (match := pattern.search(words))}
    lengths = {
        name: _terms(words, match, unit)[0] for name, match in parts.items() if name != "delta"
    }
    delta = math.radians(_angle(parts["delta"])[0]) if "delta" in parts else None
    radius, delta = solved_curve(lengths, delta)
    side = 1.0 if turn["turn"].lower() == "right" else -1.0
    curve = CircularCurve(radius, side * math.degrees(delta))
    return Call(words, Leg(_chord_azimuth(words, curve, before), curve.chord_m, curve))


def solved_curve(lengths: dict[str, float], delta: float | None) -> tuple[float, float]:
    """Radius [m] and central angle [rad] of a curve from any two of its parts.

    Raises
    ------
    CallError
        Fewer than two parts, or more that contradict one another.

    Examples
    --------
    >>> radius, delta = solved_curve({"arc": 157.07963, "chord": 141.42136}, None)
    >>> round(radius, 3), round(math.degrees(delta), 3)
    (100.0, 90.0)
    """
    radius, arc, chord = (lengths.get(name) for name in ("radius", "arc", "chord"))
    if sum(part is not None for part in (radius, arc, chord, delta)) < 2:
        raise CallError("a curve needs two of radius, arc, central angle and chord")
    if radius is None and delta is None:
        delta = _delta_of(arc or 0.0, chord or 0.0)
    if delta is None:
        assert radius is not None
        delta = arc / radius if arc is not None else 2 * math.asin(_sine(chord or 0.0, radius))
    if radius is None:
        radius = arc / delta if arc is not None else (chord or 0.0) / (2 * math.sin(delta / 2))
    for name, given, meant in (
        ("arc", arc, radius * delta),
        ("chord", chord, 2 * radius * math.sin(delta / 2)),
    ):
        if given is not None and abs(given - meant) > AGREE * radius:
            raise CallError(
                f"the {name} of the curve contradicts its other parts by "
                f"{abs(given - meant) / FOOT:.2f} ft"
            )
    return radius, delta


def _sine(chord: float, radius: float) -> float:
    if chord > 2 * radius:
        raise CallError("the chord of the curve is longer than its diameter")
    return chord / (2 * radius)


def _delta_of(arc: float, chord: float) -> float:
    """Central angle of an arc over a chord [rad]: chord / arc = sin(delta / 2) / (delta / 2)."""
    if not 0 < chord < arc:
        raise CallError("the arc of the curve is not longer than its chord")
    from scipy.optimize import brentq  # noqa: PLC0415

    def off(delta: float) -> float:
        return math.sin(delta / 2) / (delta / 2) - chord / arc

    return float(brentq(off, 1e-9, 2 * math.pi - 1e-9))


def _chord_azimuth(words: str, curve: CircularCurve, before: Leg | None) -> float:
    """Azimuth of the chord: as written, else as the curve goes on from the course before [deg]."""
    quadrant, told = BEARING.search(words), CHORD_BEARING.search(words)
    if quadrant:
        return _direction(quadrant[0])[0]
    if told:
        return _direction(words[told.end() :])[0]
    if NOT_TANGENT.search(words):
        raise CallError("a curve that is not tangent needs the bearing of its chord")
    if before is None:
        raise CallError("a curve at the beginning needs the bearing of its chord")
    return (before.end_deg + curve.delta_deg / 2) % 360.0


def read_calls(texts: Sequence[str], unit: str) -> tuple[list[Call], list[tuple[int, str]]]:
    """Calls in turn, and the faults of those that cannot be read, by number from 1."""
    calls: list[Call] = []
    faults: list[tuple[int, str]] = []
    for number, words in enumerate(texts, start=1):
        try:
            calls.append(read_call(words, unit, calls[-1].course if calls else None))
        except CallError as error:
            faults.append((number, str(error)))
    return calls, faults
