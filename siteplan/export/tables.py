"""The table of elements as CSV, and the summary as JSON."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any

from siteplan.export.csv_text import csv_text
from siteplan.geometry.lines.arcs import Arc, Piece
from siteplan.layout.elements import Bore, Element, Trench
from siteplan.layout.model import Layout
from siteplan.layout.outfall import called
from siteplan.layout.piping_model import Crossover
from siteplan.sheet.tables.staking import staked_pieces
from siteplan.site.model import Site
from siteplan.units.lengths import round_to, to_unit
from siteplan.units.model import UnitSystem

DECIMALS = 3
"""Decimals of a coordinate in the display unit."""


def elements_csv(site: Site, layout: Layout | None) -> str:
    """Table of elements: where each begins and ends, how long and how deep it is.

    Local easting and northing are in the display unit, their origin is the site's. Latitude and
    longitude are WGS 84 and stand only where the site is georeferenced. The last columns list
    easting and northing of each point at which a trench turns, in order from its start, and the
    straight pieces and arcs that stand for them, and the group of circuits that an element belongs
    to where the field is divided. Crossovers of trenches stand after the elements.
    """
    columns = [
        "id",
        "kind",
        f"easting_{site.unit}",
        f"northing_{site.unit}",
        "latitude",
        "longitude",
        f"end_easting_{site.unit}",
        f"end_northing_{site.unit}",
        "end_latitude",
        "end_longitude",
        f"length_{site.unit}",
        f"depth_{site.unit}",
        "tilt_deg",
        "azimuth_deg",
        f"bends_{site.unit}",
        f"pieces_{site.unit}",
        "group",
    ]
    rows = [columns]
    if layout is not None:
        groups = groups_by_element(layout)
        rows += [[*_row(site, item), groups.get(item.id, "")] for item in layout.elements]
        for crossover in layout.crossovers:
            joined = dict.fromkeys(groups.get(name, "") for name in crossover.trenches)
            rows.append([*_crossover_row(site, crossover), "; ".join(filter(None, joined))])
    return csv_text(rows)


def groups_by_element(layout: Layout) -> dict[str, str]:
    """Group of the circuits that run through each element, several parted by a semicolon."""
    groups: dict[str, dict[str, None]] = {}
    for circuit in layout.circuits:
        if circuit.group:
            for name in circuit.elements:
                groups.setdefault(name, {})[circuit.group] = None
    return {name: "; ".join(each) for name, each in groups.items()}


def _row(site: Site, element: Element) -> list[str]:
    end = ["", "", "", ""]
    if len(element.ends) > 1:
        end = _place(site, *element.ends[-1])
    lean = ["", ""]
    if isinstance(element, Bore):
        lean = [f"{element.tilt_deg:.1f}", f"{element.azimuth_deg:.1f}"]
        end = _place(site, *element.toe[:2]) if element.tilt_deg else end
    length = round_to(to_unit(element.length_m, site.unit), DECIMALS, "down")
    return [
        element.id,
        called(element),
        *_place(site, element.x_m, element.y_m),
        *end,
        f"{length:.{DECIMALS}f}",
        "" if element.bottom_m is None else decimal(element.bottom_m, site.unit),
        *lean,
        _bends(site, element),
        _pieces(site, element),
    ]


def _crossover_row(site: Site, crossover: Crossover) -> list[str]:
    length = round_to(to_unit(crossover.length_m, site.unit), DECIMALS, "up")
    first, *bends, last = [(float(x), float(y)) for x, y in crossover.line.coords]
    return [
        crossover.id,
        "crossover",
        *_place(site, *first),
        *_place(site, *last),
        f"{length:.{DECIMALS}f}",
        decimal(crossover.depth_m, site.unit),
        "",
        "",
        _points(site, bends),
        "",
    ]


def _bends(site: Site, element: Element) -> str:
    """Points between start and end of a trench, the two numbers of each parted by a space."""
    return _points(site, element.bends if isinstance(element, Trench) else ())


def _pieces(site: Site, element: Element) -> str:
    """Straight pieces and arcs of a trench that bends, each to where it ends."""
    if not isinstance(element, Trench) or not element.bends:
        return ""
    return "; ".join(_piece(piece, site.unit) for piece in staked_pieces(element))


def _piece(piece: Piece, unit: UnitSystem) -> str:
    end = " ".join(decimal(value, unit) for value in piece.end)
    if not isinstance(piece, Arc):
        return f"straight to {end}"
    centre = " ".join(decimal(value, unit) for value in piece.centre)
    side = "left" if piece.turn_deg > 0 else "right"
    return (
        f"arc to {end} centre {centre} radius {decimal(piece.radius_m, unit)} "
        f"angle {abs(piece.turn_deg):.2f} {side}"
    )


def _points(site: Site, points: Iterable[tuple[float, float]]) -> str:
    return "; ".join(f"{decimal(x, site.unit)} {decimal(y, site.unit)}" for x, y in points)


def _place(site: Site, x: float, y: float) -> list[str]:
    local = [decimal(x, site.unit), decimal(y, site.unit)]
    if site.georeference is None:
        return [*local, "", ""]
    latitude, longitude = site.georeference.latitude_longitude(x, y)
    return [*local, f"{latitude:.6f}", f"{longitude:.6f}"]


def decimal(length_m: float, unit: UnitSystem) -> str:
    """A length in the display unit as tables for programs have it, without the unit.

    Examples
    --------
    >>> from siteplan.units.systems import US
    >>> decimal(3.048, US), decimal(-0.0, US)
    ('10.000', '0.000')
    """
    return f"{round_to(to_unit(length_m, unit), DECIMALS) + 0.0:.{DECIMALS}f}"


def summary_json(summary: Mapping[str, Any]) -> str:
    """Summary as JSON text."""
    return json.dumps(summary, indent=2, ensure_ascii=False, allow_nan=False) + "\n"
