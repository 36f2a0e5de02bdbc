"""Plausible lots from a seed, written as site files: all kinds of features, all loop types.

A lot is thought up in metres with the street in the south, then turned, put somewhere and written
in its own units, in the site file itself or in files beside it. The same lot can be written turned,
mirrored, shifted or with other names: what is planned on it should stay the same.
"""

from __future__ import annotations

import json
import math
import random
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import geopandas
import shapely
from random_ground import Thought, thought_up
from random_wishes import plain
from shapely import Point, Polygon
from shapely.geometry.base import BaseGeometry

XY = tuple[float, float]
FOOT_M: Final = 0.3048
BEARING: Final = re.compile(r'direction = "([NS] [\d.]+ [EW])"')
"""Of the groundwater, in a site file."""
TWINS: Final = ("turned", "mirrored", "shifted", "renamed")
SYSTEMS: Final = {
    "EPSG:26986": (236_000.0, 901_000.0, 1.0),
    "EPSG:2249": (774_000.0, 2_956_000.0, 1200 / 3937),
    "EPSG:26915": (480_000.0, 4_980_000.0, 1.0),
    "EPSG:25832": (560_000.0, 5_610_000.0, 1.0),
    "EPSG:2056": (2_683_000.0, 1_247_000.0, 1.0),
}
"""Coordinate systems of files: a place in each (EPSG registry), and its unit [m]."""
DEGREES: Final = ((-72.6, 42.3), (-89.3, 44.8), (8.5, 50.6), (-122.4, 47.1))


@dataclass(frozen=True)
class Placed:
    """How a lot is turned and put somewhere, and which twin of it that is."""

    turn_deg: float
    east_m: float
    north_m: float
    mirrored: bool = False
    prefix: str = ""

    def of(self, shape: BaseGeometry) -> BaseGeometry:
        """A shape of the lot where it is put."""
        if self.mirrored:
            shape = shapely.affinity.scale(shape, xfact=-1.0, origin=(0, 0))
        turned = shapely.affinity.rotate(shape, self.turn_deg, origin=(0, 0))
        return shapely.affinity.translate(turned, self.east_m, self.north_m)


def write_lot(seed: int, folder: Path, twin: str = "") -> Path:
    """Site file of a random lot, with the files that it names; ``twin``: one of `TWINS`."""
    r = random.Random(seed)
    lot = thought_up(r)
    form = r.choices(("own", "own far", "geojson", "degrees", "layers"), (5, 3, 2, 1, 1))[0]
    turn = r.choice((0.0, 0.0, r.uniform(-180, 180), r.uniform(-180, 180)))
    place = (r.uniform(-50, 300), r.uniform(-50, 300))
    if form == "own far":
        place = (r.uniform(1e5, 9e5), r.uniform(1e5, 4e6))
    extra = random.Random(f"twin {seed} {twin}")
    put = Placed(
        turn + (extra.uniform(20, 340) if twin == "turned" else 0.0),
        place[0] + (extra.uniform(-900, 900) if twin == "shifted" else 0.0),
        place[1] + (extra.uniform(-900, 900) if twin == "shifted" else 0.0),
        mirrored=twin == "mirrored",
        prefix="zz" if twin == "renamed" else "",
    )
    folder.mkdir(parents=True, exist_ok=True)
    _name(lot, put.prefix)
    system = r.choice(sorted(SYSTEMS))
    writer = {"geojson": _in_geojson, "degrees": _in_degrees, "layers": _in_layers}.get(form)
    text = writer(lot, put, folder, system) if writer else _in_itself(lot, put)
    path = folder / "site.toml"
    wanted = BEARING.sub(lambda told: _flow(told[1], turn, put), lot.wanted)
    path.write_text(_heads(lot, put, seed) + text + wanted, encoding="utf-8")
    return path


def _flow(bearing: str, turn_deg: float, put: Placed) -> str:
    """Direction of the groundwater, turned or mirrored with a lot that was turned otherwise.

    The lot itself keeps what is stated: it is a twin's water that flows across it as its own does.

    Examples
    --------
    >>> _flow("N 10 E", 0.0, Placed(30.0, 0.0, 0.0)), _flow("N 10 E", 30.0, Placed(30.0, 0.0, 0.0))
    ('direction = "N 20 W"', 'direction = "N 10 E"')
    >>> _flow("S 5 W", 0.0, Placed(0.0, 0.0, 0.0, mirrored=True))
    'direction = "S 5 E"'
    """
    north, angle, east = bearing.split()
    degrees = float(angle) * (1 if east == "E" else -1)
    azimuth = degrees if north == "N" else 180.0 - degrees
    # in the lot as it was thought up, then as it is put
    azimuth += turn_deg
    azimuth = (-azimuth if put.mirrored else azimuth) - put.turn_deg
    azimuth = (round(azimuth, 6) + 180.0) % 360.0 - 180.0
    north, angle_deg = ("N", azimuth) if abs(azimuth) <= 90.0 else ("S", 180.0 - abs(azimuth))
    return f'direction = "{north} {round(abs(angle_deg), 6):.9g} {"E" if azimuth >= 0.0 else "W"}"'


def _name(lot: Thought, prefix: str) -> None:
    """An id for each thing that needs one; contours come without."""
    counts: dict[str, int] = {}
    for thing in lot.things:
        counts[thing.kind] = counts.get(thing.kind, 0) + 1
        thing.id = f"{prefix}{thing.kind.replace(' ', '-')}-{counts[thing.kind]}"
    ponds = [thing.id for thing in lot.things if thing.kind == "pond"]
    for thing in lot.things:
        if thing.kind == "depth contour" and len(ponds) > 1:
            thing.says["pond"] = ponds[0]
    for word in ("potable well", "driveway"):
        first = f"{prefix}{word.replace(' ', '-')}-1"
        lot.wanted = lot.wanted.replace(f"<{word}>", first)


def _heads(lot: Thought, put: Placed, seed: int) -> str:
    """Title block; the texts that an office writes there."""
    owner = "Z. Zander" if put.prefix else "A. Owner"
    return (
        f'[project]\ntitle = "Loop field, lot {seed}"\nowner = "{owner}"\n'
        f'address = "{seed} Mill Road"\n'
        'parcel_id = "07-112"\nlegal_description = "Lot 4, block 2"\nprepared_by = "P. Preparer"\n'
        'contractor = "Fernhollow Loops"\nlicense_number = "GL-0417"\nchecked_by = "C. Checker"\n'
        f'date = 2026-03-14\nunits = "{"m" if lot.metric else "ft"}"\n'
    )


def _points(shape: BaseGeometry) -> list[XY]:
    """Corners of a shape as they are listed; of an outline without the first once more."""
    if isinstance(shape, Polygon):
        return [(float(x), float(y)) for x, y in shape.exterior.coords][:-1]
    return [(float(x), float(y)) for x, y in shape.coords]


def _in_itself(lot: Thought, put: Placed) -> str:
    """Parcel, features and entries in the site file, in its unit."""
    unit = 1.0 if lot.metric else FOOT_M

    def listed(shape: BaseGeometry) -> str:
        return json.dumps(
            [[round(x / unit, 3), round(y / unit, 3)] for x, y in _points(put.of(shape))]
        )

    text = f"[geometry]\nparcel = {listed(lot.parcel)}\n"
    for thing in lot.things:
        text += f'[[feature]]\nid = "{thing.id}"\nkind = "{thing.kind}"\n'
        text += "".join(f"{key} = {plain(value)}\n" for key, value in thing.says.items())
        key = {"Point": "at", "LineString": "line", "Polygon": "area"}[thing.shape.geom_type]
        text += f"{key} = {listed(thing.shape)[1:-1] if key == 'at' else listed(thing.shape)}\n"
    for number, at in enumerate(lot.entries, 1):
        text += f'[[entry]]\nid = "door {number}"\nat = {listed(Point(at))[1:-1]}\n'
    return text


def _told(lot: Thought, put: Placed) -> list[tuple[dict[str, Any], BaseGeometry]]:
    """Parcel, features and entries with their properties, where they are put [m]."""
    told: list[tuple[dict[str, Any], BaseGeometry]] = [({"kind": "parcel"}, put.of(lot.parcel))]
    told += [({"kind": t.kind, "id": t.id, **t.says}, put.of(t.shape)) for t in lot.things]
    for number, at in enumerate(lot.entries, 1):
        told.append(({"kind": "entry", "id": f"door {number}"}, put.of(Point(at))))
    return told


def _collection(
    told: Sequence[tuple[dict[str, Any], BaseGeometry]], move: Callable[[XY], XY], crs: str
) -> str:
    features = []
    for says, shape in told:
        moved = shapely.transform(shape, lambda xy: [move((x, y)) for x, y in xy])
        features.append(
            {
                "type": "Feature",
                "properties": says,
                "geometry": json.loads(shapely.to_geojson(moved)),
            }
        )
    whole: dict[str, Any] = {"type": "FeatureCollection", "features": features}
    if crs:
        whole["crs"] = {"type": "name", "properties": {"name": crs}}
    return json.dumps(whole, indent=1)


def _in_geojson(lot: Thought, put: Placed, folder: Path, system: str) -> str:
    """All in a GeoJSON file in a projected system."""
    east, north, unit = SYSTEMS[system]

    def move(xy: XY) -> XY:
        return round(east + xy[0] / unit, 4), round(north + xy[1] / unit, 4)

    told = _told(lot, put)
    (folder / "lot.geojson").write_text(_collection(told, move, ""), encoding="utf-8")
    return f'[geometry]\nfile = "lot.geojson"\ncrs = "{system}"\n'


def _in_degrees(lot: Thought, put: Placed, folder: Path, system: str) -> str:
    """All in a GeoJSON file in longitude and latitude, to a millimetre or so."""
    lon, lat = DEGREES[len(system) * len(lot.things) % len(DEGREES)]
    per_m = 1 / (math.cos(math.radians(lat)) * 111_320.0)

    def move(xy: XY) -> XY:
        return round(lon + xy[0] * per_m, 8), round(lat + xy[1] / 111_130.0, 8)

    (folder / "lot.geojson").write_text(_collection(_told(lot, put), move, ""), encoding="utf-8")
    return '[geometry]\nfile = "lot.geojson"\n'


def _in_layers(lot: Thought, put: Placed, folder: Path, system: str) -> str:
    """The parcel and buildings as layers of a county's file, the rest in a file of its own."""
    east, north, unit = SYSTEMS[system]

    def move(xy: XY) -> XY:
        return round(east + xy[0] / unit, 4), round(north + xy[1] / unit, 4)

    told = _told(lot, put)
    moved = [
        (says, shapely.transform(s, lambda xy: [move((x, y)) for x, y in xy])) for says, s in told
    ]
    parcel = moved[0][1]
    beside = shapely.affinity.translate(parcel, 400 / unit, 0)
    county = folder / "county.gpkg"
    frame = geopandas.GeoDataFrame(
        {"PIN": ["12-034", "12-035"]}, geometry=[parcel, beside], crs=system
    )
    frame.to_file(county, layer="parcels", driver="GPKG")
    houses = [(says["id"], shape) for says, shape in moved if says["kind"] == "building"]
    frame = geopandas.GeoDataFrame(
        {"BID": [name for name, _ in houses]}, geometry=[shape for _, shape in houses], crs=system
    )
    frame.to_file(county, layer="footprints", driver="GPKG")
    rest = [(says, shape) for says, shape in told[1:] if says["kind"] != "building"]
    (folder / "lot.geojson").write_text(_collection(rest, move, ""), encoding="utf-8")
    return (
        '[[geometry.layer]]\nfile = "county.gpkg"\nlayer = "parcels"\n'
        'where = "PIN = 12-034"\nkind = "parcel"\n'
        '[[geometry.layer]]\nfile = "county.gpkg"\nlayer = "footprints"\n'
        'kind = "building"\ncolumns = { id = "BID" }\n'
        f'[[geometry.layer]]\nfile = "lot.geojson"\ncrs = "{system}"\n'
    )
