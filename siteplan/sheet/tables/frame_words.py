"""What coordinates are of, and where fixed points lie in the same frame."""

from __future__ import annotations

from typing import Final

from siteplan.layout.elements import Coil
from siteplan.layout.model import Layout
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.content.facts import inches, leaning_words, trench_facts
from siteplan.sheet.content.sides import sides_of
from siteplan.sheet.content.stakes import SettingOut
from siteplan.sheet.model import XY
from siteplan.sheet.style.formats import east_north, short_mark
from siteplan.sheet.style.text import NO_BREAK
from siteplan.sheet.tables.setting_out import setting_words
from siteplan.site.model import Site
from siteplan.units.model import UnitSystem

COIL: Final = "coil"
"""What lies in a pond unless something else does."""
MOST_CORNERS: Final = 12
"""Of more property corners than this, one stands on the sheet."""


def coordinate_note(layout: Layout, unit: UnitSystem, *, bends: str = "see elements.csv") -> str:
    """What the coordinates are of, and what all elements have in common."""
    first = layout.elements[0]
    depth = short_mark(min(each.depth_m for each in layout.elements), unit, rounding="down")
    match first.kind:
        case "trench":
            more = trench_facts(layout, unit, bends=bends)
            facts = f"Start and end of trench {unit.center} lines, {unit}. {depth} deep, {more}."
        case "coil":
            size = short_mark(first.reach_m * 2, unit)
            noun = layout.loop.short
            facts = f"{noun.capitalize()} {unit.center}s, {unit}. "
            facts += f"{size} across, under {depth} of water or more."
            if isinstance(first, Coil) and first.body != COIL:
                facts += f" {size} is the circle around a {noun}, which may lie turned within it."
        case "well":
            facts = f"Well {unit.center}s, {unit}."
        case "bore":
            size = inches(first.reach_m * 2, unit)
            facts = f"Bore {unit.center}s, {unit}. Vertical, {size} across."
            if layout.leans:
                facts = f"Bore collars, {unit}, {size} across. {leaning_words(unit)}"
        case _:
            size = short_mark(first.reach_m * 2, unit)
            noun = layout.loop.noun.capitalize()
            facts = f"{noun} {unit.center}s, {unit}. {size} across, {depth} deep."
    return facts


def frame_note(content: PlanContent, out: SettingOut, *, all_corners: bool) -> str:
    """Where fixed points lie in the same frame, and where its origin is."""
    site = content.site
    places = [(f"{tie.what} {tie.name}", tie.at) for tie in out.ties]
    header = content.layout.header if content.layout else None
    if header is not None:
        places.append(("entry", (float(header.entry.point.x), float(header.entry.point.y))))
    texts = [f"{name} {_place(at, site.unit)}" for name, at in places]
    texts.append(_corner_words(site, all_corners=all_corners))
    origin = (
        "south-west corner of the parcel's bounding box"
        if site.georeference is not None
        else "that of the coordinates given"
    )
    minded = setting_words(out, site.unit)
    return f"In the same frame: {'; '.join(texts)}. Origin: {origin}. {minded}".strip()


def _corner_words(site: Site, *, all_corners: bool) -> str:
    """Property corners, counter-clockwise from the one nearest to the south-west."""
    corners = [side.start for side in sides_of(site.parcel)]
    if not site.parcel.exterior.is_ccw:
        corners.reverse()
    first = min(range(len(corners)), key=lambda k: (corners[k][0] + corners[k][1], corners[k]))
    corners = [*corners[first:], *corners[:first]]
    if all_corners and len(corners) <= MOST_CORNERS:
        places = ", ".join(_place(at, site.unit) for at in corners)
        return f"property corners from the south-west, counter-clockwise: {places}"
    return f"south-west property corner {_place(corners[0], site.unit)}"


def _place(at: XY, unit: UnitSystem) -> str:
    return east_north(at, unit).replace(" ", NO_BREAK)
