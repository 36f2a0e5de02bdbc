"""Calls of a deed as they are written: bearings, distances in old units, curves."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from siteplan.geometry.traverse import CircularCurve, Leg
from siteplan.site.readers.deed_bearings import (
    AZIMUTH,
    BEARING,
    CARDINAL,
    MARKED_ANGLE,
    CallError,
    angle_of,
    direction_of,
    has_direction,
)
from siteplan.site.readers.deed_distances import LENGTH, directly_behind, distance_of, terms_from
from siteplan.units.lengths import FOOT
from siteplan.units.written import plain_signs

CURVE: Final = re.compile(r"\bcurve\b", re.IGNORECASE)
POINT_OF_CURVE: Final = re.compile(
    r"\b(?:point|beginning|start|end)\s+of\s+"
    r"(?:(?:a|the|said|tangent|non-?tangent|reverse|compound)\s+)*curve\b",
    re.IGNORECASE,
)
"""Where a line ends that is no curve itself."""
TURN: Final = re.compile(r"\b(?P<turn>left|right)\b", re.IGNORECASE)
PARTS: Final = {
    "radius": re.compile(rf"\b(?:radius\s*(?:of|=|:)?|R\s*=)\s*{LENGTH.pattern}", re.IGNORECASE),
    "arc": re.compile(
        rf"(?:\barc(?:\s+(?:length|distance))?\s*(?:of|=|:)?|\b[AL]\s*=|"
        rf"(?<!chord\s)(?<!radial\s)\bdistance\s+of)\s*{LENGTH.pattern}",
        re.IGNORECASE,
    ),
    "chord": re.compile(
        rf"\b(?:chord(?:\s+(?:length|distance))?\s*(?:of|=|:)?|(?:CH?|LC|CD)\s*=)\s*"
        rf"{LENGTH.pattern}",
        re.IGNORECASE,
    ),
    "delta": re.compile(
        rf"(?:(?:central\s+angle|delta)\s*(?:of|=|:)?|(?:Δ|∆|\bD)\s*=)\s*{MARKED_ANGLE}",
        re.IGNORECASE,
    ),
}  # fmt: skip
CHORD_BEARING: Final = re.compile(
    r"(?:\bchord\s+(?:of\s+which\s+|which\s+)?(?:bearing|bears|course)\b|\b(?:CB|CHB)\b)[\s,:=]*",
    re.IGNORECASE,
)
NOT_TANGENT: Final = re.compile(r"\bnon-?\s?tangent\b", re.IGNORECASE)
AGREE: Final = 1e-3
"""What the parts of a curve may contradict one another, as a share of the radius."""
THENCE: Final = re.compile(r"\bthence\b[\s,;:]*", re.IGNORECASE)
BREAK: Final = re.compile(r"(?P<mark>[;,\n])\s*(?:\d+[.):]\s+)?")
"""What may stand before a call that no "thence" leads in, with the number of the call."""


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
    """The calls of a paragraph: what stands behind each "thence".

    What stands before the first "thence" tells where the description begins, and is no call. Where
    none is written, calls stand between semicolons, line by line or between commas.

    Examples
    --------
    >>> split_calls("Beginning at a pin; thence N 10 E 100 feet to a pin; thence East 50 ft.")
    ['N 10 E 100 feet to a pin', 'East 50 ft.']
    >>> split_calls("N 10 E 100 ft to a pin, East 50 ft")
    ['N 10 E 100 ft to a pin', 'East 50 ft']
    """
    _, *told = THENCE.split(text)
    parts = [part.strip(" ;,\n\t") for part in told or _without_thence(text)]
    courses = [number for number, part in enumerate(parts) if _is_course(part)]
    if not courses:
        return []
    within = parts if told else parts[courses[0] : courses[-1] + 1]
    return [part for part in within if _is_course(part) or _has_length(part)]


def _is_course(part: str) -> bool:
    plain = plain_signs(part)
    return bool(CURVE.search(plain)) or (has_direction(plain) and bool(LENGTH.search(plain)))


def _has_length(part: str) -> bool:
    return any(match["unit"] for match in LENGTH.finditer(plain_signs(part)))


def _without_thence(text: str) -> list[str]:
    """Pieces that begin behind a semicolon, or with a bearing behind a line's end or a comma."""
    plain, pieces, start = plain_signs(text), [], 0
    for found in BREAK.finditer(plain):
        at = found.end()
        led = BEARING.match(plain, at) or AZIMUTH.match(plain, at) or CARDINAL.match(plain, at)
        # East is a direction before a length alone: the east line of a road is none
        if found["mark"] == ";" or (led and directly_behind(plain, led.end())):
            pieces.append(plain[start : found.start()])
            start = at
    return [*pieces, plain[start:]]


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
    if CURVE.search(POINT_OF_CURVE.sub("", plain)):
        return replace(_curve(plain, unit, before), words=words)
    way = direction_of(plain)
    far = distance_of(plain, way.end, unit)
    course = Leg(way.azimuth_deg, far.metres)
    return Call(words, course, way.angle, way.quadrant, far.value, far.unit)


def _curve(words: str, unit: str, before: Leg | None) -> Call:
    turn = TURN.search(words)
    if turn is None:
        raise CallError("the curve does not say whether it turns left or right")
    azimuth, chord_at = _chord(words)
    parts = {name: match for name, pattern in PARTS.items() if (match := pattern.search(words))}
    lengths = {
        name: terms_from(words, match, unit).metres
        for name, match in parts.items()
        if name != "delta" and match.start("value") != (chord_at and chord_at.start("value"))
    }
    if chord_at is not None:
        lengths.setdefault("chord", terms_from(words, chord_at, unit).metres)
    delta = math.radians(angle_of(parts["delta"])[0]) if "delta" in parts else None
    radius, delta = solved_curve(lengths, delta)
    side = 1.0 if turn["turn"].lower() == "right" else -1.0
    curve = CircularCurve(radius, side * math.degrees(delta))
    if azimuth is None:
        azimuth = _tangent_chord(words, curve, before)
    return Call(words, Leg(azimuth, curve.chord_m, curve))


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


def _chord(words: str) -> tuple[float | None, re.Match[str] | None]:
    """Azimuth of the chord of a curve as written [deg], and the length directly behind it."""
    quadrant, told = BEARING.search(words), CHORD_BEARING.search(words)
    if quadrant is None and told is None:
        return None, None
    begin = told.end() if told is not None else quadrant.start() if quadrant is not None else 0
    way = direction_of(words[begin:])
    return way.azimuth_deg, directly_behind(words, begin + way.end)


def _tangent_chord(words: str, curve: CircularCurve, before: Leg | None) -> float:
    """Azimuth of the chord as the curve goes on from the course before [deg]."""
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
