"""Which call of a deed that does not close may be a slip: of the pen, the eye, or the unit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from siteplan.geometry.traverse import Leg, closure_of
from siteplan.site.readers.deed_bearings import CallError
from siteplan.site.readers.deed_calls import Call, read_call
from siteplan.units.lengths import DEED_LENGTHS

OTHER_UNITS: Final = ("feet", "chains", "rods", "links", "varas", "meters")
DIGITS: Final = "0123456789"


@dataclass(frozen=True, slots=True)
class Slip:
    """A call that, changed alone, would close the figure.

    Parameters
    ----------
    number
        Number of the call, from 1.
    what
        What may have slipped: ``"quadrant"``, ``"bearing"``, ``"distance"``, ``"unit"`` or
        ``"turn"``.
    meant
        The call as it may have been meant, in words.
    miss_m
        Misclosure that would be left [m].
    """

    number: int
    what: str
    meant: str
    miss_m: float


def slips_of(calls: Sequence[Call], *, ratio: float) -> list[Slip]:
    """Calls that, each changed by one slip, close the figure to a ratio; the best of each first."""
    whole = closure_of([call.course for call in calls])
    found: dict[tuple[int, str], Slip] = {}
    for number, call in enumerate(calls, start=1):
        east, north = call.course.step
        for what, meant, course in _changed(call):
            new_east, new_north = course.step
            miss = (
                (whole.east_m - east + new_east) ** 2 + (whole.north_m - north + new_north) ** 2
            ) ** 0.5
            if miss * ratio <= whole.perimeter_m:
                slip = Slip(number, what, meant, miss)
                known = found.get((number, what))
                found[number, what] = min(slip, known or slip, key=lambda each: each.miss_m)
    return sorted(found.values(), key=lambda slip: (slip.miss_m, slip.number))


def _changed(call: Call) -> Iterator[tuple[str, str, Leg]]:
    """A call as each single slip would have come from it."""
    course = call.course
    if course.curve is not None:
        turned = replace(course.curve, delta_deg=-course.curve.delta_deg)
        azimuth = (course.azimuth_deg - course.curve.delta_deg) % 360.0
        yield (
            "turn",
            "the curve to the other side",
            replace(course, curve=turned, azimuth_deg=azimuth),
        )
        return
    yield from _other_directions(call)
    for written in _one_digit_off(call.length) if call.length else ():
        length = float(written) * DEED_LENGTHS[call.unit]
        if length > 0:
            yield "distance", f"{written} {call.unit}", replace(course, length_m=length)
    for unit in OTHER_UNITS if call.length else ():
        length = float(call.length.replace(",", "")) * DEED_LENGTHS[unit]
        if unit != call.unit:
            yield "unit", f"{call.length} {unit}", replace(course, length_m=length)


def _other_directions(call: Call) -> Iterator[tuple[str, str, Leg]]:
    course = call.course
    if not call.angle:
        azimuths = {"North": 0.0, "East": 90.0, "South": 180.0, "West": 270.0}
        for word, azimuth in azimuths.items():
            yield "quadrant", word, replace(course, azimuth_deg=azimuth)
        return
    if not call.quadrant:
        reverse = (course.azimuth_deg + 180.0) % 360.0
        yield "bearing", f"azimuth {reverse:.4f}", replace(course, azimuth_deg=reverse)
        return
    for north in "NS":
        for east in "EW":
            if north + east != call.quadrant:
                yield from _as_written("quadrant", call, f"{north} {_told(call.angle)} {east}")
    north, east = call.quadrant[0], call.quadrant[1]
    for place, part in enumerate(call.angle):
        for digits in _one_digit_off(f"{part:g}"):
            angle = [*call.angle[:place], float(digits), *call.angle[place + 1 :]]
            yield from _as_written("bearing", call, f"{north} {_told(angle)} {east}")


def _as_written(what: str, call: Call, bearing: str) -> Iterator[tuple[str, str, Leg]]:
    try:
        read = read_call(f"{bearing} 1 m", "m")
    except CallError:
        return
    yield what, bearing, replace(call.course, azimuth_deg=read.course.azimuth_deg)


def _told(angle: Sequence[float]) -> str:
    return "".join(f"{part:g}{sign}" for part, sign in zip(angle, "°'\"", strict=False))


def _one_digit_off(written: str) -> Iterator[str]:
    """Numbers of which one digit was dropped, doubled, misread or swapped with its neighbour.

    Examples
    --------
    >>> {"123", "21", "13", "2"} <= set(_one_digit_off("12"))
    True
    """
    plain = written.replace(",", "")
    for place in range(len(plain) + 1):
        before, after = plain[:place], plain[place:]
        for digit in DIGITS:
            yield before + digit + after
            if after[:1].isdigit() and digit != after[0]:
                yield before + digit + after[1:]
        if after[:1].isdigit() and (before + after[1:]).strip("."):
            yield before + after[1:]
        if after[:2].isdigit() and len(after) > 1 and after[0] != after[1]:
            yield before + after[1] + after[0] + after[2:]
