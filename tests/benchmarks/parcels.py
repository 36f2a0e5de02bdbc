"""Trench fields on the parcels of a file: what fits, how it is laid, and what it costs in time.

A house, a drive, a well, a septic tank and a drainfield are put on each parcel by a seeded script,
so that anybody with a parcel file gets the same lots. Nothing is asserted: every figure is printed.
``--loads`` gives a house of 36 MBH where else 577 m of trench are given, so that kinds of trench
are compared; ``--walls`` leaves the wall of the entry open.

    python tests/benchmarks/parcels.py parcels.gpkg --most 100
"""

from __future__ import annotations

import argparse
import math
import random
import statistics
import time
from collections import Counter
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any, Final

import geopandas
import numpy as np
import shapely
from scipy.sparse.csgraph import connected_components
from shapely import LineString, Point, Polygon, box
from shapely.affinity import rotate, translate

import siteplan
from siteplan.available.prepared import lot_of
from siteplan.checks.header_in_trench import header_in_trench_findings
from siteplan.design.evaluate import Trial, try_system
from siteplan.design.trench_kind import with_trench_kind
from siteplan.layout.elements import Trench
from siteplan.units.lengths import FOOT

HOUSE_M = (12.0, 10.0)
HOUSE_OF_36_MBH: dict[str, Any] = {
    "loads": {
        "heating": "36 MBH",
        "heating_hours": 2100,
        "cooling": "18 MBH",
        "cooling_hours": 450,
    },
    "ground": {
        "temperature": "49 F",
        "swing": "22 F",
        "coldest_day": "3 February",
        "soil": "heavy sand, 15 % water",
        "frost": "4 ft",
    },
    "fluid": {"mixture": "propylene glycol 30 %", "coldest": "30 F"},
}
"""An invented house on invented ground."""
APART: Final = 1.5
"""Trenches of one block stand at most so many times the least distance apart."""


def parcels_of(path: Path) -> list[tuple[str, Polygon]]:
    """Parcels of a file in metres, each moved to its own corner, with a name."""
    frame = geopandas.read_file(path)
    if frame.crs is not None and frame.crs.is_geographic:
        frame = frame.to_crs(frame.estimate_utm_crs())
    found = []
    for index, shape in zip(frame.index, frame.geometry, strict=True):
        part = max(shapely.get_parts(shape), key=lambda piece: piece.area)
        west, south, _, _ = part.bounds
        found.append((str(index), Polygon(translate(part, -west, -south).exterior)))
    return found


def lot_on(parcel: Polygon, seed: int) -> dict[str, Any] | None:
    """Tables of a site file for a parcel; None where no house has room."""
    dice = random.Random(seed)
    ring = parcel.exterior
    edges = [LineString(pair) for pair in zip(ring.coords[:-1], ring.coords[1:], strict=True)]
    street = max(edges, key=lambda edge: edge.length)
    (x1, y1), (x2, y2) = street.coords
    turn = math.degrees(math.atan2(y2 - y1, x2 - x1))
    room = parcel.buffer(-10.0)
    if room.is_empty:
        return None
    middle = room.representative_point()
    house = rotate(box(*(-side / 2 for side in HOUSE_M), *(side / 2 for side in HOUSE_M)), turn)
    house = translate(house, middle.x, middle.y)
    if not parcel.buffer(-3.0).covers(house):
        return None
    front = street.interpolate(street.project(middle))
    drive = LineString([front, middle]).buffer(1.8, cap_style="flat").difference(house)
    drive = max(shapely.get_parts(drive), key=lambda piece: piece.area)

    def place(shape: Polygon, near_m: float, gap_m: float, taken: list[Any]) -> Polygon | None:
        for _ in range(200):
            angle, far = dice.uniform(0, 2 * math.pi), dice.uniform(near_m, near_m + 25)
            put = translate(
                shape, middle.x + far * math.cos(angle), middle.y + far * math.sin(angle)
            )
            free = all(put.distance(other) >= gap_m for other in taken)
            if parcel.buffer(-3.0).covers(put) and free:
                return put
        return None

    tank = place(box(-1, -1.5, 1, 1.5), 10, 3, [house, drive])
    field = place(rotate(box(-6, -3, 6, 3), turn), 16, 6, [house, drive, *([tank] if tank else [])])
    well = place(Point(0, 0).buffer(0.1), 12, 15, [one for one in (tank, field) if one] + [house])
    wall = rotate(Point(HOUSE_M[0] / 2, 0), turn, origin=(0, 0))
    features = [
        {"id": "house", "kind": "building", "area": points_of(house)},
        {"id": "drive", "kind": "driveway", "area": points_of(drive)},
    ]
    if tank is not None:
        features.append({"id": "tank", "kind": "septic tank", "area": points_of(tank)})
    if field is not None:
        features.append({"id": "field", "kind": "drainfield", "area": points_of(field)})
    if well is not None:
        at = [round(well.centroid.x, 3), round(well.centroid.y, 3)]
        features.append({"id": "well", "kind": "potable well", "at": at})
    return {
        "project": {"title": "Parcel", "owner": "Owner", "date": date(2026, 1, 31), "units": "m"},
        "geometry": {"parcel": points_of(parcel)},
        "feature": features,
        "exchanger": {"entry": [[round(middle.x + wall.x, 3), round(middle.y + wall.y, 3)]]},
        "horizontal": {"length": {"given": "577 m", "by": "the benchmark"}},
        "vertical": {"length": {"given": "275 m", "by": "the benchmark"}},
    }


def points_of(shape: Polygon) -> list[list[float]]:
    """Corners of a shape, to the millimetre."""
    return [[round(x, 3), round(y, 3)] for x, y in shape.exterior.coords[:-1]]


def asked_on(values: dict[str, Any], *, loads: bool, walls: bool) -> dict[str, Any]:
    """Tables of a site file with what the benchmark is asked for."""
    values = dict(values)
    if walls:
        values["exchanger"] = {"entry": "any wall"}
    if loads:
        del values["horizontal"], values["vertical"]
        values |= HOUSE_OF_36_MBH
    return values


def blocks_of(trenches: Sequence[LineString]) -> int:
    """Number of blocks: trenches side by side, along one another by a third of the shorter one."""
    if not trenches:
        return 0
    shapes = np.array(trenches)
    gaps = shapely.distance(shapes[:, None], shapes)
    ends = np.array([(line.coords[0], line.coords[-1]) for line in trenches])
    along = ends[:, 1] - ends[:, 0]
    lengths = np.maximum(np.hypot(*along.T), 1e-9)
    along = along / lengths[:, None]
    parallel = np.abs(along @ along.T) > math.cos(math.radians(1.0))
    from_to = np.sort(np.einsum("iek,jk->jie", ends, along), axis=2)
    own = from_to[np.arange(len(ends)), np.arange(len(ends))]
    shared = np.minimum(from_to[..., 1], own[:, None, 1]) - np.maximum(
        from_to[..., 0], own[:, None, 0]
    )
    beside = shared > np.minimum(lengths[:, None], lengths) / 3
    # those in line with one another, end to end, lie nearer than rows do
    rows = parallel & beside & ~np.eye(len(shapes), dtype=bool)
    joined = rows & (gaps <= APART * min(gaps[rows], default=0.0))
    return int(connected_components(joined | joined.T, directed=False)[0])


def figures_of(trial: Trial) -> dict[str, Any]:
    """What matters of a field of trenches."""
    layout = trial.layout
    lengths = [trench.length_m for trench in layout.of(Trench)] if layout is not None else []
    header = layout.header if layout is not None else None
    if not lengths or layout is None or header is None:
        return {"fits": trial.fits, "why": trial.why.code}
    return {
        "fits": trial.fits,
        "why": trial.why.code,
        "kind": layout.of(Trench)[0].kind_name,
        "blocks": blocks_of([trench.line for trench in layout.of(Trench)]),
        "trenches": len(lengths),
        "stubs": sum(length < 0.6 * max(lengths) for length in lengths),
        "uneven": min(lengths) < 0.95 * max(lengths) - 1e-6,
        "header_m": header.length_m,
        "in trench": len(list(header_in_trench_findings(layout))),
    }


def main() -> None:
    """Print one line for each parcel, and what all of them come to."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("file", type=Path)
    parser.add_argument("--most", type=int, default=50, help="parcels looked at, spread evenly")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--system", default="horizontal")
    parser.add_argument("--loads", action="store_true", help="a house; kinds are compared")
    parser.add_argument("--walls", action="store_true", help="the entry is in any wall")
    asked = parser.parse_args()
    parcels = parcels_of(asked.file)
    parcels = parcels[:: max(1, len(parcels) // asked.most)][: asked.most]
    rows, times, errors = [], [], Counter[str]()
    for name, parcel in parcels:
        values = lot_on(parcel, asked.seed)
        if values is None:
            errors["no room for a house"] += 1
            continue
        began = time.process_time()
        try:
            site = siteplan.site_from(asked_on(values, loads=asked.loads, walls=asked.walls))
            lot = with_trench_kind(lot_of(site)).lot
            row = figures_of(try_system(lot, asked.system))
        except Exception as error:
            errors[type(error).__name__] += 1
            print(name, type(error).__name__, str(error)[:200], flush=True)
            continue
        times.append(time.process_time() - began)
        rows.append(row)
        print(name, round(parcel.area), row, f"{times[-1]:.1f} s", flush=True)
    tell(rows, times, errors)


def tell(rows: list[dict[str, Any]], times: list[float], errors: Counter[str]) -> None:
    """What all lots come to."""
    fit = [row for row in rows if row["fits"] and "header_m" in row]
    print(f"lots planned {len(rows)}, left out or failed {dict(errors)}")
    print(f"fit {len(fit)}; headers in trenches {sum(row['in trench'] > 0 for row in fit)}")
    print(f"with stubs {sum(row['stubs'] > 0 for row in fit)}", end="; ")
    print(f"uneven {sum(row['uneven'] for row in fit)}")
    blocks = Counter(row["blocks"] for row in fit)
    kinds = Counter(row["kind"] for row in fit)
    print(f"blocks {dict(sorted(blocks.items()))}; kinds {dict(kinds.most_common())}")
    if fit:
        header = statistics.median(row["header_m"] for row in fit) / FOOT
        trenches = statistics.median(row["trenches"] for row in fit)
        print(f"header {header:.0f} ft and {trenches:.0f} trenches in the median")
    if times:
        mean, worst = statistics.mean(times), max(times)
        print(f"processor time {mean:.2f} s on average, {worst:.1f} s at worst")


if __name__ == "__main__":
    main()
