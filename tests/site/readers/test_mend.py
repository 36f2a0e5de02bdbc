"""Small faults of shapes are mended in the open, with their place; larger ones are asked about."""

from __future__ import annotations

import datetime
import json
import struct
import warnings
from pathlib import Path
from typing import Any

import geopandas
import numpy as np
import pyogrio
import pytest
import shapely
from shapely import Polygon

from siteplan.advisories.repairs import repair_remarks
from siteplan.errors import InputError
from siteplan.findings.words import words_of
from siteplan.site.model import Site
from siteplan.site.readers.site_file import site_from

DAY = datetime.date(2026, 3, 14)
X, Y = 500_000.0, 4_500_000.0
RING = [(X, Y), (X + 80, Y), (X + 80, Y + 60), (X, Y + 60), (X, Y)]
HOUSE = [(X + 30, Y + 20), (X + 45, Y + 20), (X + 45, Y + 30), (X + 30, Y + 30), (X + 30, Y + 20)]
TOUCHING = [
    (X + 10, Y + 40), (X + 20, Y + 40), (X + 20, Y + 45), (X + 30, Y + 45), (X + 30, Y + 50),
    (X + 20, Y + 50), (X + 20, Y + 45), (X + 10, Y + 45), (X + 10, Y + 40),
]  # fmt: skip
"""Two rectangles that meet at one corner, drawn as one outline."""


def lot(folder: Path, *things: tuple[str, str, Any], kind: str = "Polygon") -> Site:
    features = [
        {
            "type": "Feature",
            "properties": {"kind": what, "id": name},
            "geometry": {"type": kind, "coordinates": rings},
        }
        for what, name, rings in things
    ]
    content = {
        "type": "FeatureCollection", "crs": {"properties": {"name": "EPSG:32618"}},
        "features": features,
    }  # fmt: skip
    (folder / "lot.geojson").write_text(json.dumps(content), encoding="utf-8")
    return of_file(folder, {"file": "lot.geojson"})


def of_file(folder: Path, geometry: dict[str, Any]) -> Site:
    return site_from(
        {
            "project": {"title": "Lot", "owner": "A. Owner", "date": DAY, "units": "m"},
            "geometry": geometry,
            "exchanger": {"capacity": "2 ton", "entry": [20, 20]},
        },
        folder=folder,
    )


def told(site: Site) -> list[str]:
    return [words_of(finding, site.unit) for finding in repair_remarks(site)]


def test_a_whole_lot_was_not_mended(tmp_path: Path) -> None:
    assert told(lot(tmp_path, ("parcel", "", [RING]), ("building", "house", [HOUSE]))) == []


def test_an_open_ring_is_closed_and_told_with_its_place(tmp_path: Path) -> None:
    site = lot(tmp_path, ("parcel", "", [RING]), ("building", "house", [HOUSE[:-1]]))
    (words,) = told(site)
    assert "feature 'house'" in words
    assert "was left open" in words
    assert "30.0 m east and 20.0 m north" in words
    # a UTM metre near the central meridian is 1 / 0.9996 m on the ground
    assert site.features[0].shape.area == pytest.approx(150.0 / 0.9996**2, rel=1e-4)


def test_an_open_lot_is_closed_too(tmp_path: Path) -> None:
    site = lot(tmp_path, ("parcel", "", [RING[:-1]]), ("building", "house", [HOUSE]))
    assert [repair.what for repair in site.repairs] == ["ring-closed"]
    assert len(site.parcel.exterior.coords) == 5


@pytest.mark.parametrize(
    ("suffix", "driver", "north"),
    # a Shapefile goes around the other way, and so begins where the last corner was
    [(".gpkg", "GPKG", 0), (".fgb", "FlatGeobuf", 0), (".shp", "ESRI Shapefile", 60)],
)
@pytest.mark.filterwarnings("ignore:Non closed ring detected")
def test_an_outline_left_open_in_a_file_of_any_kind_is_closed_and_told(
    tmp_path: Path, suffix: str, driver: str, north: int
) -> None:
    # as a polygon of well-known binary: byte order, type, rings, points (OGC 06-103r4, 8.2)
    corners = struct.pack("<BIII", 1, 3, 1, 4) + b"".join(struct.pack("<dd", *p) for p in RING[:4])
    pyogrio.raw.write(
        tmp_path / f"lot{suffix}", np.array([corners], dtype=object), [], [],
        geometry_type="Polygon", crs="EPSG:32618", driver=driver,
    )  # fmt: skip
    site = of_file(tmp_path, {"layer": [{"file": f"lot{suffix}", "kind": "parcel"}]})
    (words,) = told(site)
    assert "was left open" in words
    assert f" 0.0 m east and {north}.0 m north" in words
    assert site.parcel.area == pytest.approx(4800.0 / 0.9996**2, rel=1e-4)


def test_corners_drawn_twice_are_left_out_and_told(tmp_path: Path) -> None:
    twice = [*RING[:3], (RING[2][0], RING[2][1] + 1e-4), *RING[3:]]
    site = lot(tmp_path, ("parcel", "", [twice]), ("building", "house", [HOUSE]))
    (words,) = told(site)
    assert "1 corner(s) drawn twice left out" in words
    assert "80.0 m east and 60.0 m north" in words
    assert len(site.parcel.exterior.coords) == 5


def test_what_touches_itself_is_told_apart(tmp_path: Path) -> None:
    site = lot(
        tmp_path, ("parcel", "", [RING]), ("building", "house", [HOUSE]),
        ("garden", "beds", [TOUCHING]),
    )  # fmt: skip
    (words,) = told(site)
    assert "feature 'beds' touches itself 20.0 m east and 45.0 m north" in words
    assert "2 part(s)" in words
    beds = {each.id: each.shape.area for each in site.features if each.kind == "garden"}
    assert beds == pytest.approx({"beds-1": 50.0, "beds-2": 50.0}, rel=1e-2)


@pytest.mark.parametrize("suffix", [".geojson", ".gpkg", ".shp", ".fgb"])
@pytest.mark.parametrize(
    ("shape", "message"),
    [
        (Polygon([RING[0], RING[2], RING[1], RING[3]]), r"crosses itself: .* at \(5000"),
        (Polygon(TOUCHING), r"touches itself at \(500020, 4500045\): it is in parts"),
        (
            shapely.MultiPolygon([Polygon(RING), Polygon([(x + 200, y) for x, y in RING])]),
            r"has 2 parcels, around \(500040, 4500030\) and \(500240, 4500030\): which one",
        ),
    ],
)
def test_a_lot_that_is_not_one_area_is_asked_about_in_every_format(
    tmp_path: Path, suffix: str, shape: Any, message: str
) -> None:
    frame = geopandas.GeoDataFrame({"kind": ["parcel"]}, geometry=[shape], crs="EPSG:32618")
    with warnings.catch_warnings(action="ignore"):
        frame.to_file(tmp_path / f"lot{suffix}", engine="pyogrio")
    with pytest.raises(InputError, match=message):
        of_file(tmp_path, {"layer": [{"file": f"lot{suffix}", "kind": "parcel"}]})


@pytest.mark.parametrize("name", ["../lot.geojson", "/etc/lot.geojson", "sub/../../lot.gpkg"])
def test_a_file_outside_the_folder_is_refused_with_the_mend(tmp_path: Path, name: str) -> None:
    (tmp_path / "site").mkdir()
    with pytest.raises(InputError, match=r"outside the folder of the site file\. Copy it into"):
        of_file(tmp_path / "site", {"file": name})


def test_a_link_out_of_the_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "site").mkdir()
    lot(tmp_path, ("parcel", "", [RING]))
    (tmp_path / "site" / "lot.geojson").symlink_to(tmp_path / "lot.geojson")
    with pytest.raises(InputError, match="outside the folder"):
        of_file(tmp_path / "site", {"file": "lot.geojson"})


def test_a_price_list_outside_the_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"\[prices\], file: is .* outside the folder"):
        site_from(
            {
                "project": {"title": "Lot", "owner": "A. Owner", "date": DAY},
                "geometry": {"parcel": [[0, 0], [200, 0], [200, 150], [0, 150]]},
                "exchanger": {"capacity": "2 ton", "entry": [20, 20]},
                "prices": {"file": "../prices.toml"},
            },
            folder=tmp_path,
        )
