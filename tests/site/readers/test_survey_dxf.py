"""A surveyor's drawing: every entity by its area, units, blocks, and what is refused."""

from __future__ import annotations

import datetime
import math
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pyogrio
import pytest
import shapely
from campaign import several
from ezdxf.document import Drawing as Document
from ezdxf.filemanagement import new as new_document
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from siteplan.advisories.survey import survey_remarks
from siteplan.errors import InputError
from siteplan.findings.words import words_of
from siteplan.site.model import Site
from siteplan.site.readers import survey_dxf
from siteplan.site.readers.site_file import site_from
from siteplan.site.readers.survey_dxf import open_drawing
from siteplan.site.readers.survey_lot import DrawnAsked, read_drawn, read_drawn_lot
from siteplan.site.readers.survey_rows import layer_of
from siteplan.units.lengths import ACRE, FOOT, US_SURVEY_FOOT

DAY = datetime.date(2026, 3, 14)
METRES = 6  # $INSUNITS by the DXF reference: 1 in, 2 ft, 4 mm, 6 m, 21 US survey feet
FEET = 2
FAR = (600_000.0, 4_500_000.0)
RING = [(0.0, 0.0), (60.0, 0.0), (60.0, 80.0), (0.0, 80.0)]
LOT = {"layer": "LOT"}


def drawing(path: Path, draw: Callable[[Any, Document], object], units: int = METRES) -> Path:
    document = new_document(units=units)
    draw(document.modelspace(), document)
    document.saveas(path)
    return path


def moved(points: Any, by: tuple[float, float] = FAR) -> list[tuple[float, float]]:
    return [(x + by[0], y + by[1]) for x, y in points]


def lot_of(path: Path, **asked: Any) -> Polygon:
    (shape,) = read_drawn_lot(DrawnAsked(path, "LOT", **asked)).rows.shapes
    assert isinstance(shape, Polygon)
    return shape


def sides(points: list[tuple[float, float]]) -> list[tuple[tuple[float, float], ...]]:
    return list(zip(points, [*points[1:], points[0]], strict=True))


def line_chain(space: Any, _: Document) -> None:
    pairs = sides(moved(RING))
    for start, end in (pairs[2], pairs[0], pairs[1][::-1], pairs[3]):
        space.add_line(start, end, LOT)


def half_round(space: Any, _: Document) -> None:
    """A square of 60 with a half circle on its top, of lines and an ARC."""
    a, b, c, d = moved([(0, 0), (60, 0), (60, 60), (0, 60)])
    for start, end in ((a, b), (b, c), (d, a)):
        space.add_line(start, end, LOT)
    space.add_arc((FAR[0] + 30, FAR[1] + 60), 30, 0, 180, dxfattribs=LOT)


def bulged(space: Any, _: Document) -> None:
    """The same by a bulge: the tangent of a quarter of 180 degrees is 1."""
    a, b, c, d = moved([(0, 0), (60, 0), (60, 60), (0, 60)])
    space.add_lwpolyline([(*a, 0), (*b, 0), (*c, 1), (*d, 0)], "xyb", close=True, dxfattribs=LOT)


def hollow(space: Any, _: Document) -> None:
    """The same with the half circle cut out, by the older POLYLINE."""
    a, b, c, d = moved([(0, 0), (60, 0), (60, 60), (0, 60)])
    corners = [(*a, 0), (*b, 0), (*c, -1), (*d, 0)]
    space.add_polyline2d(corners, format="xyb", close=True, dxfattribs=LOT)


def mirrored(space: Any, _: Document) -> None:
    """Drawn from below: the extrusion points down, x is turned about."""
    points = [(-x, y) for x, y in moved(RING)]
    space.add_lwpolyline(points, close=True, dxfattribs={**LOT, "extrusion": (0, 0, -1)})


def sloping(space: Any, _: Document) -> None:
    corners = [(x, y, 100.0 + x / 1e5) for x, y in moved(RING)]
    space.add_polyline3d(corners, close=True, dxfattribs=LOT)


def spline(space: Any, _: Document) -> None:
    """Two cubic Bézier curves end to end in one spline, closed by a line."""
    frame = [(0, 0), (20, 90), (60, 90), (80, 0)]
    space.add_spline(dxfattribs=LOT).control_points = [(*p, 0) for p in moved(frame)]
    space[-1].knots = [0, 0, 0, 0, 1, 1, 1, 1]
    space[-1].dxf.degree = 3
    space.add_line(*moved([frame[3], frame[0]]), LOT)


def under_bezier() -> float:
    """Area under a cubic Bézier curve by Gauss: exact for its polynomial of degree five."""
    frame = np.array([(0, 0), (20, 90), (60, 90), (80, 0)], float)
    nodes, weights = np.polynomial.legendre.leggauss(6)
    t = (nodes[:, None] + 1) / 2
    x = 3 * ((1 - t) ** 2 * (frame[1] - frame[0]) + 2 * t * (1 - t) * (frame[2] - frame[1])
             + t**2 * (frame[3] - frame[2]))  # fmt: skip
    y = (1 - t) ** 3 * frame[0] + 3 * t * (1 - t) ** 2 * frame[1] + 3 * t**2 * (1 - t) * frame[2]
    y += t**3 * frame[3]
    return float((weights / 2 * y[:, 1] * x[:, 0]).sum())


def hatched(space: Any, _: Document) -> None:
    """A hatch whose boundary has lines and an arc, with its outline drawn beneath."""
    half_round(space, _)
    path = space.add_hatch(dxfattribs=LOT).paths.add_edge_path()
    a, b, c, d = moved([(0, 0), (60, 0), (60, 60), (0, 60)])
    path.add_line(a, b)
    path.add_line(b, c)
    path.add_arc((FAR[0] + 30, FAR[1] + 60), 30, 0, 180)
    path.add_line(d, a)


def hatched_ring(space: Any, _: Document) -> None:
    hatch = space.add_hatch(dxfattribs=LOT)
    hatch.paths.add_polyline_path(moved(RING), is_closed=True)
    hatch.paths.add_polyline_path(moved([(20, 20), (40, 20), (40, 40), (20, 40)]), is_closed=True)


def nested(space: Any, document: Document) -> None:
    """A circle of radius 10 in a block turned, in a block twice as large, far off."""
    inner, outer = document.blocks.new("INNER"), document.blocks.new("OUTER")
    inner.add_circle((1, 2), 10)
    outer.add_blockref("INNER", (5, 0), {"rotation": 30})
    space.add_blockref("OUTER", FAR, {**LOT, "xscale": 2, "yscale": 2})


def stretched(space: Any, document: Document) -> None:
    """A circle of radius 10 in a block that is stretched to 3 by 2: an ellipse."""
    document.blocks.new("ROUND").add_circle((0, 0), 10)
    space.add_blockref("ROUND", FAR, {**LOT, "xscale": 3, "yscale": 2})


HALF = 60 * 60 + math.pi * 30**2 / 2
DRAWN: dict[str, tuple[Callable[..., object], float]] = {
    "LINE": (line_chain, 4800),
    "closed LWPOLYLINE": (
        lambda space, _: space.add_lwpolyline(moved(RING), close=True, dxfattribs=LOT), 4800),
    "LWPOLYLINE drawn back to its start": (
        lambda space, _: space.add_lwpolyline(moved([*RING, RING[0]]), dxfattribs=LOT), 4800),
    "ARC": (half_round, HALF),
    "bulge": (bulged, HALF),
    "POLYLINE with a hollow": (hollow, 60 * 60 - math.pi * 30**2 / 2),
    "CIRCLE": (lambda space, _: space.add_circle(FAR, 35, LOT), math.pi * 35**2),
    "ELLIPSE": (
        lambda space, _: space.add_ellipse(FAR, (50, 10, 0), 0.4, dxfattribs=LOT),
        math.pi * (50**2 + 10**2) * 0.4),
    "SPLINE": (spline, under_bezier()),
    "HATCH and outline": (hatched, HALF),
    "HATCH with a hole": (hatched_ring, 4800 - 400),
    "INSERT in INSERT": (nested, math.pi * 20**2),
    "INSERT stretched": (stretched, math.pi * 30 * 20),
    "3-D POLYLINE": (sloping, 4800),
    "drawn from below": (mirrored, 4800),
}  # fmt: skip


@pytest.mark.parametrize("name", DRAWN)
def test_every_entity_gives_its_area(tmp_path: Path, name: str) -> None:
    draw, area = DRAWN[name]
    shape = lot_of(drawing(tmp_path / "lot.dxf", draw))
    assert shape.is_valid
    assert shape.area == pytest.approx(area, rel=1e-6)
    # and where it is, to the size of the lot
    assert shape.distance(shapely.Point(FAR)) < 100


def test_a_curve_is_flattened_within_a_millimetre(tmp_path: Path) -> None:
    path = drawing(tmp_path / "lot.dxf", lambda space, _: space.add_circle((0, 0), 200, LOT))
    ring = lot_of(path).exterior
    off = np.hypot(*shapely.get_coordinates(shapely.segmentize(ring, 0.05)).T) - 200
    assert np.abs(off).max() < 1e-3
    assert len(ring.coords) < 3000


corner = st.tuples(st.floats(-90, 90), st.floats(-90, 90))


@settings(max_examples=several(10, 40), deadline=None)
@given(st.lists(corner, min_size=5, max_size=12, unique=True), st.sampled_from([0.0, 1e6]),
       st.sampled_from(["LINE", "LWPOLYLINE", "POLYLINE", "HATCH"]))  # fmt: skip
def test_a_polygon_comes_back_as_it_was_drawn(
    tmp_path_factory: pytest.TempPathFactory,
    corners: list[tuple[float, float]],
    away: float,
    kind: str,
) -> None:
    shape = shapely.convex_hull(shapely.MultiPoint(corners))
    if (
        not isinstance(shape, Polygon)
        or shape.area < 200
        or min(np.hypot(*np.diff(shape.exterior.coords, axis=0).T)) < 0.1
    ):
        return
    points = moved(shape.exterior.coords[:-1], (away, away))

    def draw(space: Any, _: Document) -> None:
        if kind == "LINE":
            for start, end in sides(points):
                space.add_line(start, end, LOT)
        elif kind == "LWPOLYLINE":
            space.add_lwpolyline(points, close=True, dxfattribs=LOT)
        elif kind == "POLYLINE":
            space.add_polyline2d(points, close=True, dxfattribs=LOT)
        else:
            space.add_hatch(dxfattribs=LOT).paths.add_polyline_path(points, is_closed=True)

    found = lot_of(drawing(tmp_path_factory.mktemp("dxf") / "lot.dxf", draw))
    assert found.area == pytest.approx(shape.area, rel=1e-6)
    back = shapely.transform(found, lambda p: p - away)
    assert back.hausdorff_distance(shape) < 1e-6


@pytest.mark.parametrize(
    ("units", "metres"), [(1, 0.0254), (2, FOOT), (4, 0.001), (6, 1.0), (21, US_SURVEY_FOOT)]
)
def test_the_unit_is_what_the_header_says(tmp_path: Path, units: int, metres: float) -> None:
    ring = [(x / metres, y / metres) for x, y in RING]
    path = drawing(
        tmp_path / "lot.dxf",
        lambda space, _: space.add_lwpolyline(ring, close=True, dxfattribs=LOT),
        units,
    )
    drawn = read_drawn_lot(DrawnAsked(path, "LOT"))
    assert drawn.rows.shapes[0].area * drawn.metres**2 == pytest.approx(4800, rel=1e-9)


def acre(space: Any, document: Document, *, measured: int | None = None) -> None:
    """An acre in feet: 198 by 220."""
    space.add_lwpolyline([(0, 0), (198, 0), (198, 220), (0, 220)], close=True, dxfattribs=LOT)
    if measured is not None:
        document.header["$MEASUREMENT"] = measured


@pytest.mark.parametrize(
    ("units", "measured", "why"),
    [
        (0, 1, "does not say its unit"),
        (3, 0, "says unit 3, in which no lot is drawn"),
        (6, 0, "contradicts itself: \\$INSUNITS says m, \\$MEASUREMENT feet and inches"),
        (1, 0, r"says it is drawn in in \(\$INSUNITS\), which gives 0.007 ac"),
        (4, 1, r"says it is drawn in mm \(\$INSUNITS\), which gives under 0.001 ac"),
    ],
)
def test_a_unit_missing_or_wrong_is_refused_with_what_each_would_give(
    tmp_path: Path, units: int, measured: int, why: str
) -> None:
    path = drawing(tmp_path / "a.dxf", lambda s, d: acre(s, d, measured=measured), units)
    with pytest.raises(InputError, match=why) as refused:
        lot_of(path)
    (fault,) = refused.value.faults
    # 43,560 sq ft are an acre; in square metres 10.764, in square inches 1/144 of it
    for told in ('"ft" (1.000 ac)', '"survey feet" (1.000 ac)', '"m" (10.764 ac)',
                 '"in" (0.007 ac)', '"mm" (under 0.001 ac)'):  # fmt: skip
        assert told in fault.mend
    drawn = read_drawn_lot(DrawnAsked(path, "LOT", unit="ft"))
    assert drawn.rows.shapes[0].area * drawn.metres**2 == pytest.approx(ACRE)


def test_gaps_within_the_tolerance_are_closed_and_wider_ones_named(tmp_path: Path) -> None:
    def gaping(gap: float) -> Callable[[Any, Document], None]:
        def draw(space: Any, _: Document) -> None:
            for start, end in sides(RING)[:-1]:
                space.add_line(start, end, LOT)
            space.add_line((0, 80), (0, gap), LOT)

        return draw

    drawn = read_drawn_lot(DrawnAsked(drawing(tmp_path / "a.dxf", gaping(0.02)), "LOT"))
    assert "gaps closed, the widest 0.020 m" in drawn.words
    assert drawn.rows.shapes[0].area == pytest.approx(4800, abs=1)
    wide = drawing(tmp_path / "b.dxf", gaping(0.5))
    with pytest.raises(InputError, match=r"no closed outline on layer 'LOT'. Its lines end 0.500 "
                       r"apart in the unit of the drawing, at \(0.00, 0.\d0\) and"):  # fmt: skip
        lot_of(wide)


def plat(space: Any, _: Document) -> None:
    """Two lots with one line between them, drawn of lines alone."""
    for start, end in [*sides(RING), *sides([(60, 0), (120, 0), (120, 80), (60, 80)])]:
        space.add_line(start, end, LOT)


def test_of_lots_that_share_a_line_one_must_be_named(tmp_path: Path) -> None:
    path = drawing(tmp_path / "plat.dxf", plat)
    with pytest.raises(InputError, match="has 2 closed outlines on layer 'LOT'") as refused:
        lot_of(path)
    assert 'where = "NUMBER = 1" (1.186 ac around 30.0,40.0)' in refused.value.faults[0].mend
    first = lot_of(path, where="NUMBER = 1")
    assert first.equals(Polygon(RING))
    assert lot_of(path, at=(90.0, 40.0)).equals(shapely.box(60, 0, 120, 80))
    with pytest.raises(InputError, match=r"no outline around 500,500 .* They lie at x 0.0 to 120"):
        lot_of(path, at=(500.0, 500.0))


def marks(space: Any, document: Document) -> None:
    """Wells as a block with attributes, a point with a text beside it, a text far off."""
    symbol = document.blocks.new("WELLSYM")
    symbol.add_circle((0, 0), 0.5)
    for number, place in enumerate([(10, 10), (50, 60)], start=1):
        insert = space.add_blockref("WELLSYM", place, {"layer": "WELL"})
        insert.add_attrib("ID", f"W-{number}", place)
    space.add_point((30, 30), {"layer": "WELL"})
    space.add_text("OLD WELL", dxfattribs={"layer": "WELL", "insert": (31, 31)})
    space.add_mtext("{\\fArial;DATUM}", {"layer": "WELL", "insert": (400, 400)})


def test_blocks_are_marks_with_their_attributes_and_texts_name_points(tmp_path: Path) -> None:
    rows = read_drawn(DrawnAsked(drawing(tmp_path / "a.dxf", marks), "WELL")).rows
    assert [shapely.get_coordinates(shape).tolist() for shape in rows.shapes] == [
        [[10, 10]], [[50, 60]], [[30, 30]],
    ]  # fmt: skip
    assert [says.get("ID") for says in rows.columns] == ["W-1", "W-2", None]
    assert [says.get("TEXT") for says in rows.columns] == [None, None, "OLD WELL"]
    assert rows.columns[0]["BLOCK"] == "WELLSYM"


def test_hidden_layers_missing_xrefs_and_heights_are_told(tmp_path: Path) -> None:
    def draw(space: Any, document: Document) -> None:
        space.add_lwpolyline(RING, close=True, dxfattribs={**LOT, "elevation": 250.0})
        document.layers.add("OLD").freeze()
        document.layers.add("NOTES").off()
        for layer in ("OLD", "NOTES"):
            space.add_circle((0, 0), 5, {"layer": layer})
        document.add_xref_def("base.dwg", "BASE")
        space.add_blockref("BASE", (0, 0))
        space.add_3dface([(0, 0), (1, 0), (1, 1)])

    path = drawing(tmp_path / "a.dxf", draw)
    words = read_drawn_lot(DrawnAsked(path, "LOT")).words
    assert words == (
        "layer NOTES is off: 1 left out",
        "layer OLD is frozen: 1 left out",
        "xref base.dwg is missing: bind it in the drawing",
        "not read: 1 3DFACE",
        "heights are dropped: not all of them are 0",
    )
    with pytest.raises(InputError, match="has layer 'old', but it is frozen"):
        read_drawn(DrawnAsked(path, "old"))


def test_a_block_in_itself_is_refused(tmp_path: Path) -> None:
    def draw(space: Any, document: Document) -> None:
        document.blocks.new("A").add_blockref("B", (0, 0))
        document.blocks.new("B").add_blockref("A", (1, 1))
        space.add_blockref("A", (0, 0), LOT)

    with pytest.raises(InputError, match="has a block that lies in itself: A in B in A"):
        lot_of(drawing(tmp_path / "a.dxf", draw))


def test_blocks_too_deep_or_too_often_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def tower(space: Any, document: Document) -> None:
        document.blocks.new("B0").add_circle((0, 0), 20)
        for number in range(1, 15):
            document.blocks.new(f"B{number}").add_blockref(f"B{number - 1}", (0, 0))
        space.add_blockref("B14", (0, 0), LOT)

    def many(space: Any, document: Document) -> None:
        # ten times ten times ten ...: small as a file, more than a computer holds
        document.blocks.new("B0").add_circle((0, 0), 20)
        for number in range(1, 10):
            block = document.blocks.new(f"B{number}")
            for x in range(10):
                block.add_blockref(f"B{number - 1}", (x, 0))
        space.add_blockref("B9", (0, 0), LOT)

    with pytest.raises(InputError, match="has blocks more than 12 deep"):
        lot_of(drawing(tmp_path / "a.dxf", tower))
    monkeypatch.setattr(survey_dxf, "MOST_ENTITIES", 2000)
    with pytest.raises(InputError, match="draws more than 2,000 entities"):
        lot_of(drawing(tmp_path / "b.dxf", many))


def test_a_damaged_drawing_is_read_with_a_word_or_refused(tmp_path: Path) -> None:
    path = drawing(tmp_path / "a.dxf", DRAWN["LINE"][0])
    text = path.read_text(encoding="utf-8")
    damaged = tmp_path / "damaged.dxf"
    # the end of a section that never began
    damaged.write_text(text.replace("EOF", "ENDSEC\n  0\nEOF"), encoding="utf-8")
    drawn = read_drawn_lot(DrawnAsked(damaged, "LOT"))
    assert drawn.rows.shapes[0].area == pytest.approx(4800)
    assert any(word.startswith("the drawing is damaged") for word in drawn.words)
    whole = path.read_bytes()
    for share in range(1, 20):
        cut = tmp_path / f"cut-{share}.dxf"
        cut.write_bytes(whole[: len(whole) * share // 20])
        # what the outline misses is refused; what comes after it is told to be missing
        try:
            drawn = read_drawn_lot(DrawnAsked(cut, "LOT"))
        except InputError as error:
            assert error.faults[0].where == cut.name  # noqa: PT017
        else:
            assert drawn.rows.shapes[0].area == pytest.approx(4800)
            assert any(word.startswith("the drawing is damaged") for word in drawn.words)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"AC1032\0\0\0\0", "is no DXF inside. Save it as DXF; a DWG is none"),
        (b"", "is no DXF inside"),
        (b"{}", "is no DXF inside"),
        (b"0\nSECTION\n\xff\xfe\0\0" * 50, "is damaged past mending|has nothing on a layer"),
    ],
)
def test_what_is_no_drawing_is_refused(tmp_path: Path, content: bytes, message: str) -> None:
    path = tmp_path / "a.dxf"
    path.write_bytes(content)
    with pytest.raises(InputError, match=message):
        lot_of(path)


def test_a_file_too_large_is_not_opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = drawing(tmp_path / "a.dxf", plat)
    monkeypatch.setattr(survey_dxf, "MOST_DXF_BYTES", 10_000)
    with pytest.raises(InputError, match=r"has 0 MB; 0 MB are read. Write out the lot alone"):
        open_drawing(path)


def survey(space: Any, _: Document) -> None:
    space.add_lwpolyline(moved(RING), close=True, dxfattribs={"layer": "PROP-LINE"})
    house = [(20, 20), (32, 20), (32, 30), (20, 30)]
    space.add_lwpolyline(moved(house), close=True, dxfattribs={"layer": "HOUSE"})
    space.add_point(moved([(50, 60)])[0], {"layer": "WELL"})
    space.add_point(moved([(5000, 60)])[0], {"layer": "WELL"})


def site_of(folder: Path, *layers: dict[str, Any], units: str = "m") -> Site:
    return site_from(
        {
            "project": {"title": "t", "owner": "o", "date": DAY, "units": units},
            "geometry": {"layer": [{"file": "survey.dxf", **layer} for layer in layers]},
            "exchanger": {"capacity": "3 ton", "entry": [[30, 30]]},
        },
        folder=folder,
    )


PARCEL = {"layer": "prop-line", "kind": "parcel"}
HOUSE = {"layer": "House", "kind": "house"}
WELL = {"layer": "WELL", "kind": "water well"}


@pytest.mark.parametrize("units", ["m", "ft"])
def test_all_layers_of_a_drawing_move_with_the_lot(tmp_path: Path, units: str) -> None:
    drawing(tmp_path / "survey.dxf", survey)
    site = site_of(tmp_path, WELL, PARCEL, HOUSE, units=units)
    assert site.parcel.bounds == pytest.approx((0, 0, 60, 80))
    assert {each.kind: each.shape.bounds for each in site.features} == {
        "building": pytest.approx((20, 20, 32, 30)),
        # the well 5 km off is another lot's
        "potable well": pytest.approx((50, 60, 50, 60)),
    }
    assert site.georeference is None


def test_a_unit_said_of_one_layer_holds_for_the_file(tmp_path: Path) -> None:
    drawing(tmp_path / "survey.dxf", survey, 0)
    site = site_of(tmp_path, {**PARCEL, "unit": "m"}, WELL)
    assert site.parcel.area == pytest.approx(4800)
    assert site.features[0].shape.bounds == pytest.approx((50, 60, 50, 60))


def test_a_drawing_with_a_system_is_put_on_the_earth(tmp_path: Path) -> None:
    # UTM 18N: 0.9996 at the central meridian, 100 km off it 0.99972: the ground is that larger
    drawing(tmp_path / "survey.dxf", survey)
    site = site_of(tmp_path, {**PARCEL, "crs": "EPSG:32618"}, HOUSE)
    assert site.georeference is not None
    assert site.parcel.area == pytest.approx(4800 / 0.99972**2, rel=1e-5)
    (house,) = site.features
    assert house.shape.area == pytest.approx(120 / 0.99972**2, rel=1e-5)


@pytest.mark.parametrize(
    ("layers", "message"),
    [
        ([{**PARCEL, "layer": "PROPLINE"}], "on a layer 'PROPLINE'; did you mean 'PROP-LINE'"),
        ([{**PARCEL, "layer": "WELL"}], "no closed outline on layer 'WELL'. Name the"),
        ([{"kind": "parcel"}], "has 2 closed outlines on any layer"),
        ([{**PARCEL, "where": "NUMBER = 9"}], "has no row where NUMBER = 9. Such as: 1"),
        ([{**PARCEL, "where": "APN = 9"}], "has no column 'APN'"),
        ([{**PARCEL, "unit": "yd"}], "'yd' is not"),
        ([{**PARCEL, "unit": "m"}, {**HOUSE, "unit": "ft"}], "at another layer of the drawing"),
        ([{**PARCEL, "crs": "EPSG:4326"}], "cannot be in EPSG:4326: its coordinates"),
        ([{**PARCEL, "crs": "EPSG:2249"}], "in m, but a unit of EPSG:2249 is 0.30"),
        ([{}], "is a drawing. Say what its layers are"),
        ([{**PARCEL, "file": "none.dxf"}], "none.dxf: is not there"),
        ([{**HOUSE}], "has no parcel"),
    ],
)  # fmt: skip
def test_what_people_get_wrong_is_a_fault_with_its_mend(
    tmp_path: Path, layers: list[dict[str, Any]], message: str
) -> None:
    drawing(tmp_path / "survey.dxf", survey)
    with pytest.raises(InputError, match=message):
        site_of(tmp_path, *layers)


def test_the_plan_says_what_was_mended_joined_and_left_out(tmp_path: Path) -> None:
    def draw(space: Any, document: Document) -> None:
        document.layers.add("OLD").freeze()
        space.add_circle((0, 0), 5, {"layer": "OLD"})
        document.add_xref_def("base.dwg", "BASE")
        space.add_blockref("BASE", (0, 0))
        points = {"layer": "PROP-LINE"}
        for start, end in sides(RING)[:-1]:
            space.add_line(start, end, points)
        space.add_line((0, 80), (0, 0.02), points)

    path = drawing(tmp_path / "survey.dxf", draw)
    path.write_text(path.read_text(encoding="utf-8").replace("EOF", "ENDSEC\n  0\nEOF"))
    site = site_of(tmp_path, PARCEL)
    told = list(survey_remarks(site))
    assert [finding.code for finding in told] == [
        "survey-damaged", "survey-gaps", "survey-left-out", "survey-refers",
    ]  # fmt: skip
    assert "miss each other by up to 0.02 m; they were joined" in words_of(told[1], site.unit)
    drawing(tmp_path / "survey.dxf", survey)
    assert not list(survey_remarks(site_of(tmp_path, PARCEL)))


def test_a_drawing_without_the_parcel_cannot_be_placed(tmp_path: Path) -> None:
    drawing(tmp_path / "survey.dxf", survey)
    with pytest.raises(InputError, match=r"the parcel is not of it: survey.dxf"):
        site_from(
            {
                "project": {"title": "t", "owner": "o", "date": DAY},
                "geometry": {
                    "parcel": [[0, 0], [200, 0], [200, 200], [0, 200]],
                    "layer": [{"file": "survey.dxf", **HOUSE}],
                },
                "exchanger": {"capacity": "3 ton", "entry": [[100, 100]]},
            },
            folder=tmp_path,
        )


def test_another_program_reads_the_same_outline(tmp_path: Path) -> None:
    """GDAL, which reads DXF by itself and by other code, flattens arcs within a few degrees."""
    path = drawing(tmp_path / "a.dxf", bulged)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        frame = pyogrio.read_dataframe(path)
    other = Polygon(shapely.get_coordinates(frame.geometry.iloc[0]))
    assert lot_of(path).symmetric_difference(other).area < 2e-3 * other.area


def test_layers_are_taken_once_where_lines_are_drawn_twice(tmp_path: Path) -> None:
    def draw(space: Any, document: Document) -> None:
        line_chain(space, document)
        line_chain(space, document)

    drawn = layer_of(open_drawing(drawing(tmp_path / "a.dxf", draw)), "lot", 1.0)
    assert [shape.area for shape in drawn.rows.shapes] == pytest.approx([4800])
