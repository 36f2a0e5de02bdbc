"""A lot sketched on a map: the rows of one file say what they are."""

from __future__ import annotations

import json
from pathlib import Path

import geopandas
import pytest
import shapely

from siteplan.cli import main
from siteplan.site.model import Site
from siteplan.site.readers.site_file import read_site

LOT = [(-71.3771, 42.5830), (-71.3761, 42.5831), (-71.3760, 42.5823), (-71.3770, 42.5822)]
HOUSE = [(-71.3767, 42.5827), (-71.37652, 42.5827), (-71.37652, 42.5826), (-71.3767, 42.5826)]
THINGS = {
    "Lot": shapely.Polygon(LOT),
    "House": shapely.Polygon(HOUSE),
    "Well": shapely.Point(-71.3763, 42.5829),
    "Septic tank": shapely.Point(-71.3767, 42.5824),
    "Tree 1": shapely.Point(-71.3762, 42.5824),
    "Tree 2": shapely.Point(-71.3763, 42.5824),
    "Bird bath": shapely.Point(-71.3768, 42.5824),
}


def read_quick(folder: Path) -> Site:
    """A new folder as `siteplan fit` reads it, which needs no owner."""
    return read_site(folder, quick=True)


def sketch(folder: Path, driver: str = "KML", **renamed: str) -> Path:
    """A file as a map program of a phone writes it."""
    names = [renamed.get(name, name) for name in THINGS]
    rows = geopandas.GeoDataFrame({"Name": names}, geometry=list(THINGS.values()), crs=4326)
    path = folder / ("yard.kml" if driver == "KML" else "yard.geojson")
    rows.to_file(path, driver=driver)
    return path


@pytest.mark.parametrize("driver", ["KML", "GeoJSON"])
def test_each_thing_of_a_sketch_is_taken_for_what_it_is_called(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], driver: str
) -> None:
    folder = tmp_path / "lot"
    path = sketch(tmp_path, driver)
    assert main(["new", str(folder), "--parcel", str(path)]) == 0
    told = capsys.readouterr().out
    assert "by what its rows are called: 1 building, 1 potable well, 1 septic tank, 2 trees" in told
    assert "not taken: Bird bath" in told
    assert (folder / path.name).read_bytes() == path.read_bytes()
    site = read_quick(folder)
    kinds = sorted(feature.kind for feature in site.features)
    assert kinds == ["building", "potable well", "septic tank", "tree", "tree"]
    # pyproj's ellipsoid, which shares nothing with the local frame
    from pyproj import Geod

    area, _ = Geod(ellps="WGS84").geometry_area_perimeter(shapely.Polygon(LOT).normalize())
    assert site.parcel.area == pytest.approx(abs(area), rel=1e-4)


def test_no_well_of_a_sketch_is_lost_where_its_lot_is_named(tmp_path: Path) -> None:
    folder = tmp_path / "lot"
    where = ["--where", "Name = Lot"]
    assert main(["new", str(folder), "--parcel", str(sketch(tmp_path)), *where]) == 0
    assert [f.kind for f in read_quick(folder).features].count("potable well") == 1


def test_a_file_without_a_lot_among_its_kinds_asks_which_one_is_meant(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = sketch(tmp_path, Lot="Grandfather's")
    assert main(["new", str(tmp_path / "lot"), "--parcel", str(path)]) == 2
    said = capsys.readouterr().err
    assert "--where 'Name = ...'" in said
    assert "Call the outline of the lot “Lot” in its column Name" in said
    assert not (tmp_path / "lot").exists()


def test_another_file_of_the_name_is_left_alone(tmp_path: Path) -> None:
    folder = tmp_path / "lot"
    folder.mkdir()
    (folder / "yard.kml").write_text("mine", encoding="utf-8")
    assert main(["new", str(folder), "--parcel", str(sketch(tmp_path))]) == 2
    assert (folder / "yard.kml").read_text(encoding="utf-8") == "mine"
    assert not (folder / "site.toml").exists()


def test_words_that_are_no_kind_are_written_to_be_filled_in(tmp_path: Path) -> None:
    folder = tmp_path / "lot"
    main(["new", str(folder), "--parcel", str(sketch(tmp_path))])
    text = (folder / "site.toml").read_text(encoding="utf-8")
    assert f'kinds = {{ {json.dumps("Bird bath")} = "skip" }}  # FILL IN' in text
    assert 'entry = "any wall"' in text


def test_a_sketch_in_several_folders_is_taken_whole(tmp_path: Path) -> None:
    # folders of a map program are layers of its file: the lot in one, the wells in another
    path = tmp_path / "farm.kml"
    placed = {
        "Land": {"Lot": THINGS["Lot"], "House": THINGS["House"]},
        "Water": {"Well 1": THINGS["Well"], "Well 2": THINGS["Septic tank"]},
        "Trees": {"old oak": THINGS["Tree 1"]},
        "Ideas": {"sauna?": THINGS["Bird bath"]},
    }
    body = "".join(
        f"<Folder><name>{folder}</name>{''.join(map(placemark, things.items()))}</Folder>"
        for folder, things in placed.items()
    )
    head = '<?xml version="1.0" encoding="UTF-8"?><kml xmlns="http://www.opengis.net/kml/2.2">'
    path.write_text(f"{head}<Document><name>Farm</name>{body}</Document></kml>", encoding="utf-8")
    folder = tmp_path / "lot"
    assert main(["new", str(folder), "--parcel", str(path)]) == 0
    kinds = sorted(feature.kind for feature in read_quick(folder).features)
    assert kinds == ["building", "potable well", "potable well", "tree"]
    assert '# layer = "Ideas"' in (folder / "site.toml").read_text(encoding="utf-8")


def placemark(named: tuple[str, shapely.Geometry]) -> str:
    """A shape with its name, as the standard for KML has it (OGC 12-007r2)."""
    name, shape = named
    places = " ".join(f"{x},{y},0" for x, y in shapely.get_coordinates(shape))
    inner = (
        f"<Point><coordinates>{places}</coordinates></Point>"
        if shape.geom_type == "Point"
        else "<Polygon><outerBoundaryIs><LinearRing><coordinates>"
        f"{places}</coordinates></LinearRing></outerBoundaryIs></Polygon>"
    )
    return f"<Placemark><name>{name}</name>{inner}</Placemark>"


@pytest.mark.filterwarnings("ignore:'crs' was not provided")
def test_a_sketch_that_does_not_say_where_it_lies_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shapes = [shapely.box(0, 0, 200, 200), shapely.box(50, 50, 90, 90)]
    rows = geopandas.GeoDataFrame({"Name": ["Lot", "House"]}, geometry=shapes)
    rows.to_file(tmp_path / "yard.gpkg", driver="GPKG")
    asked = ["--parcel", str(tmp_path / "yard.gpkg"), "--where", "Name = Lot"]
    assert main(["new", str(tmp_path / "lot"), *asked]) == 2
    assert "does not say its coordinate system" in capsys.readouterr().err
