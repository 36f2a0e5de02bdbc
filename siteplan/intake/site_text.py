"""The text of a new site file: what is known, what is assumed, what to fill in."""

from __future__ import annotations

import datetime
import json
from collections.abc import Sequence
from dataclasses import dataclass
from string import Template
from typing import Final

from siteplan.units.systems import UNIT_SYSTEMS

ROUND: Final = {"us": 1.0, "metric": 0.3}
"""A foot in round numbers of the unit: example places need not be exact."""

FIGURES: Final = {
    "us": {"capacity": "3 ton", "heating": "36 MBH", "cooling": "24 MBH", "deep": "52 F",
           "swing": "20 F"},
    "metric": {"capacity": "10 kW", "heating": "10 kW", "cooling": "7 kW", "deep": "11 C",
               "swing": "11 K"},
}  # fmt: skip
"""Examples of what is to be filled in, by edition of the unit system."""
FROST: Final = {"us": "4 ft", "metric": "1.2 m"}

HEAD: Final = Template("""\
# Made by siteplan new. What it understood:
$understood
# Lines marked FILL IN are yours; so is whatever is missing. Every key: docs/site-file.md.

[project]
title = "Ground loop"
owner = "FILL IN"
date = $day
units = "$unit"                  # of bare numbers in this file, and of the sheet
$parcel_id
[geometry]
$geometry

[exchanger]
system = "choose"               # compare all loop types
# capacity = "$capacity"            # FILL IN: of the heat pump, or the loads below, or a length
$entry

[rules]
books = $books                      # FILL IN: siteplan rules lists the books; none: common practice

# How much heat. Until this is filled in, siteplan fit takes a figure by the size of the house, and
# says so. Put in the load calculation and the ground, and take out the # of all these lines.
# [loads]
# heating = "$heating"            # at the design hour
# heating_hours = 2000          # the year's heat divided by that
# cooling = "$cooling"
# cooling_hours = 800
#
# [ground]
# temperature = "$deep"          # deep down: of the water of a well nearby, or of a map
# swing = "$swing"                # of the surface over the year, half of the range
# coldest_day = "3 February"
# soil = "heavy sand, 15 % water"   # of a test pit or a soil survey; rock for bores
# $frost
#
# [fluid]
# mixture = "propylene glycol 25 %"
""")
"""Everything but what is drawn. No figure is written as if it were known: what must be filled in is
behind a mark."""

DRAWN: Final = Template("""
# What is on the lot and near it. Places are in $unit from the south-west corner of the
# rectangle around the lot, x to the east, y to the north. Take out the # of what is there.
$tables""")

NOT_YET: Final = (
    ("potable well", "at", ((20.0, 20.0),), "FILL IN: yours, and the neighbors' within 200 ft"),
    ("septic tank", "at", ((40.0, 20.0),), "FILL IN"),
    ("drainfield", "area", ((10.0, 40.0), (40.0, 40.0), (40.0, 60.0), (10.0, 60.0)), "FILL IN"),
    ("water line", "line", ((20.0, 20.0), (50.0, 50.0)), "FILL IN: as marked on the ground"),
    ("easement", "area", ((0.0, 0.0), (10.0, 0.0), (10.0, 90.0), (0.0, 90.0)), "FILL IN: deed"),
)  # fmt: skip
"""What hardly a lot is without: kind, key, an example of points in feet, and a remark."""


@dataclass(frozen=True, slots=True)
class Stated:
    """What the one who asks for a folder states: unit, rule books, day of the title block."""

    unit: str
    books: tuple[str, ...]
    day: datetime.date


@dataclass(frozen=True, slots=True)
class Drawn:
    """A feature as a site file writes it, points in the unit of the file."""

    kind: str
    key: str
    points: Sequence[tuple[float, float]]
    remark: str = ""

    def table(self, *, mark: str = "") -> str:
        """The lines of the feature, each behind a mark."""
        pairs = [f"[{x:g}, {y:g}]" for x, y in self.points]
        place = pairs[0] if self.key == "at" else f"[{', '.join(pairs)}]"
        told = f"  # {self.remark}" if self.remark else ""
        lines = ["[[feature]]", f'kind = "{self.kind}"', f"{self.key} = {place}{told}"]
        return "".join(f"{mark}{line}\n" for line in lines)


def site_text(
    stated: Stated,
    *,
    understood: Sequence[str],
    geometry: str,
    entry: str,
    parcel_id: str = "",
    drawn: Sequence[Drawn] = (),
) -> str:
    """Text of a site file; nothing in it is silent about where it is from."""
    unit = UNIT_SYSTEMS[stated.unit]
    head = HEAD.substitute(
        understood="\n".join(f"#   {line}" for line in understood),
        day=stated.day.isoformat(),
        unit=unit.name,
        parcel_id=f"parcel_id = {json.dumps(parcel_id)}\n" if parcel_id else "",
        geometry=geometry,
        entry=entry,
        books=json.dumps(list(stated.books)),
        **FIGURES[unit.edition],
        frost=f'frost = "{FROST[unit.edition]}"                # as deep as the ground freezes',
    )
    tables = [feature.table() for feature in drawn]
    tables += [feature.table(mark="# ") for feature in _not_yet(unit.name)]
    return head + DRAWN.substitute(unit=unit.plural, tables="\n".join(tables))


def _not_yet(unit: str) -> list[Drawn]:
    return [Drawn(kind, key, scaled(points, unit), remark) for kind, key, points, remark in NOT_YET]


def scaled(points: Sequence[tuple[float, float]], unit: str) -> list[tuple[float, float]]:
    """Example points of a sketch in feet, in round numbers of a unit."""
    size = ROUND[UNIT_SYSTEMS[unit].edition]
    return [(round(x * size, 1), round(y * size, 1)) for x, y in points]
