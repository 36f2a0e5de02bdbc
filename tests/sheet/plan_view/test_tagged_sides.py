"""A side has one number on all sheets, that of its corner in the table."""

from __future__ import annotations

from dataclasses import replace

from drawn_once import compose
from legible import leaders, text_box
from shapely import LineString, Polygon
from sheet_lots import suburban

from siteplan.geometry.boundary import Side
from siteplan.sheet.content.sides import sides_of
from siteplan.sheet.model import Text, View
from siteplan.sheet.pages.table_sheets import corner_table
from siteplan.sheet.plan_view.parcel import is_listed, tagged_sides
from siteplan.units.systems import US

FT = 0.3048
# a jog of 10 ft and one of 40 ft in the sides of a lot
CORNERS = [(0, 0), (0, 150), (100, 150), (100, 90), (110, 90), (110, 50), (150, 50), (150, 0)]
LOT = Polygon([(x * FT, y * FT) for x, y in CORNERS])


def tags(ratio: float) -> dict[Side, str]:
    """Tag by side at a scale, of those that have one."""
    view = View(ratio, "", 0.0, 0.0, 300.0, 200.0, (0.0, 0.0))
    tagged = tagged_sides(sides_of(LOT), view, US)
    return {side: tag for tag, side in tagged if is_listed(tag)}


def test_a_side_has_the_same_tag_on_every_sheet() -> None:
    small, large = tags(1200.0), tags(360.0)
    assert 0 < len(large) < len(small)
    assert large.items() <= small.items()


def toothed() -> Polygon:
    """A lot whose north line goes up and down by 8 ft every 12 ft."""
    teeth = [
        (x, 150 + 8 * up) for n, x in enumerate(range(150, -1, -12)) for up in (n % 2, 1 - n % 2)
    ]
    return Polygon([(x * FT, y * FT) for x, y in [(0, 0), (150, 0), *teeth, (0, 150)]])


def test_a_tag_stands_at_its_side_or_is_led_to_it() -> None:
    content = suburban()
    site = replace(content.site, parcel=toothed())
    sheet = compose(replace(content, site=site, layout=None))
    sides = dict(tagged_sides(sides_of(site.parcel), sheet.view, US))
    written = [text for text in sheet.of_type(Text) if text.space == "model" and text.text in sides]
    assert len(written) > 12
    for text in written:
        side = LineString(sheet.view.to_paper(sides[text.text].points))
        box = text_box(text, sheet)
        led = [path for path in leaders(sheet) if path.distance(box) < 1.0]
        # 8 mm: a tag is 5 mm wide, and farther off than it is wide it is read with the next side
        assert box.distance(side) < 8.0 or any(path.distance(side) < 0.5 for path in led)


def test_the_table_of_corners_has_the_side_under_the_number_of_its_tag() -> None:
    site = replace(suburban().site, parcel=LOT)
    rows = {row[0]: row for row in corner_table(site).rows}
    lengths = {"L": 10.0, "M": 40.0}
    for side, tag in tags(360.0).items():
        east, north = (round(way / FT, 2) for way in side.start)
        row = rows[f"P{tag[1:]}"]
        assert [float(row[1]), float(row[2])] == [east, north]
        # the jogs run 10 ft and 40 ft east or south: what the row says is that long
        assert any(f"{length:.2f}'" in row[3] for length in lengths.values())
