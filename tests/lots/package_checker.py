"""What does not agree within a written package, worked out without the package that wrote it."""

from __future__ import annotations

import csv
import hashlib
import io
import itertools
import json
import math
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

import ezdxf
import layout_checker
import site_as_written
from ezdxf.document import Drawing
from shapely import LineString, Point, Polygon
from site_as_written import SiteAsWritten

LAST_DIGIT = 0.011
"""Two places are read to a hundredth of the display unit each, or finer."""
FOOT_M = 0.3048
UPPER = ("at most", "no deeper than")
DRAWN_UNIT = {2: FOOT_M, 6: 1.0}
"""Metres by ``$INSUNITS`` of a drawing: feet and metres (DXF reference)."""
DEGREE_M = 111_200.0


def violations(folder: Path, site: Path | None = None) -> list[str]:
    """What is wrong with a package, one sentence each; empty where nothing was found.

    Checked: checksums, elements.csv against summary.json, tapes and base lines, rows of separations
    by their own figures, spacing, sums of circuits and header, the take-off's lengths, the
    drawing's elements; with the site file also all that `layout_checker` measures, the parcel
    as drawn, tie points, latitude and longitude.
    """
    summary = json.loads((folder / "summary.json").read_text(encoding="utf-8"))
    drawing = _read((folder / "plan.dxf").read_text(encoding="utf-8"))
    found = [
        *_checksums(folder), *_elements(folder, summary), *_tapes(folder), *_base_lines(folder),
        *_separations(summary), *_spacing(summary), *_sums(summary), *_take_off(folder, summary),
        *_drawn(drawing, summary),
    ]  # fmt: skip
    if site is not None:
        written = site_as_written.read(site)
        found += [
            *_parcel_drawn(drawing, written), *_tie_points(folder, written),
            *_degrees(folder, written), *layout_checker.faults(written, summary),
        ]  # fmt: skip
    return found


@lru_cache(maxsize=1)
def _read(text: str) -> Drawing:
    """The drawing of a package, which most of what is changed in one leaves as it was."""
    return ezdxf.read(io.StringIO(text))


def _rows(path: Path) -> tuple[float, list[dict[str, str]]]:
    """Metres in the display unit, and the rows with columns named without it."""
    with path.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
        metric = path.read_text(encoding="utf-8-sig").find("easting_m") > 0
    end = "_m" if metric else "_ft"
    plain = [{key.removesuffix(end): value for key, value in row.items()} for row in rows]
    return (1.0 if metric else FOOT_M), plain


def _checksums(folder: Path) -> Iterator[str]:
    for line in (folder / "package.sha256").read_text(encoding="utf-8").splitlines():
        told, name = line.split(maxsplit=1)
        if hashlib.sha256((folder / name).read_bytes()).hexdigest() != told:
            yield f"checksum of {name} is another"


def _elements(folder: Path, summary: dict[str, Any]) -> Iterator[str]:
    """Rows of elements.csv: place, end, length, depth and bends of each element and crossover."""
    unit, rows = _rows(folder / "elements.csv")
    known = {row["id"]: row for row in rows}
    for element in (*summary["elements"], *summary["crossovers"]):
        row = known.pop(element["id"], None)
        if row is None:
            yield f"{element['id']} is not in elements.csv"
            continue
        for name, own, stated in _cells(element, row, unit):
            if abs(own - stated) > LAST_DIGIT * unit:
                off = f"{abs(own - stated):.3f} m apart"
                yield f"{element['id']} {name} {off} in elements.csv and summary.json"
    yield from (f"{name} of elements.csv is not in summary.json" for name in known)


def _cells(
    element: dict[str, Any], row: dict[str, str], unit: float
) -> Iterator[tuple[str, float, float]]:
    """What a row says and what the summary says [m]."""
    line = element.get("line_m")
    start = line[0] if line else (element["x_m"], element["y_m"])
    here = (float(row["easting"]) * unit, float(row["northing"]) * unit)
    yield "stands", math.dist(here, start), 0.0
    end = line[-1] if line else element.get("toe_m", (None,))[:2]
    if end[0] is not None:
        there = (float(row["end_easting"]) * unit, float(row["end_northing"]) * unit)
        yield "ends", math.dist(there, end), 0.0
    if line:
        yield "has a length", LineString(line).length, float(row["length"]) * unit
        # an apostrophe before a sign says that a cell is text, which no spreadsheet computes
        written = row["bends"].removeprefix("'")
        bends = [each.split() for each in written.split(";") if each.strip()]
        for bend, point in itertools.zip_longest(bends, line[1:-1], fillvalue=(math.inf, math.inf)):
            yield "bends", math.dist((float(bend[0]) * unit, float(bend[1]) * unit), point), 0.0
    if "depth_m" in element and row["depth"]:
        lean = math.cos(math.radians(element.get("tilt_deg", 0.0)))
        yield "has a depth", element["depth_m"] * lean, float(row["depth"]) * unit


def _tapes(folder: Path) -> Iterator[str]:
    _, rows = _rows(folder / "stakes.csv")
    places = {row["id"]: (float(row["easting"]), float(row["northing"])) for row in rows}
    for row, number in itertools.product(rows, range(1, 9)):
        tie, tape = row.get(f"tie_{number}"), row.get(f"tape_{number}")
        if tie and tape:
            off = abs(math.dist(places[row["id"]], places[tie]) - float(tape))
            if off > 2 * LAST_DIGIT:
                yield f"tape from {tie} to {row['id']} is {off:.3f} off"


def _base_lines(folder: Path) -> Iterator[str]:
    """Stations and offsets, from the pegs of each base line; positive to the left.

    What no two corners tie well is set off from a line from corner to corner, "G-D".
    """
    _, rows = _rows(folder / "stakes.csv")
    known = {row["id"]: row for row in rows}
    for row in rows:
        line = row["base_line"]
        if not line or row["what"] == "peg":
            continue
        ends = (line, f"{line} end") if line in known else tuple(line.split("-"))
        near, far = (
            (float(known[name]["easting"]), float(known[name]["northing"])) for name in ends
        )
        long = math.dist(near, far)
        ux, uy = (far[0] - near[0]) / long, (far[1] - near[1]) / long
        x, y = float(row["easting"]) - near[0], float(row["northing"]) - near[1]
        first = _first_station(known[line]) if line in known else 0.0
        for what, own in (("station", first + x * ux + y * uy), ("offset", y * ux - x * uy)):
            if abs(own - float(row[what])) > 2 * LAST_DIGIT:
                yield f"{what} of {row['id']} on {line} is {abs(own - float(row[what])):.3f} off"


def _first_station(peg: dict[str, str]) -> float:
    """Station of the first peg on its own line; where it is set off from another, as remarked."""
    own = peg["base_line"] == peg["id"]
    return float(peg["station"] if own else peg["remark"].rsplit(" ", 1)[1])


def _separations(summary: dict[str, Any]) -> Iterator[str]:
    for row in summary["separations"]:
        required, provided = row["required_m"], row["provided_m"]
        kept = provided <= required if row["says"] in UPPER else provided >= required
        if row["meets"] and not kept:
            yield f"{row['element']} to {row['feature']}: {provided} m is not {required} m"
        if summary["fits"] and not row["meets"]:
            yield f"the lot fits, and {row['element']} to {row['feature']} is not kept"


def _spacing(summary: dict[str, Any]) -> Iterator[str]:
    lines: dict[str, LineString | Point] = {}
    for element in summary["elements"]:
        if element["kind"] == "trench":
            lines[element["id"]] = LineString(element["line_m"])
        elif element["kind"] == "bore" and "toe_m" not in element:
            lines[element["id"]] = Point(element["x_m"], element["y_m"])
    for (one, first), (other, second) in itertools.combinations(lines.items(), 2):
        apart = first.distance(second)
        if not _inclined(summary) and apart < summary["spacing_m"] - 2e-4:
            yield f"{one} and {other} are {apart:.4f} m apart"


def _inclined(summary: dict[str, Any]) -> bool:
    """Whether a bore leans: inclined ones keep their spacing on average over the depth."""
    return any(element.get("tilt_deg") for element in summary["elements"])


def _sums(summary: dict[str, Any]) -> Iterator[str]:
    """Lengths, circuits and header pipes add up."""
    elements = {each["id"]: each for each in summary["elements"]}
    key = {"horizontal": "length_m", "vertical": "depth_m", "pond": "pipe_m"}.get(summary["drawn"])
    if key:
        provided = sum(each[key] for each in elements.values())
        if abs(provided - summary["length_provided_m"]) > 1e-3 + 1e-4 * len(elements):
            yield f"elements have {provided:.3f} m, {summary['length_provided_m']} m told"
        if summary["fits"] and summary["length_provided_m"] < summary["length_required_m"] - 2e-3:
            yield "the lot fits, and less is provided than required"
    header, flow = summary["header"], summary["flow"]
    if header:
        run = sum(LineString(each).length for each in header["runs_m"])
        if abs(run - header["length_m"]) > 1e-3 + 1e-4 * len(header["runs_m"]):
            yield f"the header has {run:.3f} m, {header['length_m']} m told"
    if header and flow and not header["pit"]:
        pieces = sum(each["length_m"] for each in flow["pieces"])
        if abs(pieces - header["length_m"]) > 0.01 + 1e-3 * len(flow["pieces"]):
            yield f"pieces of the header have {pieces:.3f} m, {header['length_m']} m told"
    yield from _circuits(summary, elements)


def _circuits(summary: dict[str, Any], elements: dict[str, Any]) -> Iterator[str]:
    """Each element in a circuit, and the pipe of each circuit from what it runs through."""
    circuits = summary["circuits"]
    if not circuits:
        return
    left = {name for each in (summary["flow"] or {}).get("left_over", ()) for name in _names(each)}
    taken = {name for each in circuits for name in each["elements"]}
    for name in elements.keys() - taken - left:
        yield f"{name} is in no circuit"
    for each in circuits:
        own = [elements[name] for name in dict.fromkeys(each["elements"])]
        if own and own[0]["kind"] == "trench" and "coil" in own[0].get("trench", ""):
            continue
        pipe = sum(_pipe(one, each["passes"]) for one in own) + each["connecting_m"]
        if own[0]["kind"] != "trench" and abs(pipe - each["length_m"]) > 0.01 * len(own):
            yield f"{each['id']} has {pipe:.2f} m of pipe, {each['length_m']} m told"
    flow = summary["flow"] or {}
    if flow.get("total_l_s") and flow.get("circuit_l_s"):
        total = flow["circuit_l_s"] * len(circuits)
        if abs(total - flow["total_l_s"]) > 0.02 * flow["total_l_s"] + 1e-3 * len(circuits):
            yield f"circuits carry {total:.3f} L/s, {flow['total_l_s']} L/s told"


def _names(each: Any) -> tuple[str, ...]:
    return (each,) if isinstance(each, str) else tuple(each.get("elements", ()))


def _pipe(element: dict[str, Any], passes: int) -> float:
    if element["kind"] == "trench":
        return float(passes * element["length_m"])
    return float(element.get("pipe_m") or 2 * element["depth_m"])


def _take_off(folder: Path, summary: dict[str, Any]) -> Iterator[str]:
    """takeoff.csv as in the summary; its trench, bores and pipe no less than what is laid out."""
    with (folder / "takeoff.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    listed = summary["take_off"]
    for row, told in itertools.zip_longest(rows, listed, fillvalue={}):
        same = row.get("item") == told.get("item") and row.get("unit") == told.get("unit")
        if not same or abs(float(row["quantity"].replace(",", "")) - told["quantity"]) > 1e-6:
            yield f"takeoff.csv says {row.get('item')} where summary.json says {told.get('item')}"
            return
    metre = {"ft": FOOT_M, "m": 1.0}
    sums = {
        "exchanger trench": sum(
            e["length_m"] for e in summary["elements"] if e["kind"] == "trench"
        ),
        "circuit pipe": sum(each["length_m"] for each in summary["circuits"]),
    }
    for item, own in sums.items():
        lines = [row for row in listed if row["item"] == item and row["unit"] in metre]
        bought = sum(row["quantity"] * metre[row["unit"]] for row in lines)
        if lines and not own - 0.02 <= bought <= own + 1.1 * len(lines):
            yield f"the take-off has {bought:.2f} m of {item}, laid out are {own:.2f} m"


def _drawn(drawing: Drawing, summary: dict[str, Any]) -> Iterator[str]:
    """Elements as the drawing has them, by their marks, in the place and length told."""
    unit = DRAWN_UNIT[drawing.header["$INSUNITS"]]
    places: dict[str, list[Any]] = {}
    for entity in drawing.modelspace():
        if entity.dxftype() not in ("LWPOLYLINE", "INSERT") or not entity.has_xdata(
            "SITEPLAN_ELEMENT"
        ):
            continue
        marks = [tag.value for tag in entity.get_xdata("SITEPLAN_ELEMENT") if tag.code == 1000]
        name = next(mark[8:] for mark in marks if mark.startswith("element="))
        if entity.dxftype() == "INSERT":
            places.setdefault(name, []).append(
                [(entity.dxf.insert.x * unit, entity.dxf.insert.y * unit)]
            )
        elif entity.dxf.layer == "M-GHEX-TRCH-N":
            places.setdefault(name, []).append(
                [(x * unit, y * unit) for x, y in entity.get_points("xy")]
            )
    for element in summary["elements"]:
        drawn = places.get(element["id"], [])
        if not drawn:
            yield f"{element['id']} is not in plan.dxf"
        line = element.get("line_m")
        for shape in drawn:
            if line and len(shape) > 1:
                off = LineString(shape).hausdorff_distance(LineString(line))
            else:
                off = math.dist(shape[0], line[0] if line else (element["x_m"], element["y_m"]))
            if off > 0.012:
                yield f"{element['id']} is drawn {off:.3f} m from where it is listed"


def _parcel_drawn(drawing: Drawing, site: SiteAsWritten) -> Iterator[str]:
    """The property line on the drawing, against the site file's."""
    unit = DRAWN_UNIT[drawing.header["$INSUNITS"]]
    lines = [
        [(x * unit, y * unit) for x, y in entity.get_points("xy")]
        for entity in drawing.modelspace().query("LWPOLYLINE")
        if entity.dxf.layer == "V-PROP-LINE-E"
    ]
    if not lines:
        yield "no property line is drawn"
        return
    drawn = Polygon(max(lines, key=len))
    off = drawn.boundary.hausdorff_distance(site.parcel.boundary)
    if off > (layout_checker.FRAME_M if site.centre else layout_checker.LAST_M):
        yield f"the property line is drawn {off:.4f} m off"


def _tie_points(folder: Path, site: SiteAsWritten) -> Iterator[str]:
    """Tie points are corners of a building or of the lot, as the site file has them."""
    unit, rows = _rows(folder / "stakes.csv")
    corners = [site.parcel, *(f.shape for f in site.features if f.kind == "building")]
    spots = [Point(at) for shape in corners for at in shape.exterior.coords]
    for row in rows:
        if row["what"] in ("building corner", "property corner"):
            here = Point(float(row["easting"]) * unit, float(row["northing"]) * unit)
            off = min(here.distance(spot) for spot in spots)
            if off > layout_checker.FRAME_M:
                yield f"tie point {row['id']} is {off:.3f} m from any corner"


def _degrees(folder: Path, site: SiteAsWritten) -> Iterator[str]:
    """Latitude and longitude, where the lot has a coordinate system and nowhere else."""
    for name, slack in (("stakes.csv", 0.03), ("elements.csv", 0.15)):
        unit, rows = _rows(folder / name)
        for row in rows:
            if bool(row["latitude"]) != (site.centre is not None):
                yield f"{row['id']} of {name}: latitude {row['latitude']!r}"
            elif site.centre is not None:
                lon, lat = site.lon_lat(float(row["easting"]) * unit, float(row["northing"]) * unit)
                east = (float(row["longitude"]) - lon) * DEGREE_M * math.cos(math.radians(lat))
                off = math.hypot(east, (float(row["latitude"]) - lat) * DEGREE_M)
                if off > slack:
                    yield f"{row['id']} of {name} lies {off:.3f} m off on the earth"
