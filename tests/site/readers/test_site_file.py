"""Reading a site file: what it may leave out, and every fault in one report."""

from __future__ import annotations

import datetime
import json
from collections.abc import Callable
from pathlib import Path

import pytest

from siteplan.errors import InputError
from siteplan.plan import plan_site
from siteplan.rules.ruleset import rules_of
from siteplan.site.readers.site_file import read_site

Write = Callable[..., Path]


def faults_of(path: Path) -> list[str]:
    with pytest.raises(InputError, match="site") as caught:
        read_site(path)
    return [str(fault) for fault in caught.value.faults]


def test_a_short_file_is_enough(lot_text: str, write_site: Write) -> None:
    site = read_site(write_site(lot_text))
    assert site.parcel.area == pytest.approx((200 * 0.3048) ** 2)
    assert [feature.id for feature in site.features] == ["house", "well", "field"]
    assert site.entries[0].id == "E1"
    assert site.exchanger.system is None
    assert site.exchanger.vertical.spacing_m == pytest.approx(6.096)


def test_a_folder_stands_for_its_site_file(lot_text: str, write_site: Write) -> None:
    assert read_site(write_site(lot_text).parent).project.title == "Test lot"


def test_metres_are_metres(lot_text: str, write_site: Write) -> None:
    site = read_site(write_site(lot_text.replace('units = "ft"', 'units = "m"')))
    assert site.parcel.area == pytest.approx(40_000)


def test_every_sample_is_read(sample: Path) -> None:
    assert read_site(sample).parcel.area > 20


def test_quotes_around_a_date_capitals_and_spaces_of_a_word_do_not_matter(
    lot_text: str, write_site: Write
) -> None:
    text = lot_text.replace("date = 2026-03-14", 'date = "2026-03-14"')
    site = read_site(write_site(f'{text}[fluid]\nmixture = "Propylene Glycol 25%"\n'))
    assert site.project.date == datetime.date(2026, 3, 14)
    assert site.exchanger.piping.fluid is not None
    assert site.exchanger.piping.fluid.mixture == "propylene glycol 25 %"


def test_all_faults_come_together(lot_text: str, write_site: Write) -> None:
    text = (
        lot_text.replace('owner = "A. Owner"', "owner = 3")
        .replace("units", "unit")
        .replace('"drainfield"', '"drainfeild"')
        .replace("at = [20, 180]", "at = [20, nan]")
        .replace('capacity = "2 ton"', 'capacity = "2 tonne"')
        .replace("entry = [[80, 70]]", "entry = [[100, 700]]\n[vertical]\nspaceing = 3")
    )
    faults = faults_of(write_site(text))
    expected = [
        "site.toml, [project], owner: 3 is not text.",
        "site.toml, [project], unit: is not a key here; did you mean 'units'?",
        "site.toml, [exchanger], capacity: '2 tonne' has unit 'tonne'",
        "site.toml, [vertical], spaceing: is not a key here; did you mean 'spacing'?",
        "site.toml, feature 'well', at: [20, nan] is not a point.",
        "site.toml, feature 'field', kind: 'drainfeild' is not a feature kind; did you mean",
        "site.toml, entry 1: at (100.0, 700.0) ft lies outside the parcel.",
    ]
    for start in expected:
        assert any(fault.startswith(start) for fault in faults), (start, faults)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (
            "[[0, 0], [200, 0], [200, 200], [0, 200]]",
            "[[0, 0], [200, 200], [200, 0], [0, 200]]",
            r"parcel: crosses itself: self-intersection at \(100, 100\).",
        ),
        (
            "[[0, 0], [200, 0], [200, 200], [0, 200]]",
            "[[0, 0], [100, 100], [200, 200]]",
            "parcel: has no area.",
        ),
        (
            "[[0, 0], [200, 0], [200, 200], [0, 200]]",
            "[[0, 0], [200, 0]]",
            "parcel: has 2 different points. A polygon needs 3",
        ),
        (
            "[[0, 0], [200, 0], [200, 200], [0, 200]]",
            "[[-74.61, 43.02], [-74.609, 43.02], [-74.609, 43.021], [-74.61, 43.021]]",
            "parcel: is 0.001 across in ft: these look like degrees",
        ),
        ("parcel = [[0, 0], [200, 0], [200, 200], [0, 200]]", "", "has no parcel"),
        (
            "at = [20, 180]",
            "at = [20000, 180]",
            "feature 'well': lies 19,800 ft from the parcel. Check its coordinates",
        ),
        (
            "area = [[150, 20], [190, 20], [190, 50], [150, 50]]",
            "line = [[150, 20], [190, 20]]",
            "feature 'field': is drawn as a line, but a drainfield is a polygon",
        ),
        ('id = "field"', 'id = "well"', "id: 'well' is used before"),
        ('kind = "drainfield"', 'kind = "pond"', "feature 'field', depth: is missing: a pond coil"),
        (
            'kind = "drainfield"',
            'kind = "drainfield"\nuse = "private"',
            "feature 'field', use: is not a key here",
        ),
        (
            'kind = "potable well"',
            'kind = "potable well"\nuse = "publik"',
            "feature 'well', use: 'publik' is not known; did you mean 'public'",
        ),
        (
            'kind = "potable well"',
            'kind = "potable well"\nuse = "force main"',
            "feature 'well', use: 'force main' is not known; known: private, .*non-community[.]$",
        ),
        (
            'kind = "drainfield"',
            'kind = "drainfield"\nclearance_source = "x"',
            "feature 'field', clearance_source: is given without a clearance",
        ),
        (
            "area = [[150, 20], [190, 20], [190, 50], [150, 50]]",
            "points = [[150, 20], [190, 20], [190, 50], [150, 50]]",
            r"^site.toml, feature 'field', points: is not a key here; "
            r"write area = \[...\] for an outline[.]$",
        ),
        (
            "at = [20, 180]",
            "location = [20, 180]",
            r"^site.toml, feature 'well', location: is not a key here; write at = \[x, y\][.]$",
        ),
        (
            "[project]",
            "parcel = [[0, 0], [9, 0], [0, 9]]\n[project]",
            r"toml, parcel: is not a key here; it belongs under \[geometry\]",
        ),
        (
            'kind = "drainfield"',
            'kind = "drainfield"\noverhang = "4 ft"',
            r"overhang: is not a key here; it belongs under a feature of kind building, ",
        ),
        (
            'kind = "drainfield"',
            'knid = "drainfield"',
            "knid: is not a key here; did you mean 'kind",
        ),
        (
            "entry = [[80, 70]]",
            'entry = "any wall"\n[[entry]]\nat = [80, 70]\nid = "cellar"',
            "entry: leaves the wall open, but entries are stated: cellar",
        ),
        ('capacity = "2 ton"', "", "says neither a length required nor a capacity"),
        ("date = 2026-03-14", 'date = "today"', "date: 'today' is not a date"),
        ("date = 2026-03-14", "", "date: is missing"),
        (
            'capacity = "2 ton"',
            'length = { given = "900 ft" }',
            r"\[exchanger.length\], by: is missing",
        ),
        ('title = "Test lot"', 'title = "Test lot', "is not valid TOML"),
    ],
)
def test_each_fault_names_its_place_and_the_mend(
    old: str, new: str, message: str, lot_text: str, write_site: Write
) -> None:
    assert old in lot_text
    with pytest.raises(InputError, match=message):
        read_site(write_site(lot_text.replace(old, new)))


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"nowhere.toml: no such file"):
        read_site(tmp_path / "nowhere.toml")


def test_a_pond_of_unknown_depth_may_stay_a_keep_out(lot_text: str, write_site: Write) -> None:
    text = lot_text.replace('kind = "drainfield"', 'kind = "pond"\ndepth = "unknown"')
    assert read_site(write_site(text)).of_kind("pond")[0].depth_m is None


def geojson(ring: list[list[float]], **extra: object) -> str:
    parcel = {
        "type": "Feature",
        "properties": {"kind": "parcel"},
        "geometry": {"type": "Polygon", "coordinates": [ring]},
    }
    return json.dumps({"type": "FeatureCollection", "features": [parcel], **extra})


FILE_LOT = """\
[project]
title = "Test lot"
owner = "A. Owner"
date = 2026-03-14
[geometry]
file = "lot.geojson"
[exchanger]
capacity = "2 ton"
entry = [[20, 20]]
"""
SQUARE = [[0, 0], [100, 0], [100, 100], [0, 100], [0, 0]]
RING = [[-74.61, 43.02], [-74.609, 43.02], [-74.609, 43.021], [-74.61, 43.021], [-74.61, 43.02]]


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (geojson([[x, float("nan")] for x, _ in RING]), r"point 1 is \[-74.61, nan\], not two"),
        (
            geojson([[x * 1e4, y * 1e4] for x, y in RING]),
            r"parcel: has coordinates such as .* but EPSG:4326 is in degrees",
        ),
        ("{", "is not readable JSON"),
        ('{"type": "Point"}', "is not GeoJSON with features"),
        (
            geojson(RING, crs={"type": "name", "properties": {"name": "EPSG:32618"}}),
            "these look like degrees",
        ),
    ],
)
def test_faults_of_a_geojson_file_are_clear(
    content: str, message: str, write_site: Write, tmp_path: Path
) -> None:
    (tmp_path / "lot.geojson").write_text(content, encoding="utf-8")
    with pytest.raises(InputError, match=message):
        read_site(write_site(FILE_LOT))


def test_a_wrong_coordinate_system_is_told(write_site: Write, tmp_path: Path) -> None:
    (tmp_path / "lot.geojson").write_text(geojson(RING), encoding="utf-8")
    text = FILE_LOT.replace('file = "lot.geojson"', 'file = "lot.geojson"\ncrs = "EPSG:99999"')
    with pytest.raises(InputError, match="'EPSG:99999' is not a coordinate system"):
        read_site(write_site(text))


def test_features_beside_a_file_are_in_local_feet_from_the_south_west_corner(
    write_site: Write, tmp_path: Path
) -> None:
    (tmp_path / "lot.geojson").write_text(geojson(RING), encoding="utf-8")
    feature = '[[feature]]\nkind = "tree"\nat = [50, 60]\n'
    site = read_site(write_site(FILE_LOT + feature))
    assert site.parcel.bounds[:2] == pytest.approx((0, 0), abs=1e-9)
    assert site.features[0].shape.coords[0] == pytest.approx((50 * 0.3048, 60 * 0.3048))


def test_features_beside_a_file_may_be_in_its_coordinates(
    write_site: Write, tmp_path: Path
) -> None:
    (tmp_path / "lot.geojson").write_text(geojson(RING), encoding="utf-8")
    text = FILE_LOT.replace('file = "lot.geojson"', 'file = "lot.geojson"\ncoordinates = "file"')
    feature = '[[feature]]\nkind = "tree"\nat = [-74.6095, 43.0205]\n'
    site = read_site(write_site(text + feature))
    assert site.parcel.contains(site.features[0].shape)


def test_an_own_distance_of_a_feature_becomes_a_rule(lot_text: str, write_site: Write) -> None:
    text = lot_text.replace('kind = "drainfield"', 'kind = "drainfield"\nclearance = "33 ft"')
    rule = read_site(write_site(text)).own_rules[0]
    assert (rule.feature, rule.printed) == ("field", "33 ft")
    assert rule.distance_m == pytest.approx(33 * 0.3048)


@pytest.mark.parametrize(
    ("ring", "crs", "message"),
    [
        ([[y, x] for x, y in RING], "EPSG:4326", "Are longitude and latitude swapped"),
        # UTM 18N of a lot near 43 N 74.6 W, easting and northing swapped
        (
            [[4763000 + y, 531800 + x] for x, y in SQUARE],
            "EPSG:32618",
            "where WGS 84 / UTM zone 18N .* is not used. Check",
        ),
    ],
)
def test_a_lot_where_its_system_is_not_used_is_told(
    ring: list[list[float]], crs: str, message: str, write_site: Write, tmp_path: Path
) -> None:
    extra = {"type": "name", "properties": {"name": crs}}
    (tmp_path / "lot.geojson").write_text(geojson(ring, crs=extra), encoding="utf-8")
    with pytest.raises(InputError, match=message):
        read_site(write_site(FILE_LOT))


def test_columns_of_a_geometry_file_that_are_not_ours_are_let_be(
    write_site: Write, tmp_path: Path
) -> None:
    content = json.loads(geojson(RING))
    content["features"][0]["properties"] |= {"OBJECTID": 7, "Shape_Area": 1.5}
    tree = {
        "type": "Feature",
        "properties": {"kind": "tree", "OBJECTID": 8},
        "geometry": {"type": "Point", "coordinates": [-74.6095, 43.0205]},
    }
    content["features"].append(tree)
    (tmp_path / "lot.geojson").write_text(json.dumps(content), encoding="utf-8")
    assert len(read_site(write_site(FILE_LOT)).features) == 1
    tree["properties"]["lable"] = "OAK"  # type: ignore[index]
    (tmp_path / "lot.geojson").write_text(json.dumps(content), encoding="utf-8")
    with pytest.raises(InputError, match=r"lable: is not a key here; did you mean 'label'\?"):
        read_site(write_site(FILE_LOT))


def test_a_parcel_with_a_hole_is_refused_with_the_mend(write_site: Write, tmp_path: Path) -> None:
    content = json.loads(geojson(RING))
    hole = [[-74.6096, 43.0202], [-74.6094, 43.0202], [-74.6095, 43.0204], [-74.6096, 43.0202]]
    content["features"][0]["geometry"]["coordinates"].append(hole)
    (tmp_path / "lot.geojson").write_text(json.dumps(content), encoding="utf-8")
    with pytest.raises(InputError, match="parcel: has a hole"):
        read_site(write_site(FILE_LOT))


def test_a_shallow_ring_inside_a_deeper_one_is_refused(lot_text: str, write_site: Write) -> None:
    pond = (
        '[[feature]]\nid = "p"\nkind = "pond"\n'
        "area = [[120, 100], [180, 100], [180, 170], [120, 170]]\n"
        '[[feature]]\nkind = "depth contour"\ndepth = "12 ft"\n'
        "area = [[130, 110], [170, 110], [170, 160], [130, 160]]\n"
        '[[feature]]\nkind = "depth contour"\ndepth = "3 ft"\n'
        "area = [[140, 120], [160, 120], [160, 150], [140, 150]]\n[exchanger]"
    )
    text = lot_text.replace("[exchanger]", pond)
    with pytest.raises(InputError, match=r"has a depth contour of 3.0 ft inside one of 12.0 ft"):
        read_site(write_site(text))


def test_one_fault_does_not_drag_others_behind_it(lot_text: str, write_site: Write) -> None:
    assert faults_of(write_site(lot_text.replace("[200, 0]", "[nan, 0]"))) == [
        "site.toml, [geometry], parcel: point 2, [nan, 0], is not [x, y]. Give two numbers."
    ]
    assert len(faults_of(write_site(lot_text.replace('"2 ton"', "2")))) == 1


def test_a_byte_order_mark_does_no_harm(lot_text: str, tmp_path: Path) -> None:
    path = tmp_path / "site.toml"
    path.write_text(lot_text, encoding="utf-8-sig")
    assert read_site(path).project.title == "Test lot"


def test_an_empty_file_is_told_what_it_lacks(write_site: Write) -> None:
    faults = " ".join(faults_of(write_site("")))
    for lacking in ("title: is missing", "owner: is missing", "has no parcel", "neither a length"):
        assert lacking in faults


def test_an_entry_deep_inside_the_house_still_leads_out(lot_text: str, write_site: Write) -> None:
    site = read_site(write_site(lot_text.replace("[[80, 70]]", "[[80, 55]]")))
    assert plan_site(site, system="vertical").fits


def test_a_clearance_of_one_feature_can_only_ask_for_more(lot_text: str, write_site: Write) -> None:
    for asked, decided in ((3, 50), (70, 70)):
        stated = f'kind = "drainfield"\nclearance = "{asked} ft"'
        site = read_site(write_site(lot_text.replace('kind = "drainfield"', stated)))
        rule = rules_of(site).deciding("bore", site.of_kind("drainfield")[0])
        assert rule is not None
        assert rule.distance_m == pytest.approx(decided * 0.3048)


def test_one_sheet_alone_has_no_parts(lot_text: str, write_site: Callable[..., Path]) -> None:
    text = lot_text + '\n[sheet]\nset = "one"\nparts = "always"\n'
    with pytest.raises(InputError, match='cannot be "always" with set = "one"'):
        read_site(write_site(text))


def test_quotes_of_print_are_named_with_their_line(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    text = lot_text.replace('title = "Test lot"', "title = “Test lot”")
    assert text != lot_text
    line = 1 + text[: text.index("“")].count("\n")
    with pytest.raises(InputError, match=rf'straight quotes \("\) in line {line}'):
        read_site(write_site(text))


def test_an_ending_that_an_editor_hides_is_named(lot_text: str, tmp_path: Path) -> None:
    (tmp_path / "site.toml.txt").write_text(lot_text, encoding="utf-8")
    with pytest.raises(InputError, match=r"There is site\.toml\.txt: call it site\.toml"):
        read_site(tmp_path)
