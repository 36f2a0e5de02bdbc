"""What a site file says about a bore field, and what it must not."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from siteplan.errors import InputError
from siteplan.site.bore_grid import BoreGrid
from siteplan.site.model import VerticalOptions
from siteplan.site.readers.site_file import read_site
from siteplan.units.lengths import FOOT, parse_bearing
from siteplan.units.written import UnitError


@pytest.fixture
def read(lot_text: str, write_site: Callable[..., Path]) -> Callable[[str], VerticalOptions]:
    """Function that reads the small lot with some lines under [vertical]."""

    def reading(lines: str) -> VerticalOptions:
        return read_site(write_site(f"{lot_text}\n[vertical]\n{lines}\n")).exchanger.vertical

    return reading


Read = Callable[[str], VerticalOptions]


def test_one_depth_is_the_least_and_the_greatest(read: Read) -> None:
    options = read('depth = "300 ft"')
    assert options.depth_least_m == options.depth_most_m == pytest.approx(300 * FOOT)


def test_a_table_of_depths_gives_both(read: Read) -> None:
    options = read('depth = { least = "200 ft", most = "350 ft" }')
    assert (options.depth_least_m, options.depth_most_m) == pytest.approx((200 * FOOT, 350 * FOOT))


def test_one_spacing_may_grow_by_a_quarter(read: Read) -> None:
    options = read("spacing = 16")
    assert (options.spacing_m, options.spacing_most_m) == pytest.approx((16 * FOOT, 20 * FOOT))


def test_a_table_of_spacings_sets_the_limit(read: Read) -> None:
    options = read("spacing = { least = 16, most = 16 }")
    assert (options.spacing_m, options.spacing_most_m) == pytest.approx((16 * FOOT, 16 * FOOT))


def test_count_and_arrangement_are_read(read: Read) -> None:
    options = read('count = 6\narrangement = "free"')
    assert (options.count, options.arrangement) == (6, "free")


def test_nothing_said_is_the_fewest_bores_in_the_best_arrangement(read: Read) -> None:
    options = read("")
    assert (options.count, options.arrangement, options.grid) == (None, "best", None)


def test_a_grid_is_read_with_its_place(read: Read) -> None:
    grid = read(
        "[vertical.grid]\nrows = 2\ncolumns = 3\nspacing = 20\nrow_spacing = 25\n"
        'corner = [50, 140]\nalong = "N 90 E"'
    ).grid
    assert grid is not None
    assert grid.corner == pytest.approx((50 * FOOT, 140 * FOOT))
    assert grid == BoreGrid(2, 3, 20 * FOOT, 25 * FOOT, grid.corner, 90.0)


def test_a_grid_takes_the_spacing_of_the_bores_where_it_has_none(read: Read) -> None:
    grid = read("spacing = 18\n[vertical.grid]\nrows = 2\ncolumns = 3").grid
    assert grid == BoreGrid(2, 3, pytest.approx(18 * FOOT), pytest.approx(18 * FOOT))


def test_places_of_bores_are_read_and_say_how_many_there_are(read: Read) -> None:
    options = read("places = [[50, 140], [70.5, 140]]")
    assert options.places == (
        pytest.approx((50 * FOOT, 140 * FOOT)),
        pytest.approx((70.5 * FOOT, 140 * FOOT)),
    )
    assert (options.stated, options.placed, options.as_typed) == (2, True, True)


@pytest.mark.parametrize(
    ("lines", "fault"),
    [
        ("places = []", "places: is empty"),
        ("places = [[50]]", "places"),
        ("count = 2\nplaces = [[50, 140]]", "count: stands beside places: the places say how many"),
        ("pad = {}\nplaces = [[50, 140]]", "pad: stands beside places"),
        ("count = 0", r"\[vertical\], count: 0 is not a whole number from 1 to"),
        ('arrangement = "round"', "arrangement: 'round' is not known"),
        ("depth = { least = 300, most = 200 }", "most: of 200.0 ft is less than least, 300.0 ft"),
        ("spacing = { least = 20, most = 15 }", "most: of 15.0 ft is less than least, 20.0 ft"),
        ('depth = ["300 ft"]', 'depth: is neither a length nor a table. Write depth = "300 ft"'),
        ("[vertical.grid]\nrows = 2", r"\[vertical.grid\], columns: is missing"),
        ("[vertical.grid]\nrows = 0\ncolumns = 3", "rows: 0 is not a whole number from 1 to"),
        (
            "count = 6\n[vertical.grid]\nrows = 2\ncolumns = 3",
            r"count: stands beside \[grid\]: .* Leave out count or \[grid\]",
        ),
        (
            'arrangement = "rows"\n[vertical.grid]\nrows = 2\ncolumns = 3',
            r"arrangement: stands beside \[grid\]",
        ),
        (
            "[vertical.grid]\nrows = 2\ncolumns = 3\nspacing = 15",
            r"spacing: of 15.0 ft is less than the spacing of bores, 20.0 ft. Widen the grid",
        ),
        (
            "[vertical.grid]\nrows = 2\ncolumns = 3\nrow_spacing = 15",
            "row_spacing: of 15.0 ft is less than the spacing of bores",
        ),
        (
            "[vertical.grid]\nrows = 2\ncolumns = 3\ncorner = [1, 2]",
            "corner: is given without a direction of the rows. Add along",
        ),
        (
            '[vertical.grid]\nrows = 2\ncolumns = 3\nalong = "eastern"',
            "along: 'eastern' is not a direction; write degrees",
        ),
        ("[vertical.grid]\nrows = 2\ncolums = 3", "colums: is not a key here; did you mean"),
        ("grid = 3", r"grid: 3 is not a table. Write it as \[vertical.grid\]"),
    ],
)
def test_a_contradiction_is_a_fault_with_its_mend(read: Read, lines: str, fault: str) -> None:
    with pytest.raises(InputError, match=fault):
        read(lines)


def test_all_faults_of_a_grid_come_together(read: Read) -> None:
    with pytest.raises(InputError, match="grid") as raised:
        read("count = 6\n[vertical.grid]\nrows = 2\ncolumns = 3\nspacing = 15\ncorner = [1, 2]")
    assert len(raised.value.faults) == 3


@pytest.mark.parametrize(
    ("written", "degrees"),
    [
        (90, 90.0),
        (-90.0, 270.0),
        ("N 00°00'00\" E", 0.0),
        ("N 45°30'36\" E", 45.51),
        ("s 10 e", 170.0),
        ("S 10 W", 190.0),
        ("N 45.5 W", 314.5),
        # eight points of the compass and those between, 22.5 degrees apart: a fact of navigation
        ("N", 0.0),
        ("due east", 90.0),
        ("south-west", 225.0),
        ("NNW", 337.5),
    ],
)
def test_a_bearing_is_degrees_clockwise_from_the_y_axis(
    written: str | float, degrees: float
) -> None:
    assert parse_bearing(written) == pytest.approx(degrees)


@pytest.mark.parametrize(
    "written", ["N 91 E", "45 N E", "NEN", "northern", "", True, float("nan"), [90]]
)
def test_what_is_no_bearing_is_refused(written: object) -> None:
    with pytest.raises(UnitError, match="is not a direction"):
        parse_bearing(written)  # type: ignore[arg-type]
