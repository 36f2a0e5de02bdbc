"""Labels that are led move a little aside, once all have a place, where they then hide less."""

from __future__ import annotations

from legible import text_box
from planned import full_set
from shapely import LineString

from siteplan.sheet.model import Polyline, Sheet, Text, View
from siteplan.sheet.place.candidates import Candidate
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.label import Label
from siteplan.sheet.place.settled import settle
from siteplan.sheet.style.styles import layer
from siteplan.sheet.style.text import text_width
from siteplan.units.systems import METRIC

LINE_Y = 41.0


def with_line_under_name(ink: float) -> tuple[Canvas, Candidate]:
    """A label led to (30, 30) on a window at 1 : 1000, across whose letters a dashed line runs."""
    view = View(1000.0, "1:1000", 0.0, 0.0, 90.0, 90.0, (45.0, 45.0))
    canvas = Canvas(view, METRIC)
    canvas.line([(0.0, LINE_Y), (90.0, LINE_Y)], "setback", layer("setback"), ink=ink)
    place = Candidate((45.0, 41.0), cost=20.0, leader=(30.0, 30.0))
    assert canvas.put(Label(("NAME",), 2.3, "text", layer("label")), [place])
    return canvas, place


def name_of(canvas: Canvas) -> Text:
    (text,) = [item for item in canvas.primitives if isinstance(item, Text)]
    return text


def test_a_led_name_moves_off_a_line_that_free_paper_lies_beside() -> None:
    canvas, place = with_line_under_name(10.0)
    before = name_of(canvas)
    assert before.at[1] < LINE_Y < before.at[1] + before.height_mm
    settle(canvas)
    after = name_of(canvas)
    assert not after.at[1] <= LINE_Y <= after.at[1] + after.height_mm
    # no farther than is seen at once as the same place
    assert abs(after.at[0] - place.center[0]) <= 5.0 + text_width("NAME", 2.3) / 2
    # its leader went with it, and there is but one
    leaders = [
        item for item in canvas.primitives if isinstance(item, Polyline) and item.style == "leader"
    ]
    assert len(leaders) == 1
    assert abs(LineString(leaders[0].points).coords[-1][0] - 30.0) < 1e-6


def test_a_name_that_hides_next_to_nothing_stays() -> None:
    canvas, _ = with_line_under_name(1.0)
    before = list(canvas.primitives)
    settle(canvas)
    assert canvas.primitives == before


def test_names_of_trenches_keep_to_their_ends_though_a_setback_line_runs_there() -> None:
    plan: Sheet = full_set("rural-acre")[0]
    names = [text for text in plan.of_type(Text) if text.text in {f"T{k}" for k in range(1, 7)}]
    assert len(names) == 6
    ends = [text_box(text, plan).centroid.x for text in names]
    # five of them in one column beyond the ends, the one by the tree beside its trench
    assert max(ends) - sorted(ends)[1] < 12.0
