"""Layers of county files: every format the same lot, columns mapped, only what lies near."""

from __future__ import annotations

import datetime
import json
import zipfile
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import geopandas
import numpy as np
import pytest
import shapely
from pyproj import Geod, Transformer

from siteplan.errors import InputError
from siteplan.site.model import Site
from siteplan.site.readers.geodata import first_rows, layers_of, read_rows
from siteplan.site.readers.site_file import site_from

DAY = datetime.date(2026, 3, 14)
STATE_PLANE = "EPSG:26986"  # Massachusetts Mainland, metres
LOT = shapely.box(200_000, 925_000, 200_060, 925_080)
NEXT = shapely.box(200_060, 925_000, 200_120, 925_080)
HOUSE = shapely.box(200_020, 925_020, 200_032, 925_030)
SHED = shapely.box(200_040, 925_020, 200_043, 925_023)
FAR = shapely.box(205_000, 925_020, 205_010, 925_030)
FORMATS = {
    "gpkg": "GPKG", "fgb": "FlatGeobuf", "kml": "KML", "geojson": "GeoJSON",
    "shp": "ESRI Shapefile", "gdb": "OpenFileGDB",
}  # fmt: skip


def parcels() -> geopandas.GeoDataFrame:
    return geopandas.GeoDataFrame(
        {"APN": ["12-034", "12-035"], "N": [7.0, 8.0]}, geometry=[LOT, NEXT], crs=STATE_PLANE
    )


def buildings() -> geopandas.GeoDataFrame:
    return geopandas.GeoDataFrame(
        {"TYPE": ["Houses", "OUT_BUILDING", "Houses", "X"], "GID": [1.0, 2.0, 3.0, 4.0]},
        geometry=[HOUSE, SHED, FAR, SHED],
        crs=STATE_PLANE,
    )


def site_of(folder: Path, *layers: dict[str, Any]) -> Site:
    return site_from(
        {
            "project": {"title": "t", "owner": "o", "date": DAY},
            "geometry": {"layer": list(layers)},
            "exchanger": {"capacity": "3 ton", "entry": [[30, 40]]},
        },
        folder=folder,
    )


def written(frame: geopandas.GeoDataFrame, folder: Path, name: str, suffix: str) -> str:
    # KML has longitude and latitude alone
    frame = frame.to_crs(4326) if suffix in ("kml", "geojson") else frame
    frame.to_file(folder / f"{name}.{suffix}", driver=FORMATS[suffix], engine="pyogrio")
    return f"{name}.{suffix}"


THE_LOT = {"where": "APN = 12-034", "kind": "parcel"}
THE_BUILDINGS = {
    "columns": {"kind": "TYPE", "id": "GID"},
    "kinds": {"OUT_BUILDING": "shed", "X": "skip"},
}


@pytest.mark.parametrize("suffix", FORMATS)
def test_a_lot_of_every_format_is_the_same(tmp_path: Path, suffix: str) -> None:
    lots = written(parcels(), tmp_path, "lots", suffix)
    houses = written(buildings(), tmp_path, "houses", suffix)
    site = site_of(tmp_path, {"file": lots, **THE_LOT}, {"file": houses, "kind": "building",
                                                         **THE_BUILDINGS})  # fmt: skip
    # the area on the ellipsoid by another way: pyproj's geodesic polygon, GRS 80
    ring = shapely.get_coordinates(LOT)
    to_degrees = Transformer.from_crs(STATE_PLANE, "EPSG:4326", always_xy=True)
    truth = abs(Geod(ellps="GRS80").polygon_area_perimeter(*to_degrees.transform(*ring.T))[0])
    assert site.parcel.area == pytest.approx(truth, rel=1e-6)
    # rows far off are another lot's, and those to skip are nobody's
    assert [(each.id, each.kind) for each in site.features] == [
        ("1", "building"), ("2", "building"),
    ]  # fmt: skip
    corner = np.array(site.features[0].shape.bounds[:2])
    # grid distances of this zone are ground distances to 1 in 10,000 at least
    assert corner == pytest.approx([20, 20], abs=0.05)


def test_a_zipped_shapefile_is_read(tmp_path: Path) -> None:
    written(parcels(), tmp_path, "lots", "shp")
    with zipfile.ZipFile(tmp_path / "lots.zip", "w") as packed:
        for part in sorted(tmp_path.glob("lots.*")):
            if part.suffix != ".zip":
                packed.write(part, part.name)
    site = site_of(
        tmp_path,
        {"file": "lots.zip", **THE_LOT},
    )
    assert site.parcel.area == pytest.approx(4800, rel=1e-4)


def test_a_geoparquet_file_is_read_where_pyarrow_is_there(tmp_path: Path) -> None:
    if find_spec("pyarrow") is None:
        # its first bytes, by its specification
        (tmp_path / "lots.parquet").write_bytes(b"PAR1")
        with pytest.raises(InputError, match="is GeoParquet, which needs pyarrow"):
            site_of(tmp_path, {"file": "lots.parquet", **THE_LOT})
        return
    parcels().to_parquet(tmp_path / "lots.parquet")
    buildings().to_parquet(tmp_path / "houses.parquet")
    site = site_of(tmp_path, {"file": "lots.parquet", **THE_LOT},
                   {"file": "houses.parquet", **THE_BUILDINGS})  # fmt: skip
    assert site.parcel.area == pytest.approx(4800, rel=1e-4)
    assert [each.id for each in site.features] == ["1", "2"]


def test_a_cell_that_lists_several_values_is_their_text(tmp_path: Path) -> None:
    # GDAL gives an array of strings for an array of JSON (its type StringList)
    (tmp_path / "lots.geojson").write_text(
        '{"type": "FeatureCollection", "features": [{"type": "Feature", '
        '"properties": {"owners": ["Ann", "Ben"], "shares": [], "kind": "lot"}, '
        '"geometry": {"type": "Polygon", "coordinates": '
        "[[[-71, 42], [-70.999, 42], [-70.999, 42.001], [-71, 42]]]}}]}"
    )
    (info,) = layers_of(tmp_path / "lots.geojson")
    (told,) = first_rows(tmp_path / "lots.geojson", info).columns
    assert told == {"owners": "Ann, Ben", "kind": "lot"}


def test_a_condition_on_cells_that_list_several_values_tells_what_they_say(tmp_path: Path) -> None:
    (tmp_path / "lots.geojson").write_text(
        '{"type": "FeatureCollection", "features": [{"type": "Feature", '
        '"properties": {"owners": ["Ann", "Ben"]}, "geometry": {"type": "Polygon", "coordinates": '
        "[[[-71, 42], [-70.999, 42], [-70.999, 42.001], [-71, 42]]]}}]}"
    )
    (info,) = layers_of(tmp_path / "lots.geojson")
    with pytest.raises(InputError, match="Such as: Ann, Ben"):
        read_rows(tmp_path / "lots.geojson", layer=info.name, where="owners=Cid")


def test_a_system_of_heights_is_no_system_of_places(tmp_path: Path) -> None:
    pytest.importorskip("pyarrow")
    # EPSG:6360 is NAVD88 height in US survey feet (EPSG database)
    parcels().set_crs("EPSG:6360", allow_override=True).to_parquet(tmp_path / "lots.parquet")
    with pytest.raises(InputError, match=r"crs: is missing, and lots.parquet does not say"):
        site_of(tmp_path, {"file": "lots.parquet", **THE_LOT})


def test_layers_may_have_systems_of_their_own(tmp_path: Path) -> None:
    lots = written(parcels(), tmp_path, "lots", "gpkg")
    # Massachusetts Mainland in US survey feet
    houses = written(buildings().to_crs("EPSG:2249"), tmp_path, "houses", "gpkg")
    site = site_of(tmp_path, {"file": lots, **THE_LOT}, {"file": houses, **THE_BUILDINGS})
    assert site.features[0].shape.area == pytest.approx(120, rel=1e-3)


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"where": "APN = 12-03"}, r"has no row where APN = 12-03. Such as: 12-03[45], 12-03[45]"),
        ({"where": "APM = 12-034"}, r"has no column 'APM'; did you mean 'APN'"),
        ({"where": "N = x"}, "has numbers in column 'N'"),
        ({"where": "12-034"}, 'Write the condition as "COLUMN = value"'),
        ({"layer": "lot"}, r"has no layer 'lot'; did you mean 'lots'"),
        ({"file": "none.gpkg"}, "none.gpkg: is not there"),
        ({"file": "lots.dwg"}, r"'lots.dwg' is of no kind that is read"),
        ({"crs": "EPSG:nine"}, "is not a coordinate system"),
        ({"columns": {"kind": 3}}, "is not a table of texts"),
        ({"kind": "hose"}, "'hose' is not a feature kind; did you mean 'house'"),
        ({"where": "N = 7"}, ""),
    ],
)
def test_what_cannot_be_read_says_where_and_what_helps(
    tmp_path: Path, changed: dict[str, Any], message: str
) -> None:
    file = written(parcels(), tmp_path, "lots", "gpkg")
    asked = {"file": file, **THE_LOT, **changed}
    if not message:
        assert site_of(tmp_path, asked).parcel.area > 0
        return
    with pytest.raises(InputError, match=message):
        site_of(tmp_path, asked)


def test_a_file_that_is_not_what_its_name_says_is_not_opened(tmp_path: Path) -> None:
    # the library goes by content: this would open another file
    secret = tmp_path / "secret.geojson"
    secret.write_text(json.dumps({"type": "FeatureCollection", "features": []}))
    virtual = f'<OGRVRTDataSource><OGRVRTLayer name="a"><SrcDataSource>{secret}</SrcDataSource>'
    for name in ("lots.gpkg", "lots.fgb", "lots.shp", "lots.kml", "lots.zip"):
        (tmp_path / name).write_text(virtual + "</OGRVRTLayer></OGRVRTDataSource>")
        with pytest.raises(InputError, match=name):
            site_of(tmp_path, {"file": name, "kind": "parcel"})


def test_a_zip_that_unpacks_to_more_than_is_sane_is_not_unpacked(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "lots.zip", "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("lots.shp", bytes(50_000_000))
    with pytest.raises(InputError, match=r"would unpack to 50\.0 MB"):
        site_of(tmp_path, {"file": "lots.zip", "kind": "parcel"})


def test_a_parcel_without_a_system_beside_a_file_that_has_one_is_refused(tmp_path: Path) -> None:
    houses = written(buildings(), tmp_path, "houses", "gpkg")
    values = {
        "project": {"title": "t", "owner": "o", "date": DAY},
        "geometry": {
            "parcel": [[0, 0], [200, 0], [200, 200], [0, 200]],
            "layer": [{"file": houses, "kind": "building"}],
        },
        "exchanger": {"capacity": "3 ton", "entry": [[100, 100]]},
    }
    with pytest.raises(InputError, match="is in local coordinates, but houses"):
        site_from(values, folder=tmp_path)


def test_a_lone_feature_and_other_spellings_of_kind_are_understood(tmp_path: Path) -> None:
    ring = [[-71.5, 42.5], [-71.499, 42.5], [-71.499, 42.501], [-71.5, 42.501], [-71.5, 42.5]]
    lone = {
        "type": "Feature",
        "id": 12,
        "properties": {"KIND": "Lot"},
        "geometry": {"type": "Polygon", "coordinates": [ring]},
    }
    (tmp_path / "lot.geojson").write_text(json.dumps(lone))
    well = {"kind": "Water_Well", "at": [30, 30], "id": "w"}
    site = site_from(
        {
            "project": {"title": "t", "owner": "o", "date": DAY},
            "geometry": {"file": "lot.geojson"},
            "feature": [well],
            "exchanger": {"capacity": "3 ton", "entry": [[100, 100]]},
        },
        folder=tmp_path,
    )
    assert [each.kind for each in site.features] == ["potable well"]


def test_a_hint_never_leads_to_another_danger(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="'gas well' is not a feature kind; known: street"):
        site_from(
            {
                "project": {"title": "t", "owner": "o", "date": DAY},
                "geometry": {"parcel": [[0, 0], [200, 0], [200, 200], [0, 200]]},
                "feature": [{"kind": "gas well", "at": [30, 30]}],
                "exchanger": {"capacity": "3 ton", "entry": [[100, 100]]},
            },
            folder=tmp_path,
        )


def test_a_kmz_says_of_its_lots_what_its_kml_says(tmp_path: Path) -> None:
    name = written(parcels(), tmp_path, "parcels", "kml")
    with zipfile.ZipFile(tmp_path / "parcels.kmz", "w") as packed:
        packed.write(tmp_path / name, "doc.kml")
    site = site_of(tmp_path, {"file": "parcels.kmz", **THE_LOT})
    assert site.parcel.area == pytest.approx(4800, rel=3e-4)


@pytest.mark.parametrize("suffix", FORMATS)
def test_a_layer_of_lots_gives_those_beside_without_the_lot_itself(
    tmp_path: Path, suffix: str
) -> None:
    name = written(parcels(), tmp_path, "parcels", suffix)
    beside = {"file": name, "columns": {"label": "APN"}, "kind": "adjoining parcel"}
    site = site_of(tmp_path, {"file": name, **THE_LOT}, beside)
    assert [each.number for each in site.adjoining] == ["12-035"]
    assert site.adjoining[0].shape.area == pytest.approx(4800, rel=3e-4)
    assert site.features == ()
