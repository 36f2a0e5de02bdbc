"""What does not agree within a written package, worked out without the package that wrote it."""

from __future__ import annotations

import csv
import hashlib
import itertools
import json
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from shapely import LineString, Point

LAST_DIGIT = 0.011
"""Two places are read to a hundredth of the display unit each, or finer."""
FOOT_M = 0.3048
UPPER = ("at most", "no deeper than")


def violations(folder: Path) -> list[str]:
    """What is wrong with a package, one sentence each; empty where nothing was found.

    Checked: checksums, elements.csv against summary.json, tapes, rows of separations by their
    own figures, spacing of straight trenches and vertical bores.
    """
    summary = json.loads((folder / "summary.json").read_text(encoding="utf-8"))
    return [
        *_checksums(folder),
        *_elements(folder, summary),
        *_tapes(folder),
        *_separations(summary),
        *_spacing(summary),
    ]


def _rows(path: Path) -> tuple[float, list[dict[str, str]]]:
    """Metres in the display unit, and the rows with columns named without it."""
    with path.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    metric = bool(rows) and "easting_m" in rows[0]
    end = "_m" if metric else "_ft"
    plain = [{key.removesuffix(end): value for key, value in row.items()} for row in rows]
    return (1.0 if metric else FOOT_M), plain


def _checksums(folder: Path) -> Iterator[str]:
    for line in (folder / "package.sha256").read_text(encoding="utf-8").splitlines():
        told, name = line.split(maxsplit=1)
        if hashlib.sha256((folder / name).read_bytes()).hexdigest() != told:
            yield f"checksum of {name} is another"


def _elements(folder: Path, summary: dict[str, Any]) -> Iterator[str]:
    unit, rows = _rows(folder / "elements.csv")
    known = {row["id"]: row for row in rows}
    for element in summary["elements"]:
        row = known.get(element["id"])
        if row is None:
            yield f"{element['id']} is not in elements.csv"
            continue
        here = (float(row["easting"]) * unit, float(row["northing"]) * unit)
        off = math.dist(here, (element["x_m"], element["y_m"]))
        if off > LAST_DIGIT * unit:
            yield f"{element['id']} stands {off:.3f} m apart in elements.csv and summary.json"


def _tapes(folder: Path) -> Iterator[str]:
    _, rows = _rows(folder / "stakes.csv")
    places = {row["id"]: (float(row["easting"]), float(row["northing"])) for row in rows}
    for row, number in itertools.product(rows, (1, 2)):
        tie, tape = row[f"tie_{number}"], row[f"tape_{number}"]
        if tie and tape:
            off = abs(math.dist(places[row["id"]], places[tie]) - float(tape))
            if off > 2 * LAST_DIGIT:
                yield f"tape from {tie} to {row['id']} is {off:.3f} off"


def _separations(summary: dict[str, Any]) -> Iterator[str]:
    for row in summary["separations"]:
        required, provided = row["required_m"], row["provided_m"]
        kept = provided <= required if row["says"] in UPPER else provided >= required
        if row["meets"] and not kept:
            yield f"{row['element']} to {row['feature']}: {provided} m is not {required} m"


def _spacing(summary: dict[str, Any]) -> Iterator[str]:
    lines: dict[str, LineString | Point] = {}
    for element in summary["elements"]:
        if element["kind"] == "trench" and len(element["line_m"]) == 2:
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
