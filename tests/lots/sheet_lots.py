"""Invented lots with layouts made by hand, for drawing tests; no engine is involved."""

import datetime
import math
from collections.abc import Callable
from dataclasses import replace
from functools import cache

import shapely
from drawn_once import compose
from shapely import LineString, Point, Polygon, box

from siteplan.available.area import KeepOut
from siteplan.checks.model import Separation
from siteplan.demand.model import Required
from siteplan.findings.model import Finding, reason
from siteplan.layout.elements import Bore, Coil, Trench, Well
from siteplan.layout.model import Crossing, Header, Layout
from siteplan.rule_books.model import Rule
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.model import Sheet
from siteplan.site.model import (
    DepthContour,
    Entry,
    Exchanger,
    Feature,
    HorizontalOptions,
    PondOptions,
    Project,
    Site,
    VerticalOptions,
)
from siteplan.site.open_loop import OpenOptions
from siteplan.site.sheet_options import SheetOptions
from siteplan.units.systems import METRIC, US

FT = 0.3048


@cache
def composed(lot: Callable[[], PlanContent]) -> Sheet:
    """Plan sheet of a lot as its function gives it, composed once in a process."""
    return compose(lot())


def ft(*points):
    """Points in feet as points in metres."""
    return [(x * FT, y * FT) for x, y in points]


def arc_ft(center, radius, start_deg, end_deg, count):
    angles = [start_deg + (end_deg - start_deg) * k / count for k in range(count + 1)]
    return [
        (
            center[0] + radius * math.cos(math.radians(a)),
            center[1] + radius * math.sin(math.radians(a)),
        )
        for a in angles
    ]


EXCHANGER = Exchanger(
    horizontal=HorizontalOptions(3.048, 1.5, 0.9, 2, 10.0),
    vertical=VerticalOptions(6.096, 45.0, 120.0, 0.15),
    pond=PondOptions(1.2, 0.3, 91.44, 2.4, 3.0),
    open=OpenOptions(15.0, 0.15, 30.0),
)


def project(title, **more):
    facts = {
        "owner": "A. Owner",
        "date": datetime.date(2026, 3, 14),
        "address": "118 Alder Bend, Sampleton",
        "parcel_id": "12-034-007",
        "prepared_by": "P. Preparer",
        **more,
    }
    return Project(title=title, **facts)


def rule(subject, part, feet, number, use=""):
    source = f"Sample County Code, chapter 7, section {number}"
    return Rule(f"r{number}", subject, (part,), feet * FT, f"{feet} ft", "sample", source, use)


def measured(site, layout, rules):
    """Separations and keep-outs of the layout, by plain shapely distances."""
    separations, keep_outs = [], []
    for one in rules:
        things = (
            [("parcel", site.parcel.exterior)]
            if one.subject == "property line"
            else [(f.id, f.shape) for f in site.features if f.kind == one.subject]
        )
        for name, shape in things:
            keep_outs.append(KeepOut(one, name, shape.buffer(one.distance_m, quad_segs=32)))
        pairs = [
            (element.footprint.distance(shape) - element.reach_m, element, name, shape)
            for element in layout.elements
            for name, shape in things
        ]
        if not pairs:
            continue
        distance, element, name, shape = min(pairs, key=lambda pair: (pair[0], pair[1].id))
        line = shapely.shortest_line(element.footprint, shape)
        near, far = line.coords
        share = element.reach_m / line.length if line.length else 0.0
        near = (near[0] + share * (far[0] - near[0]), near[1] + share * (far[1] - near[1]))
        separations.append(
            Separation(element.part, element.id, name, one, distance, near, tuple(far))
        )
    return tuple(separations), tuple(keep_outs)


def suburban(sheet=None, bores=12, **changes):
    """A lot with a curved frontage, private well and septic; a field of bores behind the house."""
    front = arc_ft((115, 480), 475, 256.5, 283.5, 24)
    parcel = Polygon(ft(*front, (216, 188), (138, 172), (0, 160)))
    house = Polygon(ft((45, 55), (45, 80), (72, 81), (72, 90), (130, 92), (131, 57), (72, 54)))
    features = (
        Feature("street", "street", Polygon(ft(*arc_ft((115, 480), 475, 254, 286, 24),
                *arc_ft((115, 480), 515, 286, 254, 24))), "Alder Bend (40 ft right of way)"),
        Feature("house", "building", house, "Existing residence"),
        Feature("shed", "building", box(*(v * FT for v in (15, 130, 30, 143))), "Shed"),
        Feature("drive", "driveway", Polygon(ft((50, 55), (40, 12), (58, 9), (66, 55))), "Drive"),
        Feature("well-1", "potable well", Point(ft((22, 108))[0]), use="private"),
        Feature("tank-1", "septic tank", Polygon(ft((146, 66), (156, 66), (156, 71), (146, 71))),
                "1,250 gal septic tank"),
        Feature("field-1", "drainfield", box(*(v * FT for v in (150, 22, 206, 46)))),
        Feature("reserve-1", "reserve area", box(*(v * FT for v in (80, 16, 140, 42)))),
        Feature("gas", "gas line", LineString(ft((30, 0), (36, 40), (45, 58)))),
        Feature("electric", "electric line", LineString(ft((24, 0), (28, 45), (45, 66)))),
        Feature("water", "water line", LineString(ft((22, 108), (30, 90), (45, 76)))),
        Feature("sewer", "sewer line", LineString(ft((131, 68), (146, 68.5)))),
        Feature("easement", "easement", Polygon(ft(*front, *[(x, y + 8) for x, y in front[::-1]])),
                "8 ft utility easement"),
        Feature("oak", "tree", Point(ft((196, 160))[0]), "24 in oak"),
    )  # fmt: skip
    entry = Entry("E1", Point(ft((100, 91))[0]), "rear wall")
    other = Entry("E2", Point(ft((131, 80))[0]))
    options = sheet or SheetOptions()
    site = Site(
        project("Loop field, Alder Bend"), US, parcel, features, (entry, other), EXCHANGER,
        ("sample",), sheet=options,
    )  # fmt: skip
    places = [(85 + 20 * (k % 4), 150 - 20 * (k // 4)) for k in range(bores)]
    if bores > 12:
        places = [(70 + 12 * (k % 10), 160 - 11 * (k // 10)) for k in range(bores)]
    elements = tuple(
        Bore(f"B{k}", x * FT, y * FT, 0.1524, 300 * FT) for k, (x, y) in enumerate(places, 1)
    )
    runs = [LineString(ft((100, 91), (100, 100), (115, 105), (115, 150)))]
    for y in (150, 130, 110):
        runs += [LineString(ft((115, y), (85, y))), LineString(ft((115, y), (145, y)))]
    header = Header(tuple(runs), entry, ())
    layout = Layout("vertical", elements, header, 20 * FT, 4800 * FT)
    rules = [
        rule("property line", "bore", 10, 1), rule("building", "bore", 10, 2),
        rule("potable well", "bore", 50, 3), rule("septic tank", "bore", 25, 4),
        rule("drainfield", "bore", 50, 5), rule("reserve area", "bore", 50, 5),
        rule("gas line", "bore", 10, 6), rule("tree", "bore", 10, 7),
    ]  # fmt: skip
    return _content(site, layout, rules, **changes)


def rural(sheet=None, **changes):
    """A rural lot in metres with a stream and eight trenches."""
    parcel = Polygon([(0, 0), (92, -6), (104, 118), (40, 131), (-8, 100)])
    features = (
        Feature("road", "street", LineString([(-30, -8), (130, -18)]), "County road 12"),
        Feature("house", "building", Polygon([(20, 20), (38, 20), (38, 30), (20, 30)]), "House"),
        Feature("barn", "building", Polygon([(70, 14), (82, 13), (83, 27), (71, 28)]), "Barn"),
        Feature("well-1", "potable well", Point(14, 40), use="private"),
        Feature("well-n", "potable well", Point(-22, 60), "Neighbour's well", use="private"),
        Feature("tank", "septic tank", Point(45, 25)),
        Feature("field", "drainfield", Polygon([(50, 8), (64, 8), (64, 20), (50, 20)])),
        Feature("oh", "overhead power line", LineString([(-8, 12), (20, 24)])),
        Feature("stream", "stream", LineString(
            [(-20, 112), (10, 100), (30, 112), (60, 106), (90, 112), (120, 100)]), "Mill brook"),
        Feature("wet", "wetland", Polygon([(60, 100), (96, 98), (98, 112), (62, 114)])),
        Feature("lp", "fuel tank", Point(42, 34), "LP tank 500 gal"),
        Feature("drive", "driveway", Polygon([(24, -3), (28, -3), (28, 20), (24, 20)])),
        Feature("telecom", "other keep-out", LineString([(38, 26), (70, 20)]), "Telecom cable"),
    )  # fmt: skip
    entry = Entry("E1", Point(30, 30), "")
    site = Site(
        project("Trench loop, County road 12"), METRIC, parcel, features, (entry,), EXCHANGER,
        ("sample",), sheet=sheet or SheetOptions(size="A3"),
    )  # fmt: skip
    lines = [LineString([(26, 46 + 5 * k), (88, 46 + 5 * k)]) for k in range(8)]
    elements = tuple(Trench(f"T{k}", line, 0.9, 1.5, 2) for k, line in enumerate(lines, 1))
    trunk = LineString([(30, 30), (30, 40), (22, 44), (22, 81)])
    legs = [LineString([(22, 46 + 5 * k), (26, 46 + 5 * k)]) for k in range(8)]
    runs = (trunk, *legs)
    header = Header(runs, entry, ())
    layout = Layout("horizontal", elements, header, 5.0, 600.0)
    rules = [
        rule("property line", "trench", 10, 1), rule("building", "trench", 10, 2),
        rule("potable well", "trench", 25, 3), rule("drainfield", "trench", 10, 4),
        rule("stream", "trench", 25, 5), rule("wetland", "trench", 25, 5),
    ]  # fmt: skip
    return _content(site, layout, rules, **changes)


def pond_farm(sheet=None, **changes):
    """A farm with a pond and coils on its floor."""
    parcel = Polygon(ft((0, 0), (420, 10), (440, 330), (230, 380), (-10, 320)))

    def blob(radius, count=40):
        return Polygon(ft(*[
            (270 + radius * (1.25 + 0.12 * math.sin(3 * a)) * math.cos(a),
             210 + radius * (0.9 + 0.1 * math.cos(2 * a)) * math.sin(a))
            for a in (2 * math.pi * k / count for k in range(count))
        ]))  # fmt: skip

    pond = Feature(
        "pond-1", "pond", blob(95), "Farm pond",
        contours=(DepthContour(4 * FT, blob(80)), DepthContour(8 * FT, blob(60))),
    )  # fmt: skip
    features = (
        Feature("lane", "street", LineString(ft((-60, -14), (480, -2))), "Orchard lane"),
        Feature("house", "building", box(*(v * FT for v in (40, 60, 95, 95))), "Farmhouse"),
        Feature("drive", "driveway", Polygon(ft((60, 2), (75, 2), (75, 60), (60, 60)))),
        pond,
        Feature("flood", "floodplain", blob(118)),
        Feature("well", "potable well", Point(ft((30, 130))[0]), use="private"),
        Feature("septic", "septic tank", Point(ft((110, 70))[0])),
        Feature("field", "drainfield", Polygon(ft((115, 20), (165, 20), (165, 48), (115, 48)))),
        Feature("electric", "electric line", LineString(ft((20, 0), (25, 60), (40, 80)))),
    )  # fmt: skip
    entry = Entry("E1", Point(ft((95, 85))[0]), "")
    site = Site(
        project("Pond loop, Orchard lane"), US, parcel, features, (entry,), EXCHANGER,
        ("sample",), sheet=sheet or SheetOptions(),
    )  # fmt: skip
    places = [(255 + 9 * (k % 4), 222 - 9 * (k // 4)) for k in range(8)]
    elements = tuple(
        Coil(f"C{k}", x * FT, y * FT, 4 * FT, 300 * FT, 8 * FT, "pond-1")
        for k, (x, y) in enumerate(places, 1)
    )
    runs = (LineString(ft((95, 85), (140, 130), (240, 200), (255, 213))),)
    crossing = Crossing("flood", "floodplain", *ft((160, 144))[0])
    header = Header(runs, entry, (crossing,))
    layout = Layout("pond", elements, header, 5 * FT, 4000 * FT)
    rules = [rule("property line", "coil", 25, 1), rule("potable well", "coil", 50, 2)]
    return _content(site, layout, rules, **changes)


def well_pair(**changes):
    """The suburban lot with a supply and a return well instead of bores."""
    content = suburban()
    elements = (
        Well("W1", *ft((95, 140))[0], 0.1524, 200 * FT, "supply"),
        Well("W2", *ft((170, 150))[0], 0.1524, 200 * FT, "return"),
    )
    layout = Layout("open", elements, None, 50 * FT, 0.0)
    rules = [
        rule("property line", "supply well", 10, 1),
        rule("potable well", "return well", 50, 3),
    ]
    required = Required(0.0, "given", _given(0.0, "heat pump data sheet"), 7.6e-4)
    return replace(_content(content.site, layout, rules, **changes), required=required)


def thin_lot(**changes):
    """A lot of 40 x 600 ft with sixty short trenches across it."""
    features = (
        Feature("house", "building", box(*(v * FT for v in (8, 20, 32, 60))), "House"),
        Feature("street", "street", LineString(ft((-20, -10), (60, -10))), "Sample Street"),
        Feature("well", "potable well", Point(ft((30, 580))[0]), use="private"),
        Feature("water", "water line", LineString(ft((30, 580), (32, 300), (20, 60)))),
    )
    entry = Entry("E1", Point(ft((20, 60))[0]), "rear wall")
    parcel = box(0, 0, 40 * FT, 600 * FT)
    site = Site(
        project("Thin lot, Long Lane"), US, parcel, features, (entry,), EXCHANGER, ("sample",)
    )
    rows = [80 + 8 * k for k in range(60)]
    elements = tuple(
        Trench(f"T{k}", LineString(ft((12, y), (30, y))), 0.6, 1.5, 2)
        for k, y in enumerate(rows, 1)
    )
    legs = [LineString(ft((10, y), (12, y))) for y in rows]
    runs = (LineString(ft((20, 60), (10, 70), (10, rows[-1]))), *legs)
    layout = Layout("horizontal", elements, Header(runs, entry, ()), 8 * FT, 600.0)
    rules = [rule("property line", "trench", 10, 1), rule("potable well", "trench", 25, 3)]
    return _content(site, layout, rules, **changes)


def crowded(count=26, **changes):
    """The suburban lot with so many more things close together before the house."""
    content = suburban()
    kinds = ("tree", "fuel tank", "septic tank", "hydrant", "privy")
    things = [
        Feature(f"f{k}", kinds[k % 5], Point(ft((74 + 11 * (k % 5), 14 + 8 * (k // 5)))[0]),
                f"Thing no {k}")
        for k in range(count)
    ]  # fmt: skip
    kept = [one for one in content.site.features if one.kind in ("building", "street")]
    site = replace(content.site, features=(*kept, *things))
    rules = [rule("property line", "bore", 10, 1), rule("tree", "bore", 10, 2)]
    return _content(site, content.layout, rules, **changes)


def _given(length_m, by):
    return reason("given-length", length_m=length_m, by=f"{by} of 2026-03-02")


def _content(site, layout, rules, **changes):
    separations, keep_outs = measured(site, layout, rules)
    content = PlanContent(
        site=site,
        layout=layout,
        keep_outs=keep_outs,
        separations=separations,
        required=Required(
            layout.length_m * 0.97, "given", _given(layout.length_m * 0.97, "load calculation")
        ),
        fits=True,
        verdict="FITS: every separation is kept and the length required is provided.",
        findings=(),
    )
    return replace(content, **changes)


def failing():
    """The suburban lot with a verdict and a finding that speak against it."""
    finding = Finding(
        "separation",
        subject="B9",
        measured_m=8.2 * FT,
        required_m=10 * FT,
        values={
            "part": "bore",
            "feature": "house",
            "lies": reason("lies-away", away_m=8.2 * FT, feature="house"),
            "kind": "building",
            "says": "at least",
            "printed": "10 ft",
            "source": "common practice, no source",
            "lacking_m": 1.8 * FT,
        },
    )
    verdict = "DOES NOT FIT: 3,492 ft of bore are required, 2,400 ft fit."
    return suburban(fits=False, verdict=verdict, findings=(finding,))
