"""Elements as GeoJSON and stakes as GPX: read with an independent reader, placed by pyproj."""

import json
import math
import re
from dataclasses import replace
from xml.etree import ElementTree

import pytest
import sheet_lots
from places import SAMPLES
from pyproj import Geod
from shapely import LineString, box

from siteplan.export.package import write_package
from siteplan.export.stakes import all_stakes, staking_order, write_geojson, write_gpx
from siteplan.layout.elements import Bore, Trench
from siteplan.layout.model import Layout
from siteplan.layout.piping_model import Crossover
from siteplan.layout.trenches.fit import fit_trenches
from siteplan.site.readers.site_file import read_site

pytestmark = pytest.mark.usefixtures("coarse")

GPX = "{http://www.topografix.com/GPX/1/1}"


@pytest.fixture(scope="module")
def content():
    """The hand-made trenches with the georeference of the rural acre."""
    frame = read_site(SAMPLES / "rural-acre").georeference
    made = sheet_lots.rural()
    return replace(made, site=replace(made.site, georeference=frame))


@pytest.fixture(scope="module")
def geojson(content, tmp_path_factory):
    path = tmp_path_factory.mktemp("out") / "elements.geojson"
    write_geojson(content, path)
    return json.loads(path.read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def waypoints(content, tmp_path_factory):
    path = tmp_path_factory.mktemp("out") / "stakes.gpx"
    write_gpx(content, path)
    return ElementTree.parse(path).getroot().findall(f"{GPX}wpt")


def test_every_element_is_a_feature_with_its_id_kind_and_depth(content, geojson):
    trenches = [one for one in geojson["features"] if one["properties"]["kind"] == "trench"]
    assert [one["properties"]["id"] for one in trenches] == [e.id for e in content.layout.elements]
    assert {one["properties"]["depth_m"] for one in trenches} == {1.5}


def test_a_feature_keeps_the_length_of_its_trench_on_the_ellipsoid(content, geojson):
    # the frame is drawn at scale 1 about the lot: geodesic lengths agree to a few millimetres
    line = geojson["features"][0]["geometry"]["coordinates"]
    longitudes, latitudes = zip(*line, strict=True)
    measured = Geod(ellps="WGS84").line_length(longitudes, latitudes)
    assert measured == pytest.approx(content.layout.elements[0].length_m, abs=0.03)


def test_places_are_longitude_then_latitude(content, geojson):
    # RFC 7946, section 3.1.1: the first two elements are longitude and latitude, in that order
    latitude, longitude = content.site.georeference.latitude_longitude(26.0, 46.0)
    start = geojson["features"][0]["geometry"]["coordinates"][0]
    assert start == [pytest.approx(longitude, abs=1e-7), pytest.approx(latitude, abs=1e-7)]


def test_the_header_is_a_feature(geojson):
    assert "header" in {one["properties"]["kind"] for one in geojson["features"]}


def test_a_bore_is_a_point(content, tmp_path):
    layout = Layout("vertical", (Bore("B1", 3.0, 4.0, 0.15, 90.0),), None, 6.0, 90.0)
    write_geojson(replace(content, layout=layout), tmp_path / "one.geojson")
    (feature,) = json.loads((tmp_path / "one.geojson").read_text())["features"]
    assert feature["geometry"]["type"] == "Point"
    assert feature["properties"]["depth_m"] == 90.0


def test_every_stake_is_a_waypoint_under_its_name(content, waypoints):
    names = {one.findtext(f"{GPX}name") for one in waypoints}
    assert {f"{e.id}{end}" for e in content.layout.elements for end in ("", " end")} <= names
    assert "H1" in names


def test_waypoints_have_seven_decimals(waypoints):
    for one in waypoints:
        assert re.fullmatch(r"-?\d+\.\d{7}", one.get("lat"))
        assert re.fullmatch(r"-?\d+\.\d{7}", one.get("lon"))


def test_the_file_says_it_is_gpx_1_1_and_how_the_stakes_are_ordered(content, tmp_path):
    write_gpx(content, tmp_path / "a.gpx")
    root = ElementTree.parse(tmp_path / "a.gpx").getroot()
    assert (root.tag, root.get("version")) == (f"{GPX}gpx", "1.1")
    assert "nearest" in root.findtext(f"{GPX}metadata/{GPX}desc")


def test_stakes_are_ordered_each_time_to_the_nearest_left(content):
    order = staking_order(content.layout)
    here = content.layout.header.entry.point.coords[0]
    for number, stake in enumerate(order):
        nearest = min(math.dist(here, other.at) for other in order[number:])
        assert math.dist(here, stake.at) == pytest.approx(nearest, abs=1e-6)
        here = stake.at


def test_the_order_holds_every_stake_once(content):
    order = staking_order(content.layout)
    assert sorted(one.name for one in order) == sorted(
        one.name for one in all_stakes(content.layout)
    )


def test_a_ring_has_its_tangent_points_and_one_stake_at_its_start():
    ring = fit_trenches(box(0, 0, 22.5, 18.5), 3.0, shortest=15.0, shape="best")[0]
    layout = Layout("horizontal", (Trench("T1", ring, 0.6, 1.5, 2),), None, 3.0, 0.0)
    names = [one.name for one in staking_order(layout)]
    assert "T1" in names
    assert "T1 end" not in names
    assert 7 <= len(names) <= 10


def test_a_straight_trench_has_no_tangent_points():
    line = LineString([(0, 0), (10, 0)])
    layout = Layout("horizontal", (Trench("T1", line, 0.6, 1.5, 2),), None, 3.0, 0.0)
    assert [one.name for one in all_stakes(layout)] == ["T1", "T1 end"]


def test_names_with_signs_of_markup_are_escaped(content, tmp_path):
    site = replace(content.site, project=sheet_lots.project("A & B <loop>"))
    write_gpx(replace(content, site=site), tmp_path / "a.gpx")
    root = ElementTree.parse(tmp_path / "a.gpx").getroot()
    assert root.findtext(f"{GPX}metadata/{GPX}name") == "A & B <loop>"


@pytest.mark.parametrize("write", [write_geojson, write_gpx])
def test_without_a_georeference_nothing_is_written(write, tmp_path):
    write(sheet_lots.rural(), tmp_path / "none")
    assert not (tmp_path / "none").exists()


@pytest.mark.thorough
def test_a_package_replaced_by_one_without_georeference_keeps_no_old_stakes(content, tmp_path):
    folder = tmp_path / "permit"
    content = replace(content, site=replace(content.site, books=()))
    write_package(content, {}, folder)
    assert (folder / "stakes.gpx").exists()
    site = replace(content.site, georeference=None)
    written = write_package(replace(content, site=site), {}, folder, force=True)
    assert not (folder / "stakes.gpx").exists()
    assert {path.name for path in written} == {path.name for path in folder.iterdir()}


@pytest.mark.parametrize("bends", [1, 2, 3])
def test_each_tangent_point_of_a_bent_trench_is_staked(bends):
    # straights of 10 m, between them quarter circles of 3 m to the left and right in turn
    at, heading, points, ends = (0.0, 0.0), 0.0, [(0.0, 0.0)], []

    def ahead(place, way_m):
        return place[0] + way_m * math.cos(heading), place[1] + way_m * math.sin(heading)

    for number in range(bends):
        at = ahead(at, 10.0)
        points.append(at)
        ends.append(at)
        side = 1 if number % 2 == 0 else -1
        start, begin = at, heading
        centre = (
            start[0] - side * 3 * math.sin(begin),
            start[1] + side * 3 * math.cos(begin),
        )
        for step in range(1, 41):
            angle = begin + side * (step * math.pi / 80 - math.pi / 2)
            points.append((centre[0] + 3 * math.cos(angle), centre[1] + 3 * math.sin(angle)))
        at, heading = points[-1], begin + side * math.pi / 2
        ends.append(at)
    points.append(ahead(at, 10.0))
    trench = Trench("T1", LineString(points), 0.6, 1.5, 2)
    layout = Layout("horizontal", (trench,), None, 5.0, 0.0)
    stakes = [stake for stake in all_stakes(layout) if stake.what == "trench bend"]
    assert [stake.name for stake in stakes] == [f"T1.{n} end" for n in range(1, 2 * bends + 1)]
    for stake, end in zip(stakes, ends, strict=True):
        assert math.dist(stake.at, end) < 0.02


def test_each_turn_of_a_crossover_is_staked_and_its_ends_are_not():
    # its ends are those of trenches, which have stakes of their own
    line = LineString([(0, 0), (0, 2), (3, 4), (6, 2), (6, 0)])
    trenches = tuple(Trench(f"T{k}", LineString([(x, 0), (x, -30)]), 0.6, 1.5, 2)
                     for k, x in ((1, 0), (2, 6)))  # fmt: skip
    crossover = Crossover("X1", line, ("T1", "T2"), 0.3, 1.2)
    layout = Layout("horizontal", trenches, None, 6.0, 60.0, crossovers=(crossover,))
    found = [(one.name, one.at) for one in all_stakes(layout) if "X1" in one.name]
    assert found == [("X1.1", (0, 2)), ("X1.2", (3, 4)), ("X1.3", (6, 2))]
