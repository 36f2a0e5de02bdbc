"""Deeds: calls as they are written, closure and area of published traverses, slips found."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
import shapely
from campaign import several
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from siteplan.advisories.deed import deed_remarks
from siteplan.errors import InputError
from siteplan.geometry.traverse import (
    CircularCurve,
    Leg,
    by_compass_rule,
    closure_of,
    corners_of,
    outline_of,
)
from siteplan.site.model import Site
from siteplan.site.readers.deed_bearings import CallError
from siteplan.site.readers.deed_calls import read_call, read_calls, split_calls
from siteplan.site.readers.deed_slips import slips_of
from siteplan.site.readers.site_file import site_from

FT = 0.3048

# J. Mahun, Open Access Surveying Library, Traverse computations, ch. I, "bearing traverse": feet
MAHUN = "S68-05-35W 472.68; N19-46-00W 216.13; N45-55-20E 276.52; S54-59-15E 382.24"
MAHUN_LATITUDES = [-176.357, 203.395, 192.357, -219.312]
MAHUN_DEPARTURES = [-438.548, -73.093, 198.651, 313.065]
# Purdue University, ASM 215, traverse calculations: azimuths, feet; it prints 1 in 2,771 of a
# rounded misclosure of 0.89
PURDUE = ["az 26-10 285.10", "az 104-35 610.45", "az 195-30 720.48", "az 358-18 203.00",
          "az 306-54 647.02"]  # fmt: skip
# a sample traverse of which the misclosure and the area after the compass rule are printed
SAMPLE = ("N5-30E 495.85; N46-02E 850.62; S67-38E 855.45; S12-25E 1020.87; S83-44W 1117.26; "
          "N55-09W 660.08")  # fmt: skip


def courses(text: str, unit: str = "ft") -> list[Leg]:
    calls, faults = read_calls(split_calls(text), unit)
    assert faults == []
    return [call.course for call in calls]


def test_a_text_in_place_of_the_table_is_the_text_of_the_deed() -> None:
    # a deed is pasted as it stands: what lies in it and says more is its text
    text = "N 200 feet; E 100 feet; S 200 feet; W 100 feet"
    parcels = [
        site_from(
            {
                "project": {"title": "t", "owner": "o", "date": datetime.date(2026, 3, 14)},
                "geometry": {"deed": deed},
                "exchanger": {"capacity": "3 ton", "entry": [[50, 50]]},
            }
        ).parcel
        for deed in (text, {"text": text})
    ]
    assert parcels[0] == parcels[1]
    # by hand: 200 ft by 100 ft
    assert parcels[0].area == pytest.approx(200 * FT * 100 * FT)


def site_of(entry: tuple[float, float] = (50, 50), **deed: Any) -> Site:
    return site_from(
        {
            "project": {"title": "t", "owner": "o", "date": datetime.date(2026, 3, 14)},
            "geometry": {"deed": deed},
            "exchanger": {"capacity": "3 ton", "entry": [list(entry)]},
        }
    )


def fault_of(**deed: Any) -> str:
    with pytest.raises(InputError) as raised:
        site_of(**deed)
    return "\n".join(map(str, raised.value.faults))


def test_latitudes_departures_and_closure_of_a_published_traverse() -> None:
    read = courses(MAHUN)
    steps = np.array([course.step for course in read]) / FT
    assert steps[:, 1] == pytest.approx(MAHUN_LATITUDES, abs=1e-3)
    assert steps[:, 0] == pytest.approx(MAHUN_DEPARTURES, abs=1e-3)
    closure = closure_of(read)
    assert closure.perimeter_m / FT == pytest.approx(1347.57)
    # its rounded rows sum to +0.083 and +0.075
    assert closure.north_m / FT == pytest.approx(0.083, abs=1e-3)
    assert closure.east_m / FT == pytest.approx(0.075, abs=1e-3)


def test_azimuths_of_a_published_traverse() -> None:
    calls, faults = read_calls(PURDUE, "ft")
    assert faults == []
    closure = closure_of([call.course for call in calls])
    assert closure.north_m / FT == pytest.approx(-0.71, abs=0.01)
    assert closure.east_m / FT == pytest.approx(0.53, abs=0.01)
    assert closure.ratio == pytest.approx(2771, rel=0.01)
    # its coordinates begin at 10,000 and 10,000
    adjusted = by_compass_rule([call.course for call in calls])
    corners = 10_000 + corners_of(adjusted) / FT
    printed = [(10125.66, 10255.96), (10716.31, 10102.44), (10523.62, 9408.37), (10517.55, 9611.34)]
    assert corners[1:] == pytest.approx(np.array(printed), abs=0.01)


def test_the_compass_rule_gives_the_printed_area() -> None:
    read = courses(SAMPLE)
    closure = closure_of(read)
    assert closure.miss_m / FT == pytest.approx(24.6876, abs=1e-4)
    assert closure.ratio == pytest.approx(200, rel=0.02)
    adjusted = by_compass_rule(read)
    assert closure_of(adjusted).miss_m < 1e-9
    area = shapely.Polygon(corners_of(adjusted)).area / FT**2
    assert area == pytest.approx(1_715_250.0494, abs=1e-3)


@pytest.mark.parametrize(
    ("words", "azimuth", "feet"),
    [
        ("N 45°30'15\" E 123.45 feet", 45.504167, 123.45),
        ("North 45 degrees 30 minutes 15 seconds East, a distance of 9 feet", 45.504167, 9),
        ("S45-30-15W 1,123.45'", 225.504167, 1123.45),
        ("N 51 37 0 W 119.22", 308.383333, 119.22),
        ("due north 5 rods to an iron pin", 0, 82.5),
        ("West 20 varas", 270, 20 * 100 / 3 / 12),
        ("N.45°W. 12 chains 50 links to a stake", 315, 825),
        ("thence along the lane, S 10° E, 100 ft 6 in", 170, 100.5),
        ("azimuth 195°30' 60 meters", 195.5, 60 / FT),
        ("East 8 perches", 90, 132),
        ("N 10 E 100 survey feet", 10, 100 * 1.000002),
        # as drawings and old deeds have them; common practice, no source
        ("N 10 E 112'-6\"", 10, 112.5),
        ("N 10°15' E 112’ 6”", 10.25, 112.5),
        ("East 6 1/2 rods", 90, 6.5 * 16.5),
        ("East 6½ rods", 90, 6.5 * 16.5),
        ("East 5 ch. 20 lks.", 90, 5.2 * 66),
        ("East 100 feet and 6 inches", 90, 100.5),
        # the width of the lane is no part of the way along it
        ("East 100 feet, 20 feet from the lane", 90, 100),
        ("N 10 E ten (10) rods", 10, 165),
        ("N 10 E 420 and 5/10 feet", 10, 420.5),
        ("N 10 E 420 feet and 5/10 of a foot", 10, 420.5),
        ("North 45 1/2 degrees East 150 ft", 45.5, 150),
        ("N 45½° E 150 ft", 45.5, 150),
        ("North 45 degs. 30 mins. East 150 feet", 45.5, 150),
        ("S. 10 deg. 15 min. W. 8 chs. 25 lks.", 190.25, 8.25 * 66),
        # a call names other numbers than its distance: lots, pages, widths, what is passed
        ("N 10 E along land of Lot 5, 150 feet", 10, 150),
        ("N 10 E by land of Alder, Book 2210 Page 14, a distance of 212.5 feet", 10, 212.5),
        ("N 10 E passing a pin at 20 feet, 150 feet in all", 10, 150),
        ("N 10 E 20 feet passing a pin, a total distance of 150 feet to a stone", 10, 150),
        ("N 10 E crossing a 50 foot right of way, 300 feet", 10, 300),
        ("N 10 E, across a 20' easement 300'", 10, 300),
        ("N 10 E 300 feet to a 4 inch pipe", 10, 300),
        ("N 10 E to a 5/8 inch rod, 300 feet", 10, 300),
        ("N 10 E 100 feet to a pin which bears S 10 W 20 feet from an oak", 10, 100),
        ("N 10 E 150 feet to the beginning of a curve to the left", 10, 150),
        # lines and sides have names that are no way to go
        ("along Alder's land East 150 feet", 90, 150),
        ("along the East line of Lot 5 North 150 feet", 0, 150),
        ("East along the North line of Lot 5, 150 feet", 90, 150),
        ("East 100 feet to the West line of Mill Street", 90, 100),
    ],
)  # fmt: skip
def test_calls_are_read_as_they_are_written(words: str, azimuth: float, feet: float) -> None:
    course = read_call(words, "ft").course
    assert course.azimuth_deg == pytest.approx(azimuth, abs=1e-5)
    assert course.length_m / FT == pytest.approx(feet, rel=1e-6)


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("N 10 E sixty feet to a 4 inch pipe", "“sixty feet” stands in words"),
        ("N 10 E four hundred and 5/10 feet", "“four hundred and 5/10 feet” stands in words"),
        ("N 10 E 12 rods and eight links", "“eight links” stands in words"),
        ("N 10 E along Lot 5 to the road", "no distance is found"),
        ("N 10 E by a 4 inch pipe", "no distance is found"),
        ("N 10 E along the 20' line, the wall 300'", "which is its distance: 20 ', 300 '"),
        ("S 80 150", "“80 150”: such a unit is not read"),
        ("S 80 E 5 furlongs", "“5 furlongs”: such a unit is not read"),
        ("N 10:15 E 100", "“N 10:15 E”: such a bearing is not read"),
        ("North East 150 feet", "“North East”: two points of the compass"),
        ("North by East 150 feet", "“North by East”: two points of the compass"),
        ("W along Main Street East 150 feet", "two directions, “W” and “East”"),
        ("N 10 E 100 feet to a pin, then S 80 E 50 feet", "a second course, “S 80 E 50 feet”"),
    ],
)
def test_what_can_be_read_in_two_ways_is_refused(words: str, message: str) -> None:
    with pytest.raises(CallError) as raised:
        read_call(words, "ft")
    assert message.replace("20 ', 300 '", "20', 300'") in str(raised.value)


@pytest.mark.parametrize(
    "said",
    [
        "radius of 50.00 feet, a distance of 78.54 feet",
        "R=50', L=78.54'",
        "R = 50 ft, Δ = 90°00'00\"",
        "radius of 50 feet through a central angle of 90 degrees a distance of 78.54 feet",
        "arc length 78.54 feet, the chord of which bears N 45 E a distance of 70.71 feet",
        "L = 78.54', CB = N 45°00' E 70.71'",
    ],
)
def test_a_curve_is_read_as_deeds_and_plats_have_it(said: str) -> None:
    # a quarter of a circle of 50 ft: arc 50 pi / 2 = 78.54, chord 50 sqrt 2 = 70.71
    course = read_call(f"along a curve to the right, {said}", "ft", Leg(0.0, 1.0)).course
    assert course.curve is not None
    assert course.curve.radius_m / FT == pytest.approx(50, abs=0.02)
    assert course.curve.delta_deg == pytest.approx(90, abs=0.02)
    assert course.azimuth_deg == pytest.approx(45, abs=0.02)


def test_a_course_without_a_bearing_is_not_left_out() -> None:
    text = (
        "Beginning at a pin; thence N 10 E 200 feet; thence along the road easterly 150 feet; "
        "thence S 10 W 200 feet; thence N 80 W 150 feet to the beginning."
    )
    told = fault_of(text=text)
    assert "call 2: “along the road easterly 150 feet”: no bearing is found" in told
    assert "The others would close with S 80°00'00\" E 150.00 ft in its place" in told


def test_a_course_left_out_is_told() -> None:
    told = fault_of(calls=["N 10 E 200 ft", "S 80 E 150 ft", "S 10 W 90 ft", "N 85 W 60 ft"])
    # east: 200 sin 10 + 150 sin 80 - 90 sin 10 - 60 sin 85 = 107.05; north: 200 cos 10
    # - 150 cos 80 - 90 cos 10 + 60 cos 85 = 87.51; back: atan 107.05 / 87.51 = 50.73 degrees
    assert "A course of S 50°4" in told
    assert "138.2" in told


@pytest.mark.parametrize(
    ("stated", "codes"),
    [
        ("30,000 square feet", ["deed-closes"]),
        ("0.69 acre, more or less", ["deed-closes"]),
        ("2,787 square meters", ["deed-closes"]),
        ("0.75 acres of land", ["deed-closes", "deed-area"]),
        ("25,000 sq. ft.", ["deed-closes", "deed-area"]),
        ("an unknown area", ["deed-closes"]),
    ],
)
def test_the_area_that_a_deed_states_is_compared(stated: str, codes: list[str]) -> None:
    # 200 by 150 ft are 30,000 square feet, 0.6887 acre, 2,787.1 square metres
    text = (
        "Beginning at a pin; thence N 10 E 200 feet; thence S 80 E 150 feet; thence S 10 W 200 "
        f"feet; thence N 80 W 150 feet to the beginning, containing {stated}."
    )
    assert [finding.code for finding in deed_remarks(site_of(text=text, begin=[0, 0]))] == codes


def test_a_paragraph_gives_its_calls() -> None:
    text = (
        "Beginning at an iron pin on the north side of Mill Road, 20 feet from the bridge; thence "
        "N 10°00' E 200.00 feet to a stone; thence S 80°00' E, 150 feet along land of A. Alder; "
        "thence S 10°00' W 200.00 feet to the road; thence N 80°00' W 150.00 feet to the point of "
        "beginning, containing 30,000 square feet."
    )
    site = site_of(text=text, begin=[0, 0])
    assert site.parcel.area / FT**2 == pytest.approx(30_000, abs=0.01)
    assert [finding.code for finding in deed_remarks(site)] == ["deed-closes"]


@pytest.mark.parametrize(
    "joined",
    [
        "\n".join,
        ", ".join,
        lambda calls: "\n".join(f"{number}. {call}" for number, call in enumerate(calls, 1)),
        lambda calls: ";\n".join(f"{call} to an iron pin" for call in calls) + ".",
    ],
)
def test_calls_of_a_tape_sketch_are_read_line_by_line(joined: Callable[[list[str]], str]) -> None:
    # of the published traverse above, written as on a field sketch: without thence
    calls = split_calls(MAHUN)
    assert courses(joined(calls)) == courses(MAHUN)
    beginning = "Beginning at a pin on the\nEast line of Mill Road, "
    assert courses(beginning + joined(calls)) == courses(MAHUN)


@settings(max_examples=several(15, 60))
@given(st.floats(20, 500), st.floats(5, 340), st.sampled_from(["left", "right"]))
def test_a_curve_is_the_same_by_any_two_of_its_parts(
    radius: float, delta: float, turn: str
) -> None:
    right = turn == "right"
    angle = math.radians(delta)
    arc, chord = radius * angle, 2 * radius * math.sin(angle / 2)
    assume(chord < 0.999 * arc)
    degrees = f"{delta:.10f}°"
    parts = {"radius": f"radius {radius:.9f}", "arc": f"arc {arc:.9f}",
             "chord": f"chord {chord:.9f}", "delta": f"central angle {degrees}"}  # fmt: skip
    before = Leg(30.0, 10.0)
    pairs = [("radius", "delta"), ("radius", "arc"), ("arc", "delta"), ("chord", "delta"),
             ("arc", "chord")]  # fmt: skip
    # a chord and a radius do not tell an arc from the rest of the circle
    pairs += [("radius", "chord")] if delta < 179 else []
    for pair in pairs:
        words = f"curve to the {turn}, " + ", ".join(parts[name] for name in pair)
        course = read_call(words, "m", before).course
        assert course.length_m == pytest.approx(chord, rel=1e-5, abs=1e-5)
        # tangent to the course before: the chord turns by half the angle
        half = delta / 2 if right else -delta / 2
        assert math.cos(math.radians(course.azimuth_deg - 30.0 - half)) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("said", "azimuth"),
    [("S 45 E", 135), ("due West", 270), ("azimuth 195-30", 195.5), ("N 10°30' W", 349.5)],
)
def test_the_chord_of_a_curve_bears_as_it_says(said: str, azimuth: float) -> None:
    words = (
        f"along the lane by a curve to the left, radius 90 ft, chord bearing {said}, chord 50 ft"
    )
    course = read_call(words, "ft", Leg(10.0, 1.0)).course
    assert course.azimuth_deg == pytest.approx(azimuth)
    assert course.length_m / FT == pytest.approx(50)


def test_the_outline_along_a_curve_is_the_circle() -> None:
    # a quarter of a circle of 100 m and its two radii: pi r^2 / 4
    text = (
        "N 0 E 100 m; curve to the right, radius 100 m, arc 157.0796327 m, chord bearing S 45 E; "
    )
    read = courses(text.replace("N 0 E 100 m; ", "") + "S 90 W 100 m; N 0 E 100 m", "m")
    area = shapely.Polygon(outline_of(read)).area
    assert area == pytest.approx(math.pi * 100**2 / 4, rel=2e-5)
    assert read[0].curve == CircularCurve(pytest.approx(100), pytest.approx(90))


@settings(max_examples=several(10, 40))
@given(st.lists(st.tuples(st.integers(0, 400), st.integers(0, 400)), min_size=3, max_size=8,
                unique=True))  # fmt: skip
def test_calls_written_from_an_outline_give_it_back(corners: list[tuple[int, int]]) -> None:
    hull = shapely.convex_hull(shapely.MultiPoint(corners))
    assume(hull.area > 2_000)
    ring = shapely.get_coordinates(hull.normalize().exterior)
    calls = []
    for start, end in pairwise(ring):
        east, north = end - start
        angle = math.degrees(math.atan2(abs(east), abs(north)))
        seconds = round(angle * 3600)
        bearing = f"{seconds // 3600}°{seconds // 60 % 60}'{seconds % 60}\""
        quadrant = ("N" if north >= 0 else "S") + " " + bearing + (" E" if east >= 0 else " W")
        calls.append(f"{quadrant} {math.hypot(east, north):.2f} feet")
    inside = hull.representative_point()
    begin = [float(value) for value in ring[0]]
    site = site_of((inside.x, inside.y), calls=calls, begin=begin, closure=100)
    back = shapely.get_coordinates(site.parcel.exterior) / FT
    # a second of arc over 566 ft is 0.003 ft, a hundredth rounded 0.005 ft; eight add up
    for corner in ring[:-1]:
        assert np.hypot(*(back - corner).T).min() < 0.05


@pytest.mark.parametrize(
    ("written", "slipped", "what", "meant"),
    [
        ("276.52", "267.52", "distance", "276.52 ft"),
        ("276.52", "76.52", "distance", "276.52 ft"),
        ("N45-55-20E", "S45-55-20E", "quadrant", "N 45°55'20\" E"),
        ("N45-55-20E", "N54-55-20E", "bearing", "N 45°55'20\" E"),
        ("N19-46-00W 216.13", "N19-46-00W 3.27469697 chains", "", ""),
    ],
)
def test_a_slip_is_found_where_it_is(written: str, slipped: str, what: str, meant: str) -> None:
    text = MAHUN.replace(written, slipped)
    assert text != MAHUN
    calls, _ = read_calls(split_calls(text), "ft")
    slips = slips_of(calls, ratio=5000)
    if not what:
        # chains instead of feet are the same length: no slip at all
        assert closure_of([call.course for call in calls]).ratio > 5000
        return
    assert (slips[0].number, slips[0].what, slips[0].meant) == (3, what, meant)
    assert {slip.number for slip in slips} == {3}


def test_feet_written_for_chains_are_found() -> None:
    square = ["North 10 chains", "East 10 chains", "South 10 feet", "West 10 chains"]
    calls, _ = read_calls(square, "ft")
    slips = [(slip.number, slip.what, slip.meant) for slip in slips_of(calls, ratio=5000)]
    # the figure cannot tell whether the one was meant longer or the other shorter
    assert slips == [(1, "unit", "10 feet"), (3, "unit", "10 chains")]


def test_a_gross_misclosure_names_the_call() -> None:
    calls = [call.strip() for call in MAHUN.replace("276.52", "76.52").split(";")]
    told = fault_of(calls=calls)
    assert "does not close: 199.89 ft are missing" in told
    assert "call 3, “N45-55-20E 76.52”, if its distance were 276.52 ft" in told


def test_a_poor_closure_is_a_warning_and_the_compass_rule_mends_the_last_call() -> None:
    calls = [call.strip() for call in MAHUN.replace("382.24", "381.84").split(";")]
    site = site_of((200, 200), calls=calls)
    assert [finding.code for finding in deed_remarks(site)] == ["deed-closes-badly"]
    other = site_of((200, 200), calls=calls, adjust="compass rule")
    assert other.deed is not None
    assert other.deed.adjusted
    assert other.parcel.symmetric_difference(site.parcel).area > 0.1


@pytest.mark.parametrize(
    ("deed", "message"),
    [
        ({}, "has not exactly one of calls and text"),
        ({"calls": ["N 10 E 90"], "text": "x"}, "has not exactly one of calls and text"),
        ({"calls": "N 10 E 90"}, "is not a list of texts"),
        ({"calls": ["N 10 E 90", "S 10 W 90"]}, "has 2 calls"),
        ({"calls": ["N 10 E", "E 9", "S 9"]}, "call 1: “N 10 E”: no distance is found"),
        ({"calls": ["N 10 E 12,5 feet", "E 9", "S 9"]}, "no distance is found"),
        ({"calls": ["N 10 E 10O feet", "E 9", "S 9"]}, "no distance is found"),
        ({"calls": ["N 95 E 9", "E 9", "S 9"]}, "a bearing has at most 90 degrees"),
        ({"calls": ["N 10 75 E 9", "E 9", "S 9"]}, "minutes and seconds are less than 60"),
        ({"calls": ["to the oak", "E 9", "S 9"]}, "no bearing is found"),
        ({"calls": ["E 9", "curve left, radius 9", "S 9"]}, "a curve needs two of"),
        ({"calls": ["E 9", "curve, radius 9, arc 9", "S 9"]}, "left or right"),
        ({"calls": ["curve left, radius 9, arc 9", "S 9"]}, "at the beginning needs the bearing"),
        (
            {"calls": ["E 9", "non-tangent curve left, radius 9, arc 9", "S 9"]},
            "not tangent needs the bearing",
        ),
        (
            {"calls": ["E 9", "curve left, radius 50 ft, arc 60 ft, chord 59 ft", "S 9"]},
            "the chord of the curve contradicts",
        ),
    ],
)
def test_what_cannot_be_read_names_the_call(deed: dict[str, Any], message: str) -> None:
    assert message in fault_of(**deed)


def test_an_arc_shorter_than_its_chord_is_no_curve() -> None:
    with pytest.raises(CallError, match="not longer than its chord"):
        read_call("curve left, arc 9, chord 10", "ft", Leg(0, 1))
