"""Inputs gone wrong: files of each format that is read, each changed by a seed in one way or two.

What comes out is a folder with a ``site.toml`` and, but for what is drawn in the site file itself,
a file beside it; and the commands that are to be tried on it.
"""

from __future__ import annotations

import io
import json
import os
import random
import shutil
import tomllib
import warnings
import zipfile
from collections.abc import Callable
from copy import deepcopy
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Final

import ezdxf
import geopandas
import pandas
import places
import shapely

FORMATS: Final = (
    "toml",
    "taped",
    "geojson",
    "gpkg",
    "shp",
    "fgb",
    "kml",
    "kmz",
    "zip",
    "gdb",
    "dxf",
    # its library is an extra
    *(("parquet",) if find_spec("pyarrow") else ()),
)
DRIVERS: Final = {
    "gpkg": "GPKG", "fgb": "FlatGeobuf", "kml": "KML", "kmz": "LIBKML", "shp": "ESRI Shapefile",
    "zip": "ESRI Shapefile", "gdb": "OpenFileGDB",
}  # fmt: skip
RAW: Final = "@@RAW{}@@"
RAWS: Final = (
    "9" * 5000, "1e400", "-1e400", "[" * 1000 + "]" * 1000, "[" * 100_000, "NaN", "nan", "inf",
    "-Infinity", "0x" + "f" * 400, "1979-05-27", "\x00", '"\ud83d"', "1_000", "07:32:00",
    '{"a":' * 1000 + "1" + "}" * 1000,
)  # fmt: skip
"""What no library writes, put into the text as it stands."""
VALUES: Final[tuple[Any, ...]] = (
    None, True, False, 0, -1, -0.0, 1e308, -1e308, 1e23, 1e12, 5e-324, 2**63, 10**30, 180.0001,
    "", " ", "x" * 100_000, "\x00", "\x1b[31m", "line\nline", "\u202eabc", "\ufeff", "nan", "inf",
    "1e400 ft", "-5 ft", "1e308 ft", "9" * 5000, "12 parsecs", "../../etc/passwd", "/dev/zero",
    "/dev/stdin", "https://localhost/x.gpkg", "parcel", "entry", "depth contour", "EPSG:4326",
    "EPSG:0", "EPSG:26986", "+proj=pipeline", "=1+1", "{}{0}%s", "unknown", "any wall",
    [], {}, [[]], [{}], [None], {"": ""}, [1], [1, 2], [[1, 2]], [[0, 0], [1e12, 0], [0, 1e12]],
    ["a"] * 1000, {"kind": {"kind": {"kind": 1}}}, [[0, 0]] * 5000,
)  # fmt: skip
WORDS: Final = tuple(value for value in VALUES if isinstance(value, str))
NUMBERS: Final = (
    0.0, -1.0, 1e12, -1e12, 1e308, -1e308, float("nan"), float("inf"), 1e-300, 91.0, 181.0, 1e5,
)  # fmt: skip
LAUGHS: Final = (
    '<?xml version="1.0"?><!DOCTYPE lolz [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;">'
    + "".join(
        f'<!ENTITY {chr(98 + k)}{k} "{f"&{chr(97 + k)}{k - 1};" * 9 if k > 1 else "&b;" * 9}">'
        for k in range(1, 9)
    )
    + "]><kml><Document><Placemark><name>&i8;</name></Placemark></Document></kml>"
)
OUTSIDE: Final = (
    '<?xml version="1.0"?><!DOCTYPE kml [<!ENTITY x SYSTEM "file:///etc/hostname">]>'
    "<kml><Document><Placemark><name>&x;</name><Point><coordinates>1,2</coordinates></Point>"
    "</Placemark></Document></kml>"
)
ELSEWHERE: Final = (
    '<OGRVRTDataSource><OGRVRTLayer name="lot"><SrcDataSource>/etc/hostname</SrcDataSource>'
    "</OGRVRTLayer></OGRVRTDataSource>"
)
MEASURED: Final = """\
[project]
title = "Measured"
owner = "A. Owner"
date = 2026-03-14
units = "ft"
[geometry.deed]
calls = ["N 00 E 150 ft", "East 130.5 ft", "S 00 E 150 ft", "West 130.5 ft"]
[[feature]]
id = "house"
kind = "building"
corner = { line = "parcel:south", off = "40 ft", station = "30 ft", from = "west" }
walls = ["40 ft", "R", "28 ft", "R 90", "40 ft", "R", "28 ft"]
direction = "north"
[[feature]]
id = "well"
kind = "potable well"
ties = [["house:NE", "42 ft 6 in"], ["house:SE", "50 ft"]]
side = "east"
[[feature]]
id = "water"
kind = "water line"
line = ["well", { line = "house:east", off = "0 ft", station = "10 ft", from = "south" }]
[[feature]]
kind = "septic tank"
offset = { line = "parcel:west", off = "12 ft", station = "100 ft", from = "south" }
[exchanger]
entry = "any wall"
capacity = "2 ton"
"""


@dataclass(frozen=True)
class Mutant:
    """A folder with inputs gone wrong.

    Parameters
    ----------
    name
        Format and seed, by which it can be made again.
    what
        What was done to it.
    commands
        Command lines to be tried in the folder; ``read``: reading alone.
    """

    name: str
    what: str
    commands: tuple[tuple[str, ...], ...]


def make(kind: str, seed: int, folder: Path, *, fit: bool = False) -> Mutant:
    """Make the mutant of a format and a seed in an empty folder."""
    rng = random.Random(f"{kind} {seed}")
    if kind in ("toml", "taped"):
        what = _site_file(kind, rng, folder)
        commands: tuple[tuple[str, ...], ...] = (("read", "site.toml"), ("inspect", "site.toml"))
        wanted = (("fit", "site.toml"),) if fit else ()
        return Mutant(f"{kind} {seed}", ascii(what), (*commands, *wanted))
    file, what = _lot_file(kind, rng, folder)
    asked = rng.choice([(), ("--at", "531800,4763140"), ("--where", "kind = parcel"),
                        ("--at", "-74.6,43.02"), ("--crs", "EPSG:32618"),
                        ("--buildings", file)])  # fmt: skip
    if kind == "dxf":
        asked = rng.choice([("--layer", "LOT"), ("--layer", "LOT", "--file-unit", "ft"), ()])
    commands = (
        ("inspect", file), ("new", "made", "--parcel", file, *asked), ("read", "site.toml"),
    )  # fmt: skip
    return Mutant(f"{kind} {seed}", ascii(what), commands)


# ---------------------------------------------------------------------------------- site files


def _site_file(kind: str, rng: random.Random, folder: Path) -> str:
    if kind == "taped":
        text = MEASURED
    else:
        sample = places.SAMPLES / rng.choice(sorted(p.name for p in places.SAMPLES.iterdir()))
        shutil.copytree(sample, folder, dirs_exist_ok=True)
        text = (folder / "site.toml").read_text(encoding="utf-8")
    path = folder / "site.toml"
    path.unlink(missing_ok=True)
    return _written(path, text, toml_text, tomllib.loads(text), rng)


def _written(
    path: Path,
    text: str,
    dump: Callable[[Any], str],
    values: Any,
    rng: random.Random,
) -> str:
    """What was done to a text file: to its values, to its letters, or to the file as such."""
    way = rng.random()
    if way < 0.65:
        values, what = _changed(values, rng)
        path.write_bytes(dump(values).encode("utf-8", "surrogatepass"))
        return what
    if way < 0.9:
        content, what = _bytes(text.encode(), rng)
        path.write_bytes(content)
        return what
    return _no_file(path, rng)


def _changed(values: Any, rng: random.Random) -> tuple[Any, str]:
    """Values with one or two places changed."""
    values = deepcopy(values)
    told = []
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        owner, key = _place(values, rng)
        if owner is None:
            break
        told.append(_change(owner, key, rng))
    return values, "; ".join(told)


def _place(values: Any, rng: random.Random) -> tuple[Any, Any]:
    """A container somewhere in the values, and a key of it."""
    at = values
    for _ in range(rng.randint(1, 7)):
        keys = list(at) if isinstance(at, dict) else list(range(len(at)))
        inner = [key for key in keys if isinstance(at[key], (dict, list)) and at[key]]
        if not inner:
            break
        following = at[rng.choice(inner)]
        if rng.random() < 0.15:
            break
        at = following
    keys = list(at) if isinstance(at, dict) else list(range(len(at)))
    return (at, rng.choice(keys)) if keys else (None, None)


def _change(owner: Any, key: Any, rng: random.Random) -> str:
    way = rng.randrange(8)
    what = f"{key!r} = "
    if way == 0:
        del owner[key]
        what = f"without {key!r}"
    elif way == 1 and isinstance(owner, list):
        owner.extend(deepcopy(owner[key]) for _ in range(rng.choice((1, 3000))))
        what = "many times"
    elif way == 1:
        value = owner.pop(key)
        owner[rng.choice(("", "kind", str(key).upper(), f"{key}s", "\x00", "x" * 5000))] = value
        what = f"{key!r} called otherwise"
    elif way == 2:
        other = rng.choice(list(owner) if isinstance(owner, dict) else range(len(owner)))
        owner[key], owner[other] = owner[other], owner[key]
        what = f"{key!r} and {other!r} swapped"
    elif way == 3:
        number = rng.randrange(len(RAWS))
        owner[key] = RAW.format(number)
        what += f"{RAWS[number][:12]} ..."
    else:
        number = way == 4 and isinstance(owner[key], (int, float))
        owner[key] = deepcopy(rng.choice(NUMBERS if number else VALUES))
        what += f"{str(owner[key])[:30]!r}"
    return what


def _raw(text: str) -> str:
    for number, raw in enumerate(RAWS):
        text = text.replace(f'"{RAW.format(number)}"', raw)
    return text


def toml_text(values: Any) -> str:
    """A site file with these values, every table in one line."""
    return _raw("".join(f"{json.dumps(key)} = {_toml(value)}\n" for key, value in values.items()))


def _toml(value: Any) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(k)} = {_toml(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_toml, value)) + "]"
    if value is None:
        return '""'
    if isinstance(value, (str, bool)):
        return json.dumps(value, ensure_ascii=False) if value is not True else "true"
    return str(value).replace("e+", "e")


def _bytes(content: bytes, rng: random.Random) -> tuple[bytes, str]:
    """Bytes gone wrong on the way."""
    way = rng.choice(("cut", "flip", "zeros", "noise", "utf-16", "latin", "empty", "twice", "bom"))
    where = rng.randrange(max(len(content), 1))
    changed = bytearray(content)
    if way == "cut":
        return content[:where], "cut"
    if way == "flip":
        for _ in range(rng.choice((1, 3, 30, 300))):
            changed[rng.randrange(len(changed))] = rng.randrange(256)
    elif way == "zeros":
        changed[where : where + 200] = bytes(200)
    elif way == "noise":
        changed[where:where] = rng.randbytes(200)
    elif way == "utf-16":
        text = content.decode("latin-1")
        changed = bytearray(text.encode(rng.choice(("utf-16", "utf-16-le", "utf-32"))))
    elif way == "latin":
        changed[where:where] = "Müller ²".encode("latin-1")
    elif way == "empty":
        changed = bytearray(rng.choice((b"", b"\n", b"\x00", b"{}", b"[]", b"null")))
    elif way == "twice":
        changed += content
    else:
        changed[:0] = rng.choice((b"\xef\xbb\xbf", b"\xff\xfe", b"#!/bin/sh\n"))
    return bytes(changed), way


def _no_file(path: Path, rng: random.Random) -> str:
    """Something else where a file should be."""
    way = rng.choice(("fifo", "folder", "nothing", "zero", "null", "loop", "lost", "tty"))
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path)
    path.unlink(missing_ok=True)
    if way == "fifo":
        os.mkfifo(path)
    elif way == "folder":
        path.mkdir()
    elif way != "nothing":
        targets = {"zero": "/dev/zero", "null": "/dev/null", "loop": path.name, "tty": "/dev/tty"}
        path.symlink_to(targets.get(way, "gone"))
    return way


# ---------------------------------------------------------------------------------- geometry files


@cache
def _lot() -> str:
    return (places.SAMPLES / "rural-acre" / "lot.geojson").read_text(encoding="utf-8")


def _lot_file(kind: str, rng: random.Random, folder: Path) -> tuple[str, str]:
    """Name of the file of the lot, and what was done to it; a site file beside it names it."""
    name = f"lot.{kind}"
    path = folder / name
    if kind == "dxf":
        return name, _drawing_gone_wrong(path, rng, folder)
    _name_it(name, rng, folder)
    if kind == "geojson":
        sample = rng.choice(("rural-acre", "farm-pond", "school"))
        text = (places.SAMPLES / sample / "lot.geojson").read_text(encoding="utf-8")
        if rng.random() < 0.1:
            one = json.loads(text)["features"][0]
            text = json.dumps(rng.choice((one, one["geometry"], [one], {"features": {"a": one}})))
        return name, _written(path, text, lambda v: _raw(json.dumps(v)), json.loads(text), rng)
    way = rng.random()
    if way < 0.35:
        what = _table_gone_wrong(kind, path, rng)
    elif way < 0.5 and kind in ("kml", "kmz", "zip"):
        what = _packed_wrong(kind, path, rng)
    elif way < 0.9:
        _write(kind, path, _frame())
        what = _file_gone_wrong(kind, path, rng)
    else:
        _write(kind, path, _frame())
        what = _no_file(path, rng)
    if rng.random() < 0.03 and path.exists():
        suffix = rng.choice((".gpkg", ".shp", ".kml", ".json", ".parquet", ".toml", ".tif", ""))
        path.rename(folder / f"lot{suffix}" if suffix != path.suffix else path)
        return f"lot{suffix}", f"{what}, called {suffix}"
    return name, what


def _drawing_gone_wrong(path: Path, rng: random.Random, folder: Path) -> str:
    """A surveyor's drawing: groups of its text, or its bytes, in another way than they were."""
    text = (places.SAMPLES / "rural-acre" / "site.toml").read_text(encoding="utf-8")
    layers = "".join(
        f'[[geometry.layer]]\nfile = "{path.name}"\nlayer = "{layer}"\nkind = "{kind}"\n{more}'
        for layer, kind, more in (
            ("LOT", "parcel", rng.choice(("", 'unit = "ft"\n', 'crs = "EPSG:32618"\n'))),
            ("HOUSE", "building", ""), ("WELLS", rng.choice(("potable well", "tree")), ""),
        )
    )  # fmt: skip
    text = text.replace('file = "lot.geojson"', "")
    (folder / "site.toml").write_text(text + layers, encoding="utf-8")
    if rng.random() < 0.1:
        path.write_text(_drawing(), encoding="utf-8")
        return _no_file(path, rng)
    if rng.random() < 0.3:
        content, what = _bytes(_drawing().encode(), rng)
        path.write_bytes(content)
        return what
    groups = _drawing().splitlines()
    said = []
    for _ in range(rng.choice((1, 1, 2, 5))):
        at = 2 * rng.randrange(len(groups) // 2)
        way = rng.choice(("value", "value", "value", "code", "gone", "again", "number", "moved"))
        said.append(f"{way} at group {at // 2} ({groups[at].strip()}: {groups[at + 1]})")
        if way == "value":
            groups[at + 1] = rng.choice(WORDS)
        elif way == "number":
            groups[at + 1] = repr(rng.choice(NUMBERS))
        elif way == "code":
            groups[at] = str(rng.choice((0, 2, 5, 10, 40, 62, 100, 330, 999, 1071, -1, 10**9)))
        elif way == "gone":
            del groups[at : at + 2]
        elif way == "again":
            groups[at:at] = groups[at : at + 2] * rng.choice((1, 3, 2000))
        else:
            groups.append(groups.pop(at))
    path.write_bytes("\n".join(groups).encode("utf-8", "surrogatepass"))
    return "; ".join(said)


@cache
def _drawing() -> str:
    """A survey with an outline in pieces, arcs, splines, blocks, and what no reader needs."""
    document = ezdxf.new(units=6)
    space = document.modelspace()
    lot, house = {"layer": "LOT"}, {"layer": "HOUSE"}
    space.add_line((0, 0), (60, 0), dxfattribs=lot)
    space.add_arc((60, 20), 20, 270, 90, dxfattribs=lot)
    space.add_lwpolyline([(60, 40, 0), (0, 40, 0.2), (0, 0, 0)], "xyb", dxfattribs=lot)
    block = document.blocks.new("A-HOUSE")
    block.add_lwpolyline([(0, 0), (12, 0), (12, 9), (0, 9)], close=True, dxfattribs=house)
    block.add_attdef("NAME", (0, 0), "x")
    space.add_blockref("A-HOUSE", (15, 15), dxfattribs={**house, "rotation": 12, "xscale": 1.1})
    space.add_auto_blockref("A-HOUSE", (40, 5), {"NAME": "shed"}, dxfattribs=house)
    space.add_circle((50, 30), 2, dxfattribs={"layer": "WELLS"})
    space.add_point((5, 35), dxfattribs={"layer": "WELLS"})
    space.add_ellipse((30, 30), (4, 1), 0.5, dxfattribs={"layer": "OTHER"})
    space.add_spline([(0, 0), (5, 9), (9, 3), (20, 20)], dxfattribs={"layer": "OTHER"})
    space.add_polyline3d([(0, 0, 1), (9, 9, 4), (20, 1, 7)], dxfattribs={"layer": "OTHER"})
    space.add_hatch(dxfattribs={"layer": "OTHER"}).paths.add_polyline_path(
        [(0, 0), (9, 0), (9, 9)], is_closed=True
    )
    space.add_mtext("N 45 E", dxfattribs={"layer": "OTHER"})
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue()


def _name_it(name: str, rng: random.Random, folder: Path) -> None:
    """A site file that names the file."""
    text = (places.SAMPLES / "rural-acre" / "site.toml").read_text(encoding="utf-8")
    layer = rng.choice((
        "", '[[geometry.layer]]\nfile = "{}"\nkind = "parcel"\nwhere = "kind = parcel"\n'
        '[[geometry.layer]]\nfile = "{}"\nkind = "building"\n',
        '[[geometry.layer]]\nfile = "{}"\ncolumns = {{ kind = "kind", id = "id", depth = "depth" }}'
        "\n",
        '[[geometry.layer]]\nfile = "{}"\ncrs = "EPSG:32618"\nwhere = "nothing"\nkind = "tree"\n',
    ))  # fmt: skip
    text = text.replace('file = "lot.geojson"', "" if layer else f'file = "{name}"')
    (folder / "site.toml").write_text(text + layer.format(name, name), encoding="utf-8")


@cache
def _frame() -> geopandas.GeoDataFrame:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return geopandas.read_file(_lot())


def _write(kind: str, path: Path, frame: geopandas.GeoDataFrame) -> None:
    """The file of a frame; what a format cannot hold is left out."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        if kind in ("shp", "zip"):
            areas = frame[frame.geometry.geom_type.isin(["Polygon", "MultiPolygon"])]
            areas = areas if len(areas) else frame.iloc[:1]
            where = path if kind == "shp" else path.with_suffix("") / "lot.shp"
            where.parent.mkdir(exist_ok=True)
            areas.to_file(where, driver=DRIVERS[kind], engine="pyogrio")
            if kind == "zip":
                _zip(path, {each.name: each.read_bytes() for each in where.parent.iterdir()})
                shutil.rmtree(where.parent)
            return
        if kind == "parquet":
            frame.to_parquet(path)
            return
        own = {"gdb": {"TARGET_ARCGIS_VERSION": "ALL"}}.get(kind, {})
        if kind == "gdb":
            frame = frame[frame.geometry.geom_type == "Polygon"]
        frame.to_file(path, driver=DRIVERS[kind], engine="pyogrio", **own)


def _zip(path: Path, files: dict[str, bytes]) -> None:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in files.items():
            packed.writestr(name, content)


def _table_gone_wrong(kind: str, path: Path, rng: random.Random) -> str:
    """A sound file of nonsense."""
    frame = _frame().copy()
    way = rng.choice(sorted(NONSENSE))
    frame = NONSENSE[way](frame, rng)
    try:
        _write(kind, path, frame)
    except Exception:
        # the format cannot hold it, the writing library says
        shutil.rmtree(path) if path.is_dir() else path.unlink(missing_ok=True)
        _write(kind, path, _frame())
        return f"{way}, not written"
    return way


Frame = geopandas.GeoDataFrame
Shape = shapely.geometry.base.BaseGeometry


def _one_shape(change: Callable[[Shape, random.Random], Shape | None]) -> Callable[..., Frame]:
    """A change of one shape of a table."""

    def changed(frame: Frame, rng: random.Random) -> Frame:
        row = rng.randrange(len(frame))
        frame.loc[row, "geometry"] = change(frame.geometry.iloc[row], rng)
        return frame

    return changed


def _corner_at(place: float) -> Callable[..., Frame]:
    """One corner of one shape elsewhere."""

    def moved(shape: Shape, rng: random.Random) -> Shape:
        points = shapely.get_coordinates(shape)
        first = 1 if (points[0] == points[-1]).all() and len(points) > 1 else 0
        points[rng.randrange(first, len(points) - first), rng.randrange(2)] = place
        return shapely.set_coordinates(shape, points)

    return _one_shape(moved)


def _crossing(shape: Shape, rng: random.Random) -> Shape:
    points = shapely.get_coordinates(shape)
    inner = list(range(1, len(points) - 1))
    points[inner] = points[rng.sample(inner, len(inner))]
    return shapely.set_coordinates(shape, points)


def _columns(frame: Frame, rng: random.Random) -> Frame:
    for name in ("fid ", "x" * 70, "Ünï", 'a"b', "a'; DROP", "width", "overhang"):
        frame[name] = rng.choice(("", 1e308, "-3 ft", 7, True))
    return frame


def _many(frame: Frame, rng: random.Random) -> Frame:
    return geopandas.GeoDataFrame(pandas.concat([frame] * rng.choice((40, 1000))))


NONSENSE: Final[dict[str, Callable[..., Frame]]] = {
    "far": _corner_at(1e12),
    "huge": _corner_at(1e308),
    "nan": _corner_at(float("nan")),
    "tiny": _corner_at(1e-300),
    "none": _one_shape(lambda _, rng: rng.choice((None, shapely.Polygon(), shapely.Point()))),
    "collection": _one_shape(lambda old, _: shapely.GeometryCollection([old, shapely.Point(0, 0)])),
    "vertices": _one_shape(lambda old, rng: old.buffer(5, quad_segs=rng.choice((5000, 20_000)))),
    "bow": _one_shape(_crossing),
    "hole": _one_shape(lambda old, _: old.buffer(9).difference(old.centroid.buffer(2))),
    "words": lambda frame, rng: frame.assign(kind=rng.choice((*WORDS, "tree"))),
    "numbers": lambda frame, rng: frame.assign(kind=rng.choice(NUMBERS), depth=rng.choice(NUMBERS)),
    "many": _many,
    "columns": _columns,
    "no rows": lambda frame, _: frame.iloc[:0],
    "same": lambda frame, _: frame.set_geometry([frame.geometry.iloc[0]] * len(frame)),
    "swapped": lambda frame, _: frame.set_geometry(
        shapely.transform(frame.geometry.array, lambda xy: xy[:, ::-1])
    ),
    "crs": lambda frame, rng: frame.set_crs(
        rng.choice((3857, 2263, 27700, 2056, 32761, 4978, 6360)), allow_override=True
    ),
    "degrees": lambda frame, _: frame.set_crs(4326, allow_override=True),
    "no crs": lambda frame, _: frame.set_crs(None, allow_override=True),
}
"""What is done to a table, by name."""


def _file_gone_wrong(kind: str, path: Path, rng: random.Random) -> str:
    """Bytes of the file, or of one of the files that belong to it."""
    family = [path]
    if kind == "gdb":
        family = sorted(each for each in path.iterdir() if each.is_file())
    elif kind == "shp":
        family = sorted(path.parent.glob("lot.*"))
    one = rng.choice(family)
    if kind == "zip" and rng.random() < 0.6:
        with zipfile.ZipFile(path) as packed:
            files = {name: packed.read(name) for name in packed.namelist()}
        name = rng.choice(sorted(files))
        files[name], what = _bytes(files[name], rng)
        _zip(path, files)
        return f"{name}: {what}"
    if len(family) > 1 and rng.random() < 0.25:
        return f"{one.name}: {_no_file(one, rng)}"
    content, what = _bytes(one.read_bytes(), rng)
    one.write_bytes(content)
    return f"{one.name}: {what}"


@cache
def _zeros() -> bytes:
    return bytes(300_000_000)


def _packed_wrong(kind: str, path: Path, rng: random.Random) -> str:
    """XML that declares what it need not, and zips that are none or too much."""
    xml = rng.choice((LAUGHS, OUTSIDE, ELSEWHERE, "<kml>" * 50_000, "<kml/>",
                      "<?xml version='1.0'?><!--" + "x" * 70_000 + "-->"
                      + OUTSIDE[21:]))  # fmt: skip
    code = rng.choice(("utf-8", "utf-16", "utf-16-le"))
    if kind == "kml":
        path.write_bytes(xml.encode(code))
        return f"XML of {xml[:40]!r} in {code}"
    way = rng.choice(("bomb", "forged", "outside", "absolute", "nested", "xml", "many", "locked",
                      "disguised", "empty"))  # fmt: skip
    inner = "doc.kml" if kind == "kmz" else "lot.shp"
    if way == "bomb":
        _zip(path, {inner: _zeros()})
    elif way in ("forged", "locked"):
        _zip(path, {inner: bytes(50_000_000)})
        content = bytearray(path.read_bytes())
        where = content.rfind(b"PK\x01\x02")
        if way == "forged":
            content[where + 24 : where + 28] = (100).to_bytes(4, "little")
            content[22:26] = (100).to_bytes(4, "little")
        else:
            content[where + 8] |= 1
            content[6] |= 1
        path.write_bytes(bytes(content))
    elif way in ("outside", "absolute"):
        start = "../../" if way == "outside" else "/tmp/"
        _zip(path, {f"{start}{inner}": b"x", inner: xml.encode()})
    elif way == "nested":
        inside = io.BytesIO()
        with zipfile.ZipFile(inside, "w") as packed:
            packed.writestr(inner, xml)
        _zip(path, {"lot.zip": inside.getvalue(), "lot.gdb/a.zip": b"x"})
    elif way == "many":
        _zip(path, {f"{number}/{inner}": b"" for number in range(30_000)})
    elif way == "disguised":
        _zip(path, {name: ELSEWHERE.encode() for name in ("lot.shp", "lot.shx", "lot.kml")[:2]})
    elif way == "empty":
        _zip(path, {})
    else:
        _zip(path, {"lot.kml" if kind == "zip" else inner: xml.encode(code)})
    return f"{way} {xml[:20]!r}"
