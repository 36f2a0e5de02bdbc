"""A county that comes and goes as GeoParquet, beside another reader and writer of it."""

from __future__ import annotations

from pathlib import Path

import county_lots
import numpy as np
import pytest
import shapely

from siteplan.cli import main

pytest.importorskip("pyarrow")
geopandas = pytest.importorskip("geopandas")


def test_geoparquet_says_what_a_geopackage_says(tmp_path: Path) -> None:
    shapes = county_lots.lots(8)
    parcels = county_lots.write_lots(tmp_path / "parcels.gpkg", shapes)
    # written by the library of geographic tables, which follows the standard
    geopandas.read_file(parcels).to_parquet(tmp_path / "same.parquet")
    well = shapely.get_parts(shapely.centroid(shapes[:1]))
    geopandas.GeoDataFrame(geometry=well, crs=county_lots.CRS).to_parquet(tmp_path / "w.parquet")
    county_lots.write_things(tmp_path / "w.gpkg", "wells", list(well), "Point")
    for given, out in (("parcels.gpkg", "one.gpkg"), ("same.parquet", "two.parquet")):
        wells = tmp_path / f"w{Path(given).suffix}"
        command = ["screen", str(tmp_path / given), "--wells", str(wells), "--need", "3 ton"]
        assert main([*command, "--out", str(tmp_path / out), "--quiet"]) == 0
    assert (tmp_path / "one.csv").read_bytes() == (tmp_path / "two.csv").read_bytes()
    back = geopandas.read_parquet(tmp_path / "two.parquet")
    assert back.crs.to_authority() == ("EPSG", "26986")
    package = geopandas.read_file(tmp_path / "one.gpkg")
    assert back["lot"].tolist() == package["lot"].tolist()
    assert np.nansum(back["bores_most"]) == package["bores_most"].sum()
    areas = zip(back.geometry.area, package.geometry.area, strict=True)
    assert all(one == pytest.approx(other) for one, other in areas)
    # owners are not taken along on the way
    assert "OWNER" not in geopandas.read_file(tmp_path / "two-rows-of-same.gpkg").columns


@pytest.mark.parametrize(("crs", "code"), [(county_lots.CRS, 0), (None, 2)])
def test_a_file_that_does_not_know_its_coordinate_system_is_refused(
    tmp_path: Path, crs: str | None, code: int
) -> None:
    frame = geopandas.GeoDataFrame({"LOC_ID": ["A"]}, geometry=county_lots.lots(1), crs=crs)
    frame.to_parquet(tmp_path / "lots.parquet")
    command = ["screen", str(tmp_path / "lots.parquet"), "--need", "3 ton", "--quiet"]
    assert main([*command, "--out", str(tmp_path / "county.gpkg")]) == code


def test_a_table_without_shapes_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    import pyarrow as pa
    import pyarrow.parquet as pq

    pq.write_table(pa.table({"a": [1]}), tmp_path / "plain.parquet")
    command = ["screen", str(tmp_path / "plain.parquet"), "--need", "3 ton", "--quiet"]
    assert main([*command, "--out", str(tmp_path / "county.gpkg")]) == 2
    assert "a table without shapes" in capsys.readouterr().err


def test_a_wrong_question_of_geoparquet_leaves_nothing(tmp_path: Path) -> None:
    frame = geopandas.GeoDataFrame(
        {"LOC_ID": ["A"]}, geometry=county_lots.lots(1), crs=county_lots.CRS
    )
    frame.to_parquet(tmp_path / "lots.parquet")
    command = ["screen", str(tmp_path / "lots.parquet"), "--need", "3 tonnes", "--quiet"]
    assert main([*command, "--out", str(tmp_path / "county.gpkg")]) == 2
    assert [path.name for path in tmp_path.iterdir()] == ["lots.parquet"]
