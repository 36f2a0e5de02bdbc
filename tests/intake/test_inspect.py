"""``siteplan inspect``: what a file holds, its faults, and lines that a site file can take."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import geopandas
import pytest
import shapely

from siteplan.cli import main
from siteplan.site.readers.site_file import read_site

STATE_PLANE = "EPSG:26986"
X, Y = 200_000.0, 925_000.0
LOTS = [shapely.box(X + 60 * k, Y, X + 60 * k + 60, Y + 80) for k in range(3)]


def said_of(path: Path, capsys: pytest.CaptureFixture[str], code: int = 0) -> str:
    assert main(["inspect", str(path)]) == code
    return capsys.readouterr().out


def test_layers_columns_extents_and_areas_are_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lots = geopandas.GeoDataFrame({"APN": ["a", "b", "c"]}, geometry=LOTS, crs=STATE_PLANE)
    lots.to_file(tmp_path / "town.gpkg", layer="lots")
    wells = geopandas.GeoDataFrame(
        {"TYPE": ["Well", "well", "Hydrant", "XX"]},
        geometry=[shapely.Point(X + k, Y) for k in range(4)],
        crs=STATE_PLANE,
    )
    wells.to_file(tmp_path / "town.gpkg", layer="points")
    said = said_of(tmp_path / "town.gpkg", capsys)
    assert "layer lots: 3 rows, Polygon, EPSG:26986" in said
    # 4,800 m2 on the grid are 1.186 ac; Boston's meridian runs through the zone
    assert "areas 1.186 to 1.186 ac" in said
    assert "x 200,000.0 to 200,180.0, y 925,000.0 to 925,080.0" in said
    blocks = re.findall(r"\[\[geometry\.layer\]\]\n(?:\w+ = .*\n)+", said)
    first, second = (tomllib.loads(block)["geometry"]["layer"][0] for block in blocks)
    assert first == {"file": "town.gpkg", "layer": "lots", "where": "APN = a", "kind": "parcel"}
    assert second["columns"] == {"kind": "TYPE"}
    assert second["kinds"] == {"XX": "FILL IN"}
    # what is printed can be pasted
    (tmp_path / "site.toml").write_text(blocks[0], encoding="utf-8")
    assert read_site(tmp_path, quick=True).parcel.area == pytest.approx(4800, rel=2e-4)


def test_faults_of_shapes_are_named_with_their_rows(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bow = shapely.Polygon([(X, Y), (X + 60, Y + 60), (X + 60, Y), (X, Y + 60)])
    shapes = [LOTS[0], bow, LOTS[0], None, shapely.MultiPolygon([LOTS[1], LOTS[2].buffer(-20)])]
    geopandas.GeoDataFrame(geometry=shapes, crs=STATE_PLANE).to_file(tmp_path / "lots.geojson")
    said = said_of(tmp_path / "lots.geojson", capsys, code=1)
    assert "shapes that cross themselves: 1, rows 2 (Self-intersection[" in said
    assert "shapes drawn once more: 1" in said
    assert "rows without a shape: 1" in said
    assert "rows in several parts: 1, rows 5" in said


def test_a_site_file_tells_what_is_drawn(capsys: pytest.CaptureFixture[str]) -> None:
    said = said_of(Path(__file__).parents[2] / "samples/rural-acre", capsys)
    assert re.search(r"^house +building +polygon", said, re.MULTILINE)


@pytest.mark.parametrize("command", ["plan", "fit", "why"])
def test_a_geometry_file_where_a_site_file_is_due_names_new(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], command: str
) -> None:
    lots = geopandas.GeoDataFrame(geometry=LOTS, crs=STATE_PLANE)
    lots.to_file(tmp_path / "lots.gpkg")
    more = ["1", "2"] if command == "why" else []
    assert main([command, str(tmp_path / "lots.gpkg"), *more]) == 2
    assert (
        "is a geometry file, not a site file. Make a site of it: siteplan new FOLDER --parcel"
        in (capsys.readouterr().err)
    )
