"""What is measured from is drawn where it lies, and the size beside it is the one between lines."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from types import SimpleNamespace

import pytest
import shapely
from campaign import thorough
from drawn_once import compose
from planned import full_set, planned
from shapely import LineString, Point, Polygon, box
from sheet_lots import FT, suburban

from siteplan.sheet.content.lot_lines import line_distances, line_names
from siteplan.sheet.content.place import field_words, search_sentence
from siteplan.sheet.content.sides import sides_of
from siteplan.sheet.model import Dimension, Polyline, Text
from siteplan.sheet.plan_view.measured_lines import draw_edges, reaches, width_of, widths
from siteplan.sheet.style.styles import layer
from siteplan.site.model import Feature, Site
from siteplan.units.systems import US

LOT = box(0.0, 0.0, 30.0, 50.0)
HOUSE = Feature("house", "building", box(8.0, 20.0, 22.0, 32.0))
STREET = Feature("street", "street", LineString([(-20.0, -6.0), (60.0, -6.0)]), width_m=8.0)


def lot_with(*features, parcel=LOT):
    """A site with a parcel of its own and these features; its entry on the house."""
    site = suburban().site
    entry = replace(site.entries[0], point=Point(15.0, 32.0))
    return replace(site, parcel=parcel, features=features, entries=(entry,))


def feet(text):
    return float(re.match(r"[\d.,]+", text)[0].replace(",", "")) * FT


def test_the_line_along_the_street_is_the_front_and_the_one_opposite_the_rear():
    site = lot_with(STREET, HOUSE)
    named = dict(zip(sides_of(site.parcel), line_names(site), strict=True))
    south = {name for side, name in named.items() if side.start[1] == side.end[1] == 0.0}
    north = {name for side, name in named.items() if side.start[1] == side.end[1] == 50.0}
    assert (south, north) == ({"FRONT"}, {"REAR"})
    assert sorted(named.values()) == ["FRONT", "REAR", "SIDE", "SIDE"]


def test_a_corner_lot_has_two_fronts():
    other = Feature("way", "street", LineString([(36.0, -20.0), (36.0, 80.0)]))
    assert sorted(line_names(lot_with(STREET, other, HOUSE))).count("FRONT") == 2


def test_without_a_street_no_line_is_called_the_front():
    assert line_names(lot_with(HOUSE)) == ()
    assert line_distances(lot_with(HOUSE)) == ()


def test_the_building_is_measured_to_the_nearest_place_of_each_line():
    # by hand: the house stands 8 m from either side, 20 m from the front, 50 - 32 m from the rear
    found = [(one.name, one.length_m) for one in line_distances(lot_with(STREET, HOUSE))]
    assert sorted(found) == [
        ("FRONT", pytest.approx(20.0)), ("REAR", pytest.approx(18.0)),
        ("SIDE", pytest.approx(8.0)), ("SIDE", pytest.approx(8.0)),
    ]  # fmt: skip


@pytest.mark.parametrize("name", ["farm-pond", "rural-acre"])
def test_no_size_from_a_building_is_drawn_through_another(name):
    plan = next(sheet for sheet in full_set(name) if sheet.name == "PLAN")
    site = planned(name).content().site
    houses = [one for one in site.features if one.kind == "building"]
    ends = {(one.start, one.end) for one in line_distances(site)}
    drawn = [
        item
        for item in plan.of_type(Dimension)
        if {(item.start, item.end), (item.end, item.start)} & ends
    ]
    assert drawn
    for item in drawn:
        way = LineString([item.start, item.end])
        assert not any(way.intersection(house.shape).length > 0.1 for house in houses)


def test_a_corner_in_a_side_line_does_not_make_it_two():
    bent = Polygon([(0, 0), (30, 0), (32, 25), (30, 50), (0, 50)])
    names = [one.name for one in line_distances(lot_with(STREET, HOUSE, parcel=bent))]
    assert sorted(names) == ["FRONT", "REAR", "SIDE", "SIDE"]


@pytest.mark.parametrize(
    ("feature", "wide"),
    [
        (Feature("e", "easement", box(0, 0, 6.096, 40)), 6.096),
        (Feature("e", "easement", LineString([(0, 0), (40, 0)]), width_m=3.0), 3.0),
        # bent at a right angle: square to its longest side
        (Feature("e", "easement", Polygon([(0, 0), (50, 0), (50, 30), (44, 30), (44, 5), (0, 5)])),
         5.0),
    ],
)  # fmt: skip
def test_the_width_of_a_band_is_that_between_its_edges(feature, wide):
    found = width_of(feature)
    assert found.length_m == pytest.approx(wide)
    shape = feature.shape
    if shape.area == 0.0:
        shape = shape.buffer(feature.width_m / 2, cap_style="flat")
    for ends in found.places:
        assert math.dist(*ends) == pytest.approx(wide, abs=0.01)
        assert all(Point(end).distance(shape.boundary) < 1e-6 for end in ends)


def test_a_line_without_a_width_has_none():
    assert width_of(Feature("e", "easement", LineString([(0, 0), (40, 0)]))) is None


def test_the_edges_of_a_street_are_drawn_and_its_width_is_the_distance_between_them():
    content = suburban()
    others = tuple(one for one in content.site.features if one.kind != "street")
    wide = Feature("s", "street", LineString([(-20.0, -9.0), (60.0, -9.0)]), width_m=30 * FT)
    sheet = compose(replace(content, site=replace(content.site, features=(*others, wide))))
    edges = [line for line in sheet.of_type(Polyline) if line.layer == layer("edge")]
    assert edges
    told = [item for item in sheet.of_type(Dimension) if item.text == "30.0'"]
    assert told
    drawn = shapely.union_all([LineString(line.points) for line in edges])
    for end in (told[0].start, told[0].end):
        assert Point(end).distance(drawn) < 0.02
    assert feet(told[0].text) == pytest.approx(
        Point(told[0].start).distance(Point(told[0].end)), abs=0.05 * FT
    )


def test_the_banks_of_a_stream_with_a_width_are_drawn_as_distances_are_measured_from_them():
    # what is said of `width`: distances are measured from the side of the line
    stream = Feature("s", "stream", LineString([(-20.0, -9.0), (60.0, -9.0)]), width_m=3.0)
    drive = Feature("d", "driveway", LineString([(5.0, 0.0), (5.0, 20.0)]), width_m=3.0)
    kept = Feature("n", "stream", LineString([(-20.0, 70.0), (60.0, 70.0)]))
    site = lot_with(stream, drive, kept)
    drawn = []
    draw_edges(recording(drawn), site)
    (edge,) = drawn
    assert edge.bounds == pytest.approx((-20.0, -10.5, 60.0, -7.5), abs=0.5)
    assert edge.disjoint(stream.shape)  # nothing lies across it where its line ends
    assert [(one.feature, one.length_m) for one in widths(site)] == [("s", pytest.approx(3.0))]


def recording(drawn):
    """A canvas that draws nothing and keeps what it is told to outline."""
    outline = lambda shape, *_, **__: drawn.append(shape)  # noqa: E731
    return SimpleNamespace(window=box(-100, -100, 100, 100), outline=outline)


def on_street(y_ft, **options):
    """The plan of the suburban lot, 50 ft deep, with a street of 30 ft so far south of it."""
    content = suburban()
    others = tuple(one for one in content.site.features if one.kind != "street")
    middle = LineString([(-20.0, y_ft * FT), (60.0, y_ft * FT)])
    street = Feature("s", "street", middle, width_m=30 * FT, label="Elm Street")
    sheet = replace(content.site.sheet, **options)
    return compose(
        replace(content, site=replace(content.site, features=(*others, street), sheet=sheet))
    )


@pytest.mark.parametrize("y_ft", [-20.0, *map(thorough, (-30.0, -40.0, -60.0)), -75.0])
def test_the_width_of_a_street_stands_on_the_plan_as_a_size_or_in_its_name(y_ft):
    sheet = on_street(y_ft)
    sizes = [item.text for item in sheet.of_type(Dimension)]
    names = [item.text for item in sheet.of_type(Text) if item.text.startswith("ELM STREET")]
    assert names == (["ELM STREET"] if "30.0'" in sizes else ["ELM STREET, 30' WIDE"])


def test_both_edges_of_a_street_are_in_the_window_where_that_costs_no_scale():
    sheet = on_street(-30.0)
    view = sheet.view
    far = view.to_paper([(20.0, (-30.0 - 15.0) * FT)])[0]
    assert view.bottom_mm < far[1] < view.bottom_mm + view.height_mm


@pytest.mark.parametrize("name", ["rural-acre", "small-suburban", "school", "farm-pond"])
def test_sizes_from_the_building_are_between_the_lines_drawn(name):
    site = planned(name).content().site
    plan = full_set(name)[0]
    drawn = {frozenset((item.start, item.end)): item.text for item in plan.of_type(Dimension)}
    walls = {one.id: one.shape for one in site.of_kind("building")}
    for one in line_distances(site):
        text = drawn.get(frozenset((one.start, one.end)))
        wall = walls[one.building].boundary
        assert Point(one.start).distance(wall) < 1e-6
        assert Point(one.end).distance(site.parcel.boundary) < 1e-6
        if text is not None:
            # printed to a tenth of a foot and never more than there is
            assert 0.0 <= one.length_m - feet(text) < 0.1 * FT + 1e-6
    told = " ".join(text.text for sheet in full_set(name) for text in sheet.of_type(Text))
    for one in line_distances(site):
        assert f"{one.name.lower()} " in told


@pytest.mark.parametrize("name", ["rural-acre", "small-suburban", "school", "farm-pond"])
def test_every_side_that_has_its_bearing_on_the_plan_has_its_name(name):
    site: Site = planned(name).content().site
    said = [text.text for text in full_set(name)[0].of_type(Text) if "LOT LINE" in text.text]
    assert set(said) == {f"{kind} LOT LINE" for kind in line_names(site)}


def test_a_distance_from_a_machine_begins_at_the_reach_that_is_drawn():
    content = suburban()
    rule = replace(content.separations[0].rule, subject="overhead power line", measure="machine")
    bore = content.layout.elements[0]
    reach = 5 * FT
    site = replace(content.site, exchanger=replace(content.site.exchanger, machine_reach_m=reach))
    start = (bore.x_m + bore.reach_m + reach, bore.y_m)
    line = replace(
        content.separations[0], rule=rule, element=bore.id, part="bore", provided_m=6.0,
        element_point=start, feature_point=(start[0] + 6.0, start[1]),
    )  # fmt: skip
    content = replace(content, site=site, separations=(line,))
    ((_, edge),) = reaches(content)
    # a circle is drawn by chords, outside of the true one
    assert Point(start).distance(edge) < 0.01
    sheet = compose(content)
    assert any(text.text == "MACHINE REACH 5'" for text in sheet.of_type(Text))


def test_what_was_searched_is_said_whether_it_fits_on_the_plan_or_not():
    site = suburban().site
    assert "200' of the lot" in search_sentence(replace(site, searched_m=200 * FT))
    assert "not stated" in search_sentence(replace(site, searched_m=None))


@pytest.mark.parametrize("name", ["rural-acre", "school", "farm-pond"])
def test_the_middle_of_the_field_stands_on_paper_with_its_datum(name):
    content = planned(name).content()
    words = field_words(content)
    assert "(WGS 84)" in words
    latitude, longitude = (
        float(value) * (1 if side in "NE" else -1)
        for value, side in re.findall(r"([\d.]+)° ([NSEW])", words)
    )
    shapes = shapely.union_all([one.footprint for one in content.layout.elements])
    west, south, east, north = shapes.bounds
    wanted = content.site.georeference.latitude_longitude((west + east) / 2, (south + north) / 2)
    assert (latitude, longitude) == pytest.approx(wanted, abs=5.1e-6)
    told = " ".join(text.text for sheet in full_set(name) for text in sheet.of_type(Text))
    assert f"{abs(latitude):.5f}°" in told


def test_a_lot_without_a_place_on_earth_has_no_latitude():
    assert field_words(suburban()) == "" or suburban().site.georeference is not None


@pytest.mark.parametrize(
    "name", ["rural-acre", "small-suburban", "school", "farm-pond", "good-aquifer", "tight-lot"]
)
def test_every_set_has_a_location_sketch_to_scale_with_north(name):
    sheets = full_set(name)
    texts = [text.text for sheet in sheets for text in sheet.of_type(Text)]
    assert "LOCATION" in texts
    scales = [re.search(r"Scale (1\" = \d+'|1:\d+)\.", text) for text in texts]
    (scale,) = {found[1] for found in scales if found}
    unit = planned(name).content().site.unit
    ratio = float(re.search(r"\d+(?='|$)", scale.partition("= ")[2] or scale[2:])[0])
    assert round(ratio * (12 if unit is US else 1)) in unit.drawing.plan_ratios
