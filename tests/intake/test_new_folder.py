"""``siteplan new``: one lot of a county's file becomes a folder that can be planned."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import geopandas
import pytest
import shapely
from campaign import thorough

from siteplan.advisories.repairs import repair_remarks
from siteplan.cli import main
from siteplan.site.project import not_stated
from siteplan.site.readers.site_file import read_site
from siteplan.units.lengths import FOOT

STATE_PLANE = "EPSG:26986"  # Massachusetts Mainland, metres
X, Y = 200_000.0, 925_000.0
AT = shapely.Point(X + 30, Y + 40)


def box(west: float, south: float, east: float, north: float) -> shapely.Polygon:
    return shapely.box(X + west, Y + south, X + east, Y + north)


LOTS = {
    "own": box(0, 0, 60, 80),
    "east": box(60, 0, 120, 80),
    "west": box(-60, 0, 0, 80),
    "behind": box(-60, 80, 120, 160),
    "opposite": box(-60, -95, 120, -15),  # over a street 15 m wide
}


@pytest.fixture
def county(tmp_path: Path) -> Path:
    """A folder with a parcel file and a file of buildings."""
    lots = geopandas.GeoDataFrame(
        {"APN": list(LOTS)}, geometry=list(LOTS.values()), crs=STATE_PLANE
    )
    lots.to_file(tmp_path / "lots.gpkg")
    outlines = [box(20, 20, 32, 30), box(45, 60, 48, 63), box(70, 20, 82, 30)]
    houses = geopandas.GeoDataFrame(geometry=outlines, crs=STATE_PLANE)
    houses.to_crs(4326).to_file(tmp_path / "houses.fgb")
    return tmp_path


def new(county: Path, *more: str) -> int:
    return main(["new", str(county / "lot"), *more])


def lots_of(county: Path) -> list[str]:
    return ["--parcel", str(county / "lots.gpkg")]


def test_a_lot_comes_with_street_side_house_and_neighbours(
    county: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    houses = ["--buildings", str(county / "houses.fgb")]
    assert new(county, *lots_of(county), "--where", "APN = own", *houses, "--books", "maine") == 0
    said = capsys.readouterr().out
    # 60 m by 80 m are 51,667 sq ft; the open side is the one at the street, 60 m = 197 ft
    assert "51,6" in said
    assert "south side, where no other lot adjoins for 197 ft" in said
    site = read_site(county / "lot", quick=True)
    assert site.parcel.area == pytest.approx(4800, rel=2e-4)
    assert [(each.kind, each.id) for each in site.features] == [
        ("street", "street"),
        ("building", "house"),
        ("building", "building 2"),
        ("building", "neighbor building 3"),
    ]
    street = site.features[0].shape
    assert street.bounds == pytest.approx([0, 0, 60, 0], abs=0.05)
    assert site.books == ("maine",)
    assert site.any_wall


def test_lots_beside_come_with_their_numbers_and_without_their_owners(
    county: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lots = geopandas.read_file(county / "lots.gpkg")
    lots["OWNER"] = "A. Neighbor"
    lots.to_file(county / "lots.gpkg")
    assert new(county, *lots_of(county), "--where", "APN = own") == 0
    assert "4 parcels within 197 ft" in capsys.readouterr().out
    site = read_site(county / "lot", quick=True)
    # over the street, 15 m away, comes last; each whole, whatever lies beyond the 60 m looked at
    assert [each.number for each in site.adjoining][-1] == "opposite"
    sizes = {each.number: each.shape.area for each in site.adjoining}
    assert set(sizes) == set(LOTS) - {"own"}
    for name, size in sizes.items():
        assert size == pytest.approx(LOTS[name].area, rel=2e-4)
    assert "Neighbor" not in (county / "lot" / "lot.geojson").read_text(encoding="utf-8")


def test_of_very_many_lots_the_nearest_are_taken(
    county: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    strips = [box(60 + k, 0, 61 + k, 80) for k in range(50)]
    lots = geopandas.GeoDataFrame(
        {"APN": ["own", *(f"strip {k}" for k in range(50))]},
        geometry=[LOTS["own"], *strips],
        crs=STATE_PLANE,
    )
    lots.to_file(county / "lots.gpkg")
    assert new(county, *lots_of(county), "--where", "APN = own") == 0
    assert "the nearest 40 of 50 parcels" in capsys.readouterr().out
    site = read_site(county / "lot", quick=True)
    assert [each.number for each in site.adjoining] == [f"strip {k}" for k in range(40)]


def test_the_new_folder_fits_and_its_lot_is_the_countys(county: Path) -> None:
    houses = ["--buildings", str(county / "houses.fgb")]
    assert new(county, *lots_of(county), "--at", f"{AT.x},{AT.y}", *houses) == 0
    assert main(["fit", str(county / "lot"), "--quiet"]) == 0
    # the coordinates are those of the county's file, to a tenth of a millimetre
    lot = json.loads((county / "lot" / "lot.geojson").read_text(encoding="utf-8"))
    assert lot["crs"]["properties"]["name"] == STATE_PLANE
    parcel = shapely.geometry.shape(lot["features"][0]["geometry"])
    assert parcel.hausdorff_distance(LOTS["own"]) < 1e-4


@pytest.mark.parametrize("units", ["ft", thorough("m")])
def test_without_a_file_there_is_a_starter_to_fill_in(tmp_path: Path, units: str) -> None:
    folder = tmp_path / "lot"
    assert main(["new", str(folder), "--units", units, "--quiet"]) == 0
    assert main(["fit", str(folder), "--quiet"]) == 0
    # what is behind a mark is a site file too, once the marks are taken off
    lines = (folder / "site.toml").read_text(encoding="utf-8").splitlines()
    marked = [line.removeprefix("# ").removeprefix("#") for line in lines if "=" in line or
              line.startswith(("# [", "["))]  # fmt: skip
    tables = [line for line in marked if "FILL IN are" not in line]
    (folder / "site.toml").write_text("\n".join(tables), encoding="utf-8")
    assert tomllib.loads("\n".join(tables))
    site = read_site(folder)
    assert {each.kind for each in site.features} > {"potable well", "drainfield", "easement"}
    assert site.exchanger.energy is not None
    depth = 4 * FOOT if units == "ft" else 1.2
    assert site.exchanger.ground_year.frost_m == pytest.approx(depth)


def test_longitude_before_latitude_is_asked_for_not_guessed(
    county: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    degrees = geopandas.GeoSeries([AT], crs=STATE_PLANE).to_crs(4326)[0]
    assert new(county, *lots_of(county), "--at", f"{degrees.y},{degrees.x}") == 2
    assert f"--at {degrees.x},{degrees.y}?" in capsys.readouterr().err
    assert not (county / "lot").exists()
    assert new(county, *lots_of(county), "--at", f"{degrees.x},{degrees.y}") == 0


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ([], "has 5 lots. Say which"),
        (["--where", "APN = owl"], "has no row where APN = owl. Such as: own"),
        (["--where", "APN"], 'Write the condition as "COLUMN = value"'),
        (["--at", "here"], "'here' is no point"),
        (["--at", "1,2"], "has no lot there"),
        (["--layer", "lot"], "has no layer 'lot'"),
        (["--where", "APN = own", "--books", "mane"], "'mane' is not a book"),
        (["--where", "APN = own", "--buildings", "none.gpkg"], "none.gpkg: is not there"),
    ],
)
def test_what_cannot_be_meant_is_told_and_nothing_is_written(
    county: Path, capsys: pytest.CaptureFixture[str], options: list[str], message: str
) -> None:
    assert new(county, *lots_of(county), *options) == 2
    assert message in capsys.readouterr().err
    assert not (county / "lot").exists()


def test_a_file_that_does_not_say_its_system_is_told_where_each_would_put_the_lot(
    county: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lots = geopandas.GeoDataFrame({"APN": ["own"]}, geometry=[LOTS["own"]])
    with pytest.warns(UserWarning, match="crs"):
        lots.to_file(county / "bare.shp")
    assert new(county, "--parcel", str(county / "bare.shp")) == 2
    said = capsys.readouterr().err
    # 4,800 m2 are 1.186 ac; the zone of the lot comes first
    assert said.index("--crs EPSG:26986") < said.index(";")
    assert "1.186 ac" in said
    assert new(county, "--parcel", str(county / "bare.shp"), "--crs", STATE_PLANE) == 0


def test_a_lot_in_parts_is_asked_for_by_a_point(
    county: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    parts = shapely.MultiPolygon([box(0, 0, 30, 40), box(50, 0, 80, 60)])
    geopandas.GeoDataFrame({"APN": ["x"]}, geometry=[parts], crs=STATE_PLANE).to_file(
        county / "parts.gpkg"
    )
    file = ["--parcel", str(county / "parts.gpkg")]
    assert new(county, *file) == 2
    said = capsys.readouterr().err
    assert "has 2 parts that are meant" in said
    second = said.split("--at ")[2].split(" ")[0]
    assert new(county, *file, "--at", second) == 0
    assert read_site(county / "lot", quick=True).parcel.area == pytest.approx(1800, rel=2e-4)


def test_a_lot_that_crosses_itself_is_refused_with_the_place(
    county: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bow = shapely.Polygon([(X, Y), (X + 60, Y + 60), (X + 60, Y), (X, Y + 60)])
    geopandas.GeoDataFrame(geometry=[bow], crs=STATE_PLANE).to_file(county / "bow.gpkg")
    assert new(county, "--parcel", str(county / "bow.gpkg")) == 2
    assert "crosses itself: Self-intersection[200030 925030]" in capsys.readouterr().err


def test_units_of_a_condominium_are_one_lot_and_a_doubled_corner_is_dropped_in_the_open(
    county: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    ring = [(X, Y), (X + 60, Y), (X + 60, Y + 0.001), (X + 60, Y + 60), (X, Y + 60)]
    lot = shapely.Polygon(ring)
    geopandas.GeoDataFrame({"U": ["1", "2"], "A": ["a", "a"]}, geometry=[lot, lot],
                           crs=STATE_PLANE).to_file(county / "units.gpkg")  # fmt: skip
    assert new(county, "--parcel", str(county / "units.gpkg"), "--where", "A = a") == 0
    said = capsys.readouterr().out
    assert "2 rows of units.gpkg have this outline" in said
    assert "1 corner drawn twice was dropped" in said


def test_a_folder_with_a_site_is_left_alone(
    county: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert new(county) == 0
    before = (county / "lot" / "site.toml").read_bytes()
    assert new(county, *lots_of(county), "--where", "APN = own") == 2
    assert "holds site.toml already" in capsys.readouterr().err
    assert (county / "lot" / "site.toml").read_bytes() == before
    assert not (county / "lot" / "lot.geojson").exists()


def test_options_of_a_file_need_the_file(county: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert new(county, "--where", "APN = own") == 2
    assert "--where: is given without a file" in capsys.readouterr().err


def with_layers(county: Path, **layers: list[shapely.Geometry]) -> list[str]:
    """The county's file with further layers in it, and the options that name lot and layer."""
    for name, shapes in layers.items():
        frame = geopandas.GeoDataFrame(geometry=shapes, crs=STATE_PLANE)
        frame.to_file(county / "lots.gpkg", layer=name)
    return [*lots_of(county), "--layer", "lots", "--where", "APN = own"]


def at(x: float, y: float) -> shapely.Point:
    return shapely.Point(X + x, Y + y)


def test_other_layers_are_taken_along_by_what_they_are_called(
    county: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = with_layers(
        county,
        BUILDINGS=[box(20, 20, 32, 30), box(70, 20, 82, 30)],
        Wells=[at(50, 70), at(100, 40), at(400, 40)],  # on the lot, beside it, far from it
        septic_tanks=[at(10, 60)],
        roads=[shapely.LineString([(X - 500, Y - 8), (X + 700, Y - 8)])],
        zoning=[box(-200, -200, 300, 300)],
    )
    assert new(county, *asked) == 0
    told = capsys.readouterr().out
    assert "also of lots.gpkg: 2 potable wells (layer Wells), 1 septic tank" in told
    assert "1 street (layer roads)" in told
    assert "street: taken to be" not in told
    features = json.loads((county / "lot" / "lot.geojson").read_text(encoding="utf-8"))["features"]
    kinds = sorted(feature["properties"]["kind"] for feature in features)
    assert kinds == [
        *["adjoining parcel"] * 4, "building", "building", "parcel", "potable well",
        "potable well", "septic tank", "street",
    ]  # fmt: skip
    # the road goes on for half a kilometre to each side: it is cut where the surroundings end
    site = read_site(county / "lot", quick=True)
    (road,) = site.of_kind("street")
    assert road.shape.length < 60 + 2 * 101
    assert [well.id for well in site.of_kind("potable well")] == [
        "potable well 1",
        "potable well 2",
    ]


def test_a_file_of_buildings_with_several_layers_gives_the_one_called_so(county: Path) -> None:
    asked = with_layers(county, houses=[box(20, 20, 32, 30)], trees=[at(5, 5)])
    assert new(county, *asked, "--buildings", str(county / "lots.gpkg")) == 0
    (house,) = read_site(county / "lot", quick=True).of_kind("building")
    assert house.shape.area == pytest.approx(120, rel=2e-4)


def test_a_file_of_buildings_of_which_no_layer_is_called_so_is_refused(
    county: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = with_layers(county, outlines=[box(20, 20, 32, 30)])
    assert new(county, *asked, "--buildings", str(county / "lots.gpkg")) == 2
    assert "not one alone is called buildings. Rename or export one of lots, outlines" in (
        capsys.readouterr().err
    )
    assert not (county / "lot").exists()


TOUCHING = [(0, 0), (60, 0), (60, 40), (100, 40), (100, 80), (60, 80), (60, 40), (0, 40)]
"""Two rectangles of 60 m by 40 m and 40 m by 40 m that meet at one corner, as one outline."""


def test_a_lot_that_touches_itself_is_told_apart_where_a_point_says_which_part(
    county: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lot = shapely.Polygon([(X + x, Y + y) for x, y in TOUCHING])
    geopandas.GeoDataFrame(geometry=[lot], crs=STATE_PLANE).to_file(county / "touch.gpkg")
    file = ["--parcel", str(county / "touch.gpkg")]
    assert new(county, *file) == 2
    said = capsys.readouterr().err
    assert "2 parts" in said
    assert "touches itself at 200060.00,925040.00" in said
    assert "crosses" not in said
    assert new(county, *file, "--at", f"{X + 80},{Y + 60}") == 0
    assert "touches itself at 200060.00,925040.00" in capsys.readouterr().out
    assert read_site(county / "lot", quick=True).parcel.area == pytest.approx(1600, rel=2e-4)


KML = """<?xml version="1.0" encoding="UTF-8"?>
<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Folder><name>lots</name><Placemark>
<name>A</name><Polygon><outerBoundaryIs><LinearRing><coordinates>
-71.0,42.0 -70.999,42.0 -70.999,42.001 -71.0,42.001
</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></Folder></Document></kml>
"""


def test_an_outline_left_open_in_a_kml_is_closed_in_the_open(
    county: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (county / "open.kml").write_text(KML, encoding="utf-8")
    assert main(["inspect", str(county / "open.kml")]) == 1
    assert "outlines left open: 1, rows 1" in capsys.readouterr().out
    assert new(county, "--parcel", str(county / "open.kml")) == 0
    told = capsys.readouterr().out
    assert "left open in its file: its last corner was joined to its first, at -71,42" in told
    # 0.001 degrees are 111.07 m of latitude and 82.85 m of longitude at 42 N (WGS 84 ellipsoid)
    area = read_site(county / "lot", quick=True).parcel.area
    assert area == pytest.approx(111.07 * 82.85, rel=1e-3)


def test_layers_that_nothing_is_known_of_are_named_with_how_to_take_them(
    county: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = county / "county.gpkg"
    for layer, column, shapes in (
        ("Flurstücke", "APN", LOTS),
        ("Häuser", "NO", {"1": box(20, 20, 32, 30)}),
        ("Overlay_7", "NO", {"1": box(-200, -200, 300, 300)}),
        ("MH_PTS", "NO", {"1": shapely.Point(X + 5, Y - 3)}),
        ("wells", "NO", {"1": shapely.Point(X + 70, Y + 60)}),
    ):
        table = {column: list(shapes)}
        geopandas.GeoDataFrame(table, geometry=list(shapes.values()), crs=STATE_PLANE).to_file(
            file, layer=layer
        )
    # the one layer that is called lots is taken of three layers of areas
    assert new(county, "--parcel", str(file), "--where", "APN = own") == 0
    said = capsys.readouterr().out
    assert "layers of county.gpkg not taken: Overlay_7, MH_PTS; say what they are" in said
    assert "also of county.gpkg: 1 potable well (layer wells)" in said
    assert "house: the largest of 1 on the lot" in said
    text = (county / "lot" / "site.toml").read_text(encoding="utf-8")
    assert '# layer = "MH_PTS"\n# kind = "FILL IN"' in text
    # the marks taken off, the file copied, the word filled in: it is read
    head, tail = text.split('# layer = "MH_PTS"')
    head = head[: head.rindex("# [[geometry.layer]]")] + head[
        head.rindex("# [[geometry.layer]]") :
    ].replace("# ", "", 1).replace("\n# ", "\n")
    text = head + 'layer = "MH_PTS"' + tail.replace('# kind = "FILL IN"', 'kind = "hydrant"', 1)
    (county / "lot" / "site.toml").write_text(text, encoding="utf-8")
    (county / "lot" / "county.gpkg").write_bytes(file.read_bytes())
    kinds = [each.kind for each in read_site(county / "lot", quick=True).features]
    assert sorted(kinds) == ["building", "hydrant", "potable well", "street"]


def test_a_street_that_was_guessed_gives_way_to_one_that_is_drawn(county: Path) -> None:
    houses = ["--buildings", str(county / "houses.fgb")]
    assert new(county, *lots_of(county), "--where", "APN = own", *houses) == 0
    site = read_site(county / "lot", quick=True)
    assert [repair.what for repair in site.repairs] == ["street-assumed"]
    road = shapely.LineString([(X - 100, Y - 7), (X + 200, Y - 7)])
    geopandas.GeoDataFrame(geometry=[road], crs=STATE_PLANE).to_file(county / "lot/roads.gpkg")
    layer = '[[geometry.layer]]\nfile = "roads.gpkg"\nkind = "street"\n\n[exchanger]'
    path = county / "lot" / "site.toml"
    path.write_text(path.read_text("utf-8").replace("[exchanger]", layer), encoding="utf-8")
    site = read_site(county / "lot", quick=True)
    streets = [each for each in site.features if each.kind == "street"]
    assert [each.shape.length > 200 for each in streets] == [True]
    assert [repair.what for repair in site.repairs] == ["street-replaced"]
    said = [finding.code for finding in repair_remarks(site)]
    assert said == ["street-replaced"]


def test_around_a_corner_of_the_lot_no_street_is_taken(
    county: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # a thinned file: the lots west and east are not in it, so that three sides look open
    lots = geopandas.GeoDataFrame(
        {"APN": ["own", "behind"]},
        geometry=[LOTS["own"], box(0, 80, 60, 160)],
        crs=STATE_PLANE,
    )
    lots.to_file(county / "lots.gpkg")
    assert new(county, *lots_of(county), "--where", "APN = own") == 0
    said = capsys.readouterr().out
    assert "also open, not taken for a street" in said
    (street,) = read_site(county / "lot", quick=True).of_kind("street")
    west, south, east, north = street.shape.bounds
    # one side alone: it is as long as the longer of its two extents
    assert street.shape.length == pytest.approx(max(east - west, north - south), abs=0.1)


def test_a_name_still_to_be_filled_in_is_not_stated(county: Path) -> None:
    assert new(county, *lots_of(county), "--where", "APN = own") == 0
    site = read_site(county / "lot", quick=True)
    assert site.project.owner == ""
    assert "owner" in not_stated(site.project)
    assert '# capacity = "3 ton"' in (county / "lot" / "site.toml").read_text(encoding="utf-8")
