"""What goes in the ground as GeoJSON; its stakes as a table and as waypoints of a receiver.

Those in WGS 84 are written only where the site has a coordinate system.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final
from xml.sax.saxutils import escape

from siteplan.export.csv_text import csv_text
from siteplan.export.tables import decimal
from siteplan.layout.model import Layout
from siteplan.layout.outfall import called
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.content.header_points import header_points
from siteplan.sheet.content.stakes import CROSSOVER_BEND, ENTRY, HEADER_POINT, TRENCH_BEND
from siteplan.sheet.content.stakes import Stake as Staked
from siteplan.sheet.content.ties import PEG, stake_names, tie_targets
from siteplan.sheet.tables.staking import bent_trenches, staked_pieces
from siteplan.site.georeference import Georeference
from siteplan.site.model import Site
from siteplan.units.lengths import round_to

DECIMALS: Final = 7
"""Decimals of a degree: a hundredth of a metre or so."""
SAME_M: Final = 0.01
"""Stakes nearer than this to one another are one [m]."""
ORDER: Final = (
    "Waypoints in the order to stake them: from the entry, each time to the nearest one left. "
    "WGS 84. Not a boundary survey; the receiver's own error comes on top."
)

XY = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Stake:
    """A place to be staked: its name, local place [m] and what it is."""

    name: str
    at: XY
    what: str


def stakes_csv(content: PlanContent) -> str:
    """Table of tie points, pegs of base lines and stakes: where each is and how it is set out.

    Lengths are in the display unit. An offset is positive to the left of its base line, looking to
    the far peg; ``side`` is the side of the line from the first tie point to the second.
    """
    site, out = content.site, content.setting_out
    unit = site.unit
    most = max((len(stake.tapes) for stake in (*out.pegs, *out.stakes)), default=0)
    most = max(most, 2)
    tapes = [title for k in range(1, most + 1) for title in (f"tie_{k}", f"tape_{k}_{unit}")]
    table = [
        [
            "id", "what", f"easting_{unit}", f"northing_{unit}", "latitude", "longitude",
            "base_line", f"station_{unit}", f"offset_{unit}", *tapes, "side", "remark",
        ]
    ]  # fmt: skip
    stations = {
        peg.name: (line.name, station)
        for line in out.lines
        for peg, station in zip((line.start, line.end), line.stations_m, strict=True)
    }
    rows = [(tie.what, Staked(tie.name, tie.at)) for tie in out.ties]
    rows += [(PEG, peg) for peg in out.pegs]
    for stake in all_stakes(content.layout) if content.layout is not None else ():
        rows.append((stake.what, out.by_name.get(stake.name, Staked(stake.name, stake.at))))
    for what, staked in rows:
        line, station = staked.line, staked.station_m
        own, at = stations.get(staked.name, ("", 0.0))
        if not line:
            line, station = own, at
        remark = _remark(staked)
        if own not in ("", line):
            remark = f"{own} station {decimal(at, unit)}"
        on_line = [line, "", ""]
        if line:
            on_line = [line, decimal(station, unit), decimal(staked.offset_m, unit)]
        taped = [cell for tape in staked.tapes for cell in (tape.tie, decimal(tape.length_m, unit))]
        taped += [""] * (2 * most - len(taped))
        place = _place(site, staked.at)
        table.append([staked.name, what, *place, *on_line, *taped, staked.side, remark])
    return csv_text(table)


def _place(site: Site, at: XY) -> list[str]:
    """Easting and northing, and latitude and longitude where the site has them."""
    local = [decimal(value, site.unit) for value in at]
    if site.georeference is None:
        return [*local, "", ""]
    longitude, latitude = _degrees(at, site.georeference)
    return [*local, f"{latitude:.{DECIMALS}f}", f"{longitude:.{DECIMALS}f}"]


def _remark(staked: Staked) -> str:
    """What is to be minded when it is taped."""
    remarks = {
        "tape too long": any(tape.is_long for tape in staked.tapes),
        "over water": any(tape.is_wet for tape in staked.tapes),
    }
    return "; ".join(remark for remark, holds in remarks.items() if holds)


def write_geojson(content: PlanContent, path: Path) -> None:
    """Write elements, crossovers and header as GeoJSON (RFC 7946) where there is a georeference."""
    frame, layout = content.site.georeference, content.layout
    if frame is None:
        return
    features = list(_features(layout, frame)) if layout is not None else []
    collection = {"type": "FeatureCollection", "features": features}
    path.write_text(json.dumps(collection, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


def write_gpx(content: PlanContent, path: Path) -> None:
    """Write the stakes as waypoints (GPX 1.1) in staking order, where there is a georeference."""
    frame, layout = content.site.georeference, content.layout
    if frame is None:
        return
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        '<gpx version="1.1" creator="siteplan" xmlns="http://www.topografix.com/GPX/1/1">',
        f"<metadata><name>{escape(content.site.project.title)}</name>"
        f"<desc>{escape(ORDER)}</desc></metadata>",
    ]
    for stake in staking_order(layout) if layout is not None else ():
        longitude, latitude = _degrees(stake.at, frame)
        lines.append(
            f'<wpt lat="{latitude:.{DECIMALS}f}" lon="{longitude:.{DECIMALS}f}">'
            f"<name>{escape(stake.name)}</name><desc>{escape(stake.what)}</desc></wpt>"
        )
    path.write_text("\n".join([*lines, "</gpx>"]) + "\n", encoding="utf-8")


def staking_order(layout: Layout) -> tuple[Stake, ...]:
    """All stakes, from the entry each time to the nearest one left."""
    left = _apart(all_stakes(layout))
    if not left:
        return ()
    here = left[0].at if layout.header is None else _point(layout.header.entry.point.coords[0])
    order: list[Stake] = []
    while left:
        # rounded, so that of equal ways the first is taken whatever their last digits
        nearest = min(left, key=lambda stake: round(math.dist(here, stake.at), 6))
        left.remove(nearest)
        order.append(nearest)
        here = nearest.at
    return tuple(order)


def all_stakes(layout: Layout) -> tuple[Stake, ...]:
    """Stakes of header, elements, tangent points of bends, and crossovers, in the sheet's order."""
    stakes = [
        Stake(point.name, point.at, ENTRY if number == 0 else HEADER_POINT)
        for number, point in enumerate(header_points(layout))
    ]
    for element in layout.elements:
        for name, at in zip(stake_names(element), tie_targets(element), strict=True):
            stakes.append(Stake(name, at, called(element)))
    for trench in bent_trenches(layout):
        for number, piece in enumerate(staked_pieces(trench)[:-1], 1):
            stakes.append(Stake(f"{trench.id}.{number} end", piece.end, TRENCH_BEND))
    for crossover in layout.crossovers:
        for number, bend in enumerate(crossover.line.coords[1:-1], 1):
            stakes.append(Stake(f"{crossover.id}.{number}", _point(bend), CROSSOVER_BEND))
    return tuple(stakes)


def _apart(stakes: Sequence[Stake]) -> list[Stake]:
    """Stakes without those that stand where an earlier one does."""
    kept: list[Stake] = []
    for stake in stakes:
        if all(math.dist(stake.at, other.at) > SAME_M for other in kept):
            kept.append(stake)
    return kept


def _features(layout: Layout, frame: Georeference) -> Iterator[dict[str, Any]]:
    for element in layout.elements:
        place = [_point(at) for at in element.axis.coords]
        yield _feature(element.id, called(element), element.bottom_m, place, frame)
    for crossover in layout.crossovers:
        line = [_point(at) for at in crossover.line.coords]
        yield _feature(crossover.id, "crossover", crossover.depth_m, line, frame)
    for number, run in enumerate(layout.header.runs if layout.header else (), 1):
        depth = layout.piping.depth_m if layout.piping is not None else None
        line = [_point(at) for at in run.coords]
        yield _feature(f"header {number}", "header", depth, line, frame)


def _feature(
    name: str, kind: str, depth_m: float | None, place: Sequence[XY], frame: Georeference
) -> dict[str, Any]:
    degrees = [list(_degrees(at, frame)) for at in place]
    geometry: dict[str, Any] = {"type": "LineString", "coordinates": degrees}
    if len(degrees) == 1:
        geometry = {"type": "Point", "coordinates": degrees[0]}
    depth = None if depth_m is None else round_to(depth_m, 3)
    properties = {"id": name, "kind": kind, "depth_m": depth}
    return {"type": "Feature", "id": name, "properties": properties, "geometry": geometry}


def _point(at: Sequence[float]) -> XY:
    return float(at[0]), float(at[1])


def _degrees(at: XY, frame: Georeference) -> XY:
    """Longitude and latitude [deg]."""
    latitude, longitude = frame.latitude_longitude(*at)
    return round(longitude, DECIMALS), round(latitude, DECIMALS)
