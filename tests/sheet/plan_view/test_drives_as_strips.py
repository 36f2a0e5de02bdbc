"""A drive given by its middle line and its width is drawn as the strip that it is."""

from __future__ import annotations

import pytest
import shapely

from siteplan.sheet.model import Polygon, Polyline
from siteplan.sheet.plan_view.features import draw_feature
from siteplan.site.model import Feature
from siteplan.units.systems import US
from siteplan.web.drawn import canvas_over

WAY = shapely.LineString([(0, 0), (0, 20), (10, 20)])


def drawn(feature):
    canvas = canvas_over([WAY], US)
    canvas.primitives = []
    draw_feature(canvas, feature, US)
    return canvas.primitives


def test_a_drive_with_a_width_is_drawn_by_its_sides():
    # 20 m and 10 m long, 4 m wide, square corner: 22 x 4 + 8 x 4 m2, by hand
    found = drawn(Feature("drive", "driveway", WAY, width_m=4.0))
    paved = [shapely.Polygon(each.rings[0]) for each in found if isinstance(each, Polygon)]
    assert paved[0].area == pytest.approx(22 * 4 + 8 * 4)
    sides = [each for each in found if isinstance(each, Polyline)]
    assert shapely.LineString(sides[0].path).distance(WAY) == pytest.approx(0.0)  # its two ends
    # beside it on both sides by half its width, at the outer corner by the diagonal of that
    away = {round(shapely.Point(each).distance(WAY), 3) for each in sides[0].path}
    assert away == {2.0, 2.828}


@pytest.mark.parametrize(
    "feature",
    [
        Feature("drive", "driveway", WAY),
        Feature("sewer", "sewer line", WAY, width_m=4.0),
    ],
    ids=["no width", "no surface"],
)
def test_a_line_that_is_no_surface_with_a_width_stays_a_line(feature):
    found = drawn(feature)
    assert [each for each in found if isinstance(each, Polygon)] == []
    assert any(len(each.path) == 3 for each in found if isinstance(each, Polyline))
