"""Where the exchanger lies, what was looked for around it, and what its lines are, in words."""

from __future__ import annotations

from typing import Final

import shapely

from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.content.lot_lines import line_distances
from siteplan.sheet.style.formats import fine_mark, mark, short_mark
from siteplan.site.model import Site

DECIMALS: Final = 5
"""Of latitude and longitude: more than a lot that nobody surveyed is known to."""
LAST_M: Final = 20_003_931.0 / 180 / 10**DECIMALS
"""One in the last of them along a meridian, from pole to pole 20,004 km on WGS 84 [m]."""


def field_words(content: PlanContent) -> str:
    """Latitude and longitude of the middle of the field; empty where the lot has no place on earth.

    The middle is that of the tightest upright box around all elements.
    """
    reference, layout = content.site.georeference, content.layout
    if reference is None or layout is None or not layout.elements:
        return ""
    west, south, east, north = shapely.union_all(
        [element.footprint for element in layout.elements]
    ).bounds
    latitude, longitude = reference.latitude_longitude((west + east) / 2, (south + north) / 2)
    return (
        f"Middle of the loop field: {_degrees(latitude, 'NS')}, {_degrees(longitude, 'EW')} "
        f"(WGS 84), to {mark(LAST_M, content.site.unit, rounding='up')} at best: no survey."
    )


def _degrees(value: float, sides: str) -> str:
    """Degrees with the letter of their half of the earth.

    Examples
    --------
    >>> _degrees(-71.5, "EW")
    '71.50000° W'
    """
    return f"{abs(value):.{DECIMALS}f}° {sides[0] if value >= 0 else sides[1]}"


def distance_words(site: Site) -> str:
    """How far the building stands from the lines of its lot; empty where these have no names."""
    distances = line_distances(site)
    if not distances:
        return ""
    told = ", ".join(
        f"{distance.name.lower()} {fine_mark(distance.length_m, site.unit, 1, rounding='down')}"
        for distance in distances
    )
    name = next(
        feature.label or feature.id
        for feature in site.features
        if feature.id == distances[0].building
    )
    return f"{name.capitalize()} to lot lines: {told}."


def search_sentence(site: Site) -> str:
    """How far around the lot wells and septic systems were looked for, or that nobody said."""
    if site.searched_m is None:
        return "How far around the lot wells and septic systems were looked for is not stated."
    far = short_mark(site.searched_m, site.unit, rounding="down")
    return (
        f"Wells and septic systems were looked for within {far} of the lot; those found are shown. "
        "The line of that distance is drawn where it lies on the plan, else it is beyond it."
    )


def street_words(site: Site) -> str:
    """Which streets are drawn as a line without edges; empty where there are none."""
    names = [
        (street.label or street.id).upper()
        for street in site.of_kind("street")
        if street.shape.area == 0.0 and street.width_m <= 0.0
    ]
    if not names:
        return ""
    return (
        f"{', '.join(dict.fromkeys(names))}: width not stated; distances are from the line drawn."
    )
