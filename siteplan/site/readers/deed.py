"""The outline of a lot from the calls of its deed, and how they close."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from shapely import Polygon

from siteplan.geometry.traverse import by_compass_rule, closure_of, outline_of
from siteplan.limits import MOST_CALLS
from siteplan.reading import ARRAYS, Table
from siteplan.site.deed import DeedClosure
from siteplan.site.options.choices import COMPASS_RULE, PARCEL
from siteplan.site.options.read import Read
from siteplan.site.readers.deed_calls import Call, read_calls, split_calls
from siteplan.site.readers.deed_slips import slips_of
from siteplan.site.readers.raw import RawFeature
from siteplan.units.lengths import ACRE, FOOT, SQUARE_FOOT, format_bearing, format_length
from siteplan.units.written import AMOUNT, number_in

GROSS: Final = 500.0
"""A figure that closes worse than 1 in this has a slip in it, no mere error of measuring; common
practice, no source."""
SMALL_M: Final = 0.1 * FOOT
"""What a deed may miss whatever its length: calls are written to a hundredth of a foot [m]."""
LEAST_CALLS: Final = 3
TOLD: Final = 3
STATED_AREA: Final = re.compile(
    rf"\b(?:contain(?:s|ing)|area\s+of)\b[^.;\d]{{0,40}}(?P<value>{AMOUNT})\s*"
    r"(?P<unit>acres?\b|ac\b|square\s+f(?:ee|oo)t|sq\.?\s*ft|hectares?\b|square\s+met(?:er|re)s)"
    r"(?!,?\s*(?:and\s+)?\d+\s*(?:square\s+)?(?:rods|perches|poles|roods))",
    re.IGNORECASE,
)
AREAS: Final = {"a": ACRE, "h": 10_000.0}
"""Units of area by their first letter [m2]; of square feet and metres see `_stated`."""


def read_deed(given: Read) -> tuple[RawFeature | None, DeedClosure | None]:
    """Parcel of ``[geometry.deed]`` and its closure; None where a call cannot be read.

    Faults go to the table: each call that cannot be read, and a figure that does not close, with
    the call that may be a slip.
    """
    texts = _texts(given)
    if texts is None:
        return None, None
    unit = given["unit"] or given.unit.name
    if len(texts) > MOST_CALLS:
        what = f"has {len(texts):,} calls; {MOST_CALLS:,} are read."
        given.fault("", what, "Give the outline as corner points.")
        return None, None
    calls, faults = read_calls(texts, unit)
    for number, what in faults:
        mend = "Write it as in the deed."
        if len(faults) == 1 and len(calls) >= LEAST_CALLS - 1:
            mend += f" The others would close with {_missing(given, calls)} in its place."
        given.fault(f"call {number}", f"“{texts[number - 1]}”: {what}.", mend)
    if faults:
        return None, None
    if len(calls) < LEAST_CALLS:
        has = "is read as 1 call." if len(calls) == 1 else f"has {len(calls)} calls."
        mend = f"An outline has {LEAST_CALLS} or more; write each on a line of its own."
        given.fault("", has, mend)
        return None, None
    closure = closure_of([call.course for call in calls])
    if closure.ratio < GROSS and closure.miss_m > SMALL_M:
        _gross(given, calls, closure.ratio)
        return None, None
    adjusted = given["adjust"] == COMPASS_RULE
    parcel = _parcel(given, calls, adjusted=adjusted)
    area_m2 = parcel.shape.area * given.unit.metres**2
    told = DeedClosure(
        closure.miss_m, closure.perimeter_m, float(given["closure"]), len(calls), adjusted,
        area_m2, _stated(given["text"] or ""),
    )  # fmt: skip
    return parcel, told


def _texts(given: Read) -> list[str] | None:
    """The calls, listed or taken from the paragraph."""
    if given.says("calls") == given.says("text"):
        given.fault("", "has not exactly one of calls and text.", 'Add calls = ["N 10 E 90 ft"].')
        return None
    if given.says("text"):
        return split_calls(given["text"] or "")
    listed = given["calls"]
    if isinstance(listed, ARRAYS) and all(isinstance(call, str) for call in listed):
        return list(listed)
    given.fault("calls", f"{listed!r} is not a list of texts.", 'Write ["N 10 E 90 ft", ...].')
    return None


def _gross(given: Read, calls: Sequence[Call], ratio: float) -> None:
    """Note that the figure does not close, and which call may be the slip."""
    closure = closure_of([call.course for call in calls])
    by = format_length(closure.miss_m, given.unit, 2, rounding="up")
    slips = slips_of(calls, ratio=float(given["closure"]))
    named = "; ".join(
        f"call {slip.number}, “{calls[slip.number - 1].words}”, if its {slip.what} were "
        f"{slip.meant}"
        for slip in slips[:TOLD]
    )
    lacking = f"A course of {_missing(given, calls)} would close it: look for one left out."
    mend = f"It would close with {named}." if named else f"No single slip closes it. {lacking}"
    given.fault("", f"does not close: {by} are missing, 1 in {ratio:,.0f}.", mend)


def _missing(given: Read, calls: Sequence[Call]) -> str:
    """The course that would bring the calls back to where they began, in words."""
    closure = closure_of([call.course for call in calls])
    bearing = format_bearing(-closure.east_m, -closure.north_m)
    return f"{bearing} {format_length(closure.miss_m, given.unit, 2)}"


def _stated(text: str) -> float | None:
    """Area that the words of a deed state [m2].

    Examples
    --------
    >>> _stated("to the point of beginning, containing 30,000 square feet.") / SQUARE_FOOT
    30000.0
    """
    match = STATED_AREA.search(text)
    if match is None:
        return None
    unit = match["unit"].lower()
    factor = AREAS.get(unit[0]) or (1.0 if "met" in unit else SQUARE_FOOT)
    return number_in(match["value"]) * factor


def _parcel(given: Read, calls: Sequence[Call], *, adjusted: bool) -> RawFeature:
    """The outline in the display unit, its south-west corner at the origin or the begin stated."""
    courses = [call.course for call in calls]
    points = outline_of(by_compass_rule(courses) if adjusted else courses) / given.unit.metres
    begin = given["begin"]
    points = points + begin if begin is not None else points - points.min(axis=0)
    where = f"{given.table.where}, parcel"
    own = Table({"kind": PARCEL}, where, given.table.faults, given.unit)
    return RawFeature(where, Polygon(points), own)
