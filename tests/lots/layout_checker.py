"""A layout as a package lists it, against the site file: distances, room, spacing, header, water.

Shares no code with the package: shapely measures, and what is asked is read by `site_as_written`
and `rules_as_written`.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import shapely
from rules_as_written import Asked, around, asked_on, measure_of, spoken
from scipy.interpolate import LinearNDInterpolator
from shapely import LineString, MultiLineString, Point, Polygon
from shapely.geometry.base import BaseGeometry
from site_as_written import SiteAsWritten, Written, metres

LAST_M: Final = 2e-3
"""What rounding to a tenth of a millimetre, and a file's last digit, may take off [m]."""
FRAME_M: Final = 0.01
"""The same where the lot was brought over from a coordinate system [m]."""
SHALLOW_M: Final = 3.0
"""Upper part of an inclined bore that keeps distances, as docs/site-file.md says."""
PIT_M: Final = 3 * 0.3048
NEVER: Final = frozenset(
    """street;building;potable well;spring;energy well;well pit;septic tank;drainfield;reserve area;
    seepage pit;privy;sewage lagoon;cemetery;landfill;hydrant;fuel tank;silo;livestock pen;
    material storage;stream;protected site;pond;dam;pond outlet;water intake;swimming area;
    wetland;planned addition;pool;garden;lent ground;
    tree;other keep-out""".replace("\n    ", "").split(";")
)
"""Kinds that the header never crosses, as the table of docs/site-file.md has them."""
IN_TRENCH_M: Final = 0.05
"""A line that stops so near the middle of a trench is met by whoever digs that trench, as at a wall
behind which it goes on: common practice, no source [m]."""
BURIED: Final = ("sewer line", "water line", "gas line", "electric line")
DEEP: Final = ("potable well", "spring", "energy well", "tunnel")


@dataclass
class Piece:
    """An element or the header: part, ground, course down to its end, reach around it [m]."""

    id: str
    part: str
    ground: BaseGeometry
    course: BaseGeometry
    reach_m: float


def faults(site: SiteAsWritten, summary: dict[str, Any]) -> Iterator[str]:
    """What of a layout does not agree with the site file, one sentence each."""
    slack = FRAME_M if site.centre else LAST_M
    pieces = list(_pieces(site, summary))
    by_hand = "corner" in site.values.get("vertical", {}).get("grid", {})
    if not by_hand:
        yield from _inside(site, pieces, slack)
        yield from _kept(site, summary, pieces, slack)
        yield from _spacing(site, summary)
    yield from _measured(site, summary, pieces, slack)
    yield from _header(site, summary, slack)
    yield from _alongside(site, summary, slack)
    yield from _ways(summary)
    yield from _water(site, summary, slack)


def _pieces(site: SiteAsWritten, summary: dict[str, Any]) -> Iterator[Piece]:
    """Elements, header and crossovers; a well that stands already is left out."""
    supply = site.values.get("open", {}).get("supply")
    for each in summary["elements"]:
        kind, at = each["kind"], Point(each["x_m"], each["y_m"])
        if kind == "trench":
            line = LineString(each["line_m"])
            # as round at its bends as can be told: an arc of few chords reads too far
            half = each["width_m"] / 2
            ground = line.buffer(half, quad_segs=512, cap_style="flat", join_style="round")
            yield Piece(each["id"], "trench", ground, ground, 0.0)
        elif each.get("role") == "supply" and supply:
            continue
        elif each.get("tilt_deg"):
            course = LineString([(at.x, at.y), each["toe_m"][:2]])
            share = min(1.0, SHALLOW_M / each["depth_m"])
            ground = shapely.ops.substring(course, 0.0, share, normalized=True)
            yield Piece(each["id"], "bore", ground, course, each["diameter_m"] / 2)
        else:
            part = f"{each['role']} well" if kind == "well" else kind
            yield Piece(each["id"], part, at, at, each["diameter_m"] / 2)
    for each in summary["crossovers"]:
        line = LineString(each["line_m"])
        yield Piece(each["id"], "header", line, line, 0.0)
    if summary["header"] and summary["header"]["runs_m"]:
        runs = MultiLineString(summary["header"]["runs_m"])
        yield Piece("header", "header", runs, runs, 0.0)


def _inside(site: SiteAsWritten, pieces: list[Piece], slack: float) -> Iterator[str]:
    for piece in pieces:
        beyond = piece.course.difference(site.parcel.buffer(slack)).length
        if beyond > 0 or not site.parcel.buffer(slack).covers(piece.course):
            yield f"{piece.id} leaves the parcel"
        elif piece.course.distance(site.parcel.boundary) < piece.reach_m - slack:
            yield f"{piece.id} reaches over the property line"


def _apart(site: SiteAsWritten, piece: Piece, asked: Asked, feature: Written | None) -> float:
    """Distance of a piece from a thing as a rule measures it [m]."""
    if feature is None:
        return float(piece.ground.distance(site.parcel.boundary)) - _reach(piece, asked.measure)
    deep = feature.kind in DEEP or asked.measure == "whole bore"
    ground = piece.course if deep else piece.ground
    near = float(ground.distance(feature.shape)) - around(feature, site.unit_m, asked.measure)
    return near - _reach(piece, asked.measure)


def _reach(piece: Piece, measure: str) -> float:
    return 0.0 if measure == "centre" else piece.reach_m


def _kept(
    site: SiteAsWritten, summary: dict[str, Any], pieces: list[Piece], slack: float
) -> Iterator[str]:
    """Every distance that is asked without a condition, of every piece from every thing."""
    supply = site.values.get("open", {}).get("supply")
    joined = summary["drawn"] == "open" and supply
    for asked in asked_on(site):
        own = [feature for feature in site.features if feature.kind == asked.kind]
        things: list[Written | None] = [None] if asked.kind == "property line" else list(own)
        for piece, thing in itertools.product(pieces, things):
            if piece.part != asked.part or (asked.only and thing and thing.id != asked.only):
                continue
            if piece.part == "header" and thing is not None and joined and thing.id == supply:
                continue
            near = _apart(site, piece, asked, thing)
            if near < asked.distance_m - slack:
                name = thing.id if thing else "the property line"
                least = f"{asked.name} asks {asked.distance_m:.3f}"
                yield f"{piece.id} is {near:.3f} m from {name}, {least}"


def _measured(
    site: SiteAsWritten, summary: dict[str, Any], pieces: list[Piece], slack: float
) -> Iterator[str]:
    """Rows of the table of separations, measured again between the two that they name."""
    known, features = {piece.id: piece for piece in pieces}, {f.id: f for f in site.features}
    sloped = site.values.get("horizontal", {}).get("protection") == "slope"
    for row in summary["separations"]:
        measure = measure_of(row["rule"])
        piece, feature = known.get(row["element"]), features.get(row["feature"])
        plain = measure in (
            "nearest part",
            "field perimeter",
            "casing",
            "overhang",
            "centre",
            "whole bore",
        )
        plain = plain or row["rule"].startswith("this site/")
        if (
            piece is None
            or row["says"] != "at least"
            or not plain
            or (sloped and piece.part == "trench")
        ):
            continue
        if feature is None and (row["feature"] != "parcel" or "whole bore" in row["from"]):
            continue
        if row["from"] in ("shore", "water depth"):
            continue
        near = _apart(site, piece, Asked(piece.part, "", 0.0, measure, ""), feature)
        # rounded shapes reach a little beyond the true ones: never in favour of fitting
        beyond = 0.03 * around(feature, site.unit_m, measure) if feature else 0.0
        if not near - slack - beyond < row["provided_m"] < near + slack:
            said = f"says {row['provided_m']} m, measured {near:.4f}"
            yield f"row {row['element']} to {row['feature']} {said}"


def _spacing(site: SiteAsWritten, summary: dict[str, Any]) -> Iterator[str]:
    """Elements from each other, bent trenches from themselves, by what the site file asks."""
    least = _least(site, summary)
    elements = summary["elements"]
    for one, other in itertools.combinations(elements, 2):
        first, second = (
            LineString(e["line_m"]) if e["kind"] == "trench" else Point(e["x_m"], e["y_m"])
            for e in (one, other)
        )
        near = float(first.distance(second))
        if one["kind"] == "coil":
            near -= (one["diameter_m"] + other["diameter_m"]) / 2
        if one.get("tilt_deg") or other.get("tilt_deg"):
            near, mean = _in_space(one, other)
            if mean < least - LAST_M:
                yield f"{one['id']} and {other['id']} are {mean:.3f} m apart on average"
            pad = site.values["vertical"].get("pad", {})
            if near < metres(pad.get("collar_spacing", "6 ft"), site.unit_m) - LAST_M:
                yield f"{one['id']} and {other['id']} come as near as {near:.3f} m"
        elif near < least - LAST_M:
            yield f"{one['id']} and {other['id']} are {near:.3f} m apart, {least:.3f} asked"
    for each in elements:
        if each["kind"] == "trench" and len(each["line_m"]) > 2:
            yield from _bends(each["id"], LineString(each["line_m"]), least)


def _least(site: SiteAsWritten, summary: dict[str, Any]) -> float:
    """Least distance asked for between elements of the loop type drawn [m]."""
    keys = {
        "horizontal": ("spacing", "10 ft"), "vertical": ("spacing", "20 ft"),
        "pond": ("gap", "3 ft"), "open": ("separation", "50 ft"),
    }  # fmt: skip
    key, usual = keys[summary["drawn"]]
    asked = site.values.get(summary["drawn"], {}).get(key, usual)
    if isinstance(asked, dict):
        asked = asked.get("least", usual)
    least = metres(asked, site.unit_m)
    grid = site.values.get("vertical", {}).get("grid", {})
    if summary["drawn"] == "vertical" and "spacing" in grid:
        across = grid.get("row_spacing", grid["spacing"])
        least = min(metres(grid["spacing"], site.unit_m), metres(across, site.unit_m))
    return least


def _in_space(one: dict[str, Any], other: dict[str, Any]) -> tuple[float, float]:
    """Least and mean distance of two bores in space, at equal depth along them [m]."""
    ends = []
    for each in (one, other):
        top = np.array([each["x_m"], each["y_m"], 0.0])
        toe = (
            np.array([*each["toe_m"][:2], each["toe_m"][2]])
            if each.get("tilt_deg")
            else top + np.array([0, 0, each["depth_m"]])
        )
        ends.append((top, (toe - top) / each["depth_m"], each["depth_m"]))
    (a, u, long_a), (b, v, long_b) = ends
    s = np.linspace(0.0, min(long_a, long_b), 2001)
    mean = float(np.linalg.norm(a + s[:, None] * u - b - s[:, None] * v, axis=1).mean())
    p = a + np.linspace(0.0, long_a, 400)[:, None] * u
    q = b + np.linspace(0.0, long_b, 400)[:, None] * v
    return float(np.linalg.norm(p[:, None] - q[None], axis=2).min()), mean


def _bends(name: str, line: LineString, least: float) -> Iterator[str]:
    """A trench that comes back keeps the spacing from itself, half of its way round a bend on."""
    ways = np.arange(0.0, line.length, least / 12)
    spots = shapely.get_coordinates(shapely.line_interpolate_point(line, ways))
    apart = np.linalg.norm(spots[:, None] - spots[None], axis=2)
    way = np.abs(ways[:, None] - ways[None])
    if line.is_ring:
        way = np.minimum(way, line.length - way)
    near = apart[way > 1.75 * least]
    if near.size and near.min() < least - 0.05:
        yield f"{name} comes back to itself within {near.min():.3f} m, {least:.3f} asked"


def _header(site: SiteAsWritten, summary: dict[str, Any], slack: float) -> Iterator[str]:
    """The header: a tree from an entry to every element, across nothing that it may not cross."""
    header = summary["header"]
    if not header or not header["runs_m"]:
        return
    runs = [LineString(run) for run in header["runs_m"]]
    whole = MultiLineString(runs)
    parts = list(runs)
    groups = shapely.get_parts(shapely.union_all([run.buffer(0.003) for run in parts]))
    if len(groups) > 1:
        yield f"the header lies in {len(groups)} pieces"
    supply = site.values.get("open", {}).get("supply")
    for each in summary["elements"]:
        end = (
            LineString(each["line_m"])
            if each["kind"] == "trench"
            else Point(each["x_m"], each["y_m"])
        )
        existing = each.get("role") == "supply" and supply
        if whole.distance(end) > 0.003 and not existing:
            yield f"the header does not reach {each['id']}"
    if site.entries and min(whole.distance(entry) for entry in site.entries) > 0.02:
        walls = [f.shape.boundary for f in site.features if f.kind == "building"]
        if min((whole.distance(wall) for wall in walls), default=1.0) > 0.02:
            yield "the header begins at no entry"
    yield from _crossed(site, summary, whole, slack)


def _crossed(
    site: SiteAsWritten, summary: dict[str, Any], whole: MultiLineString, slack: float
) -> Iterator[str]:
    ponds = {each.get("pond") for each in summary["elements"]}
    told = summary["header"]["crossings"]
    for feature in site.features:
        if feature.kind == "depth contour" or feature.id in ponds or feature.kind == "lent ground":
            continue
        if feature.kind == "potable well" and feature.id == site.values.get("open", {}).get(
            "supply"
        ):
            continue
        solid = isinstance(feature.shape, Polygon)
        inner = feature.shape.buffer(-slack) if solid else feature.shape
        hit = whole.intersection(inner)
        if feature.kind in NEVER and not hit.is_empty:
            yield f"the header crosses {feature.id}"
        deep = (hit.length > 0.05) if solid else whole.crosses(feature.shape)
        tips = [tip for tip in _tips(feature) if whole.distance(tip) < IN_TRENCH_M + slack]
        deep = deep or any(whole.distance(tip) < IN_TRENCH_M - slack for tip in tips)
        own = [each for each in told if each["feature"] == feature.id]
        if feature.kind not in NEVER and deep and not own:
            yield f"the header crosses {feature.id} and no crossing is told"
        for each in own:
            spot = Point(each["x_m"], each["y_m"])
            away = min([whole.distance(spot), *(tip.distance(spot) for tip in tips)])
            if max(away, feature.shape.distance(spot)) > slack:
                yield f"the crossing of {feature.id} lies elsewhere"


def _alongside(site: SiteAsWritten, summary: dict[str, Any], slack: float) -> Iterator[str]:
    """The header trench beside buried lines that it may cross: common practice's 3 ft.

    It may lie nearer where it crosses, and where it begins or joins something, on the length that
    it takes to get off at half a right angle.
    """
    header = summary["header"]
    if not header or not header["runs_m"] or not summary["flow"] or not summary["flow"]["pieces"]:
        return
    whole = MultiLineString(header["runs_m"])
    half = min(piece["width_m"] for piece in summary["flow"]["pieces"]) / 2
    joints = [Point(at) for each in summary["elements"] for at in _ends(each)]
    joints += [Point(header["runs_m"][0][0]), Point(header["runs_m"][-1][-1]), *site.entries]
    for feature in site.features:
        if feature.kind not in BURIED or ("header", feature.kind) in spoken(site):
            continue
        keep = 3 * 0.3048 + half + around(feature, site.unit_m)
        spots = [
            at for at in joints if at.distance(feature.shape) < keep and whole.distance(at) < 0.01
        ]
        cut = whole.intersection(feature.shape)
        spots += [part for part in shapely.get_parts(cut) if part.geom_type == "Point"]
        spots += [tip for tip in _tips(feature) if whole.distance(tip) < IN_TRENCH_M + 1e-3]
        free = [spot.buffer(1.01 * keep / math.sin(math.radians(45)) + slack) for spot in spots]
        rest = whole.difference(shapely.union_all(free)) if free else whole
        if not rest.is_empty and rest.distance(feature.shape) < keep - slack:
            yield f"the header runs {rest.distance(feature.shape):.3f} m beside {feature.id}"


def _tips(feature: Written) -> list[Point]:
    """Where a line stops; of an area or a ring nothing."""
    return [tip for tip in shapely.get_parts(feature.shape.boundary) if isinstance(tip, Point)]


def _ends(element: dict[str, Any]) -> list[Any]:
    line = element.get("line_m")
    return [line[0], line[-1]] if line else [(element["x_m"], element["y_m"])]


def _ways(summary: dict[str, Any]) -> Iterator[str]:
    """The header trench, clear of loop trenches but at their joined ends and squarely across."""
    if not summary["header"] or not summary["header"]["runs_m"]:
        return
    runs = shapely.line_merge(MultiLineString(summary["header"]["runs_m"]))
    # a lot that does not fit may be drawn with what is wrong with it, if that is told
    told = {each["subject"] for each in summary["findings"] if each["code"] == "header-in-trench"}
    for each in summary["elements"]:
        if each["kind"] != "trench" or (not summary["fits"] and each["id"] in told):
            continue
        line = LineString(each["line_m"])
        dug = line.buffer(each["width_m"] - 0.02, cap_style="flat", join_style="mitre")
        ends = [Point(end) for end in (line.coords[0], line.coords[-1])]
        pits = [end.buffer(PIT_M + 0.03) for end in ends if runs.distance(end) < 0.02]
        left = runs.intersection(dug).difference(shapely.union_all(pits))
        longest = max(
            (part.length for part in shapely.get_parts(shapely.line_merge(left))), default=0.0
        )
        if longest > 2 * each["width_m"] / math.sin(math.radians(60)) + 0.01:
            yield f"the header is dug {longest:.2f} m along {each['id']}"
    for one in summary["crossovers"]:
        for each in summary["elements"]:
            if each["id"] not in one["trenches"]:
                ground = LineString(each["line_m"]).buffer(
                    each["width_m"] / 2, cap_style="flat", join_style="mitre"
                )
                if LineString(one["line_m"]).intersection(ground).length > 0.03:
                    yield f"{one['id']} crosses {each['id']}"


def _water(site: SiteAsWritten, summary: dict[str, Any], slack: float) -> Iterator[str]:
    """Coils in their pond, off its shore, under water that is known to be so deep."""
    wanted = site.values.get("pond", {})
    shore, deep, stands = (
        metres(wanted.get(key, usual), site.unit_m)
        for key, usual in (("shore", "10 ft"), ("water_depth", "8 ft"), ("height", "18 in"))
    )
    for each in summary["elements"]:
        if each["kind"] != "coil":
            continue
        pond = next(f for f in site.features if f.id == each["pond"])
        at, reach = Point(each["x_m"], each["y_m"]), each["diameter_m"] / 2
        off = at.distance(pond.shape.boundary) - reach
        if not pond.shape.contains(at) or off < shore - slack:
            yield f"{each['id']} is {off:.3f} m off the shore, {shore:.3f} asked"
        depth = _depth_under(at, reach, pond, site) - stands
        if depth < deep - slack:
            yield f"{each['id']} lies under {depth:.2f} m of water, {deep:.2f} asked"


def _depth_under(at: Point, reach: float, pond: Any, site: SiteAsWritten) -> float:
    """Least depth around a coil: by its sides of three to one, or linear between its contours."""
    rings = [f for f in site.features if f.kind == "depth contour"]
    if not rings:
        known = pond.says.get("depth", 0.0)
        full = 0.0 if known == "unknown" else metres(known, site.unit_m)
        return min(full, (at.distance(pond.shape.boundary) - reach) / 3.0)
    places: dict[tuple[float, ...], float] = {}
    lines = [(pond.shape.boundary, 0.0)]
    lines += [(ring.shape.boundary, metres(ring.says["depth"], site.unit_m)) for ring in rings]
    for line, depth in lines:
        for place in shapely.get_coordinates(shapely.segmentize(line, 1.0)):
            places[tuple(place)] = depth
    linear = LinearNDInterpolator(list(places), list(places.values()))
    rim = shapely.get_coordinates(at.buffer(reach, quad_segs=12))
    return float(np.nan_to_num(linear(rim)).min())
