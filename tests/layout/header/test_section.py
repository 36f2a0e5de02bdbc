"""Where pipes lie in a header trench, and how high its sand goes, worked by hand.

Outside diameters are those of iron pipe size (ASTM D3035): 3/4 in 1.05, 4 in 4.5, 6 in 6.625.
"""

from dataclasses import replace

import pytest
from pipe_fields import FT, bores, exchanger, trenches
from shapely import LineString, Point

from siteplan.layout.header.section import (
    highest_pipe,
    piece_line,
    piece_lines,
    pipe_places,
    pipes_in,
    sand_height,
)
from siteplan.layout.model import Header
from siteplan.layout.piping.pipes import with_pipes
from siteplan.layout.piping_model import (
    Fittings,
    HeaderPiece,
    HeaderPipe,
    OwnPipes,
    Piping,
)
from siteplan.site.model import Entry

INCH = FT / 12


def piece_of(*pipes, own=()):
    made = tuple(HeaderPipe(role, size, 0.0) for role, size in pipes)
    return HeaderPiece((0.0, 0.0), (6.0, 0.0), 6.0, 0, made, own)


def piping_of(*pieces, depth_m=4 * FT):
    return Piping("direct return", "", pieces, 2 * FT, depth_m, Fittings(), None, None)


def test_sand_reaches_six_inches_above_the_upper_of_two_large_pipes():
    # on the side that comes back 4 in below and 6 in above it; pitch 1.5 x 6.625 = 9.9375 in:
    # 3 + 9.9375 + 6.625 + 6 = 25.5625 in
    piece = piece_of(("supply", "4 in"), ("return", "4 in"), ("return home", "6 in"))
    assert sand_height(piece, piping_of(piece)) == pytest.approx(25.5625 * INCH)


def test_sand_goes_no_higher_than_the_ground():
    piece = piece_of(("supply", "4 in"), ("return", "4 in"), ("return home", "6 in"))
    assert sand_height(piece, piping_of(piece, depth_m=2 * FT)) == pytest.approx(2 * FT)


def test_pipes_of_circuits_raise_the_sand_where_they_lie_in_a_second_row():
    # 3 beside each other on each side, so the seventh lies above: 1.5 x 1.05 in higher:
    # 3 + 1.575 + 1.05 + 6 = 11.625 in; six of them alone 10.05 in
    six, eight = (
        piece_of(own=tuple(OwnPipes(f"CIR-{k}", "3/4 in", 2) for k in range(count)))
        for count in (3, 4)
    )
    assert sand_height(six, piping_of(six)) == pytest.approx(10.05 * INCH)
    assert sand_height(eight, piping_of(eight)) == pytest.approx(11.625 * INCH)


def test_the_uppermost_pipe_is_looked_for_in_every_piece():
    low, high = piece_of(("supply", "3/4 in")), piece_of(("supply", "6 in"))
    assert highest_pipe(piping_of(low, high)) == pytest.approx(9.625 * INCH)
    assert highest_pipe(piping_of(low)) == pytest.approx(4.05 * INCH)


def test_pipes_of_a_circuit_lie_on_both_sides_beside_those_of_the_header():
    piece = piece_of(
        ("supply", "3/4 in"), ("return", "3/4 in"), ("return home", "1-1/4 in"),
        own=(OwnPipes("CIR-5", "3/4 in", 2),),
    )  # fmt: skip
    laid = pipe_places(pipes_in(piece), 2 * FT, 0.0)
    assert [sum(x < 0 for (x, _), _ in laid), sum(x > 0 for (x, _), _ in laid)] == [2, 3]


def test_pipes_beside_each_other_do_not_touch():
    own = tuple(OwnPipes(f"CIR-{k}", "3/4 in", 2) for k in range(4))
    piece = piece_of(("supply", "2 in"), ("return", "1 in"), ("return home", "2 in"), own=own)
    laid = pipe_places(pipes_in(piece), 2 * FT, 0.0)
    for place, (one, size) in enumerate(laid):
        for other, width in laid[:place]:
            assert Point(one).distance(Point(other)) > (size + width) / 2


def test_bores_in_series_have_two_pipes_of_their_circuit_between_them():
    layout = with_pipes(bores(4), exchanger(circuits={"bores": 2}))
    found = [[(one.circuit, one.count) for one in piece.own] for piece in layout.piping.pieces]
    # the header leads from the entry past B1, B2, B3, B4
    assert found == [[], [("CIR-1", 2)], [], [("CIR-2", 2)]]


def test_trenches_joined_at_their_far_ends_have_one_pipe_between_their_near_ends():
    layout = with_pipes(trenches([60.0, 60.0], pipes=1), exchanger())
    assert [[one.count for one in piece.own] for piece in layout.piping.pieces] == [[], [1]]


@pytest.mark.parametrize(("pipes", "count"), [(2, 1), (2, 2), (1, 2), (3, 2)])
def test_a_circuits_pipes_along_the_header_are_as_long_as_its_length_says(pipes, count):
    layout = with_pipes(
        trenches([60.0, 50.0, 40.0, 60.0], pipes=pipes),
        exchanger(circuits={"count": count, "longest_m": 1000.0}),
    )
    assert len(layout.circuits) == count
    far = {one.trenches: one.length_m for one in layout.crossovers}
    along = dict.fromkeys((one.id for one in layout.circuits), 0.0)
    for piece in layout.piping.pieces:
        for own in piece.own:
            along[own.circuit] += own.count * piece.length_m
    # trenches begin on the header: what is no pipe in a trench lies along it or in far crossovers
    assert sum(along.values()) + sum(far.values()) == pytest.approx(
        sum(one.connecting_m for one in layout.circuits)
    )


def test_a_piece_is_traced_along_the_run_that_it_is_part_of():
    run = LineString([(0, 0), (10, 0), (10, 5)])
    header = Header((LineString([(0, 0), (-3, 0)]), run), Entry("E1", Point(0, 0)))
    piece = replace(piece_of(), start=(4.0, 0.0), end=(10.0, 3.0), length_m=9.0)
    assert list(piece_line(piece, header).coords) == [(4, 0), (10, 0), (10, 3)]
    back = replace(piece, start=piece.end, end=piece.start)
    assert piece_line(back, header).length == pytest.approx(9.0)


def test_many_pieces_are_traced_as_each_alone():
    rows = tuple(LineString([(0, 5 * k), (100, 5 * k), (100, 5 * k + 2)]) for k in range(20))
    header = Header(rows, Entry("E1", Point(0, 0)))
    one = piece_of()
    pieces = [
        replace(one, start=(90.0, 5.0 * k), end=(100.0, 5.0 * k + 1.0), length_m=11.0)
        for k in (7, 0, 19)
    ]
    # on no run: straight from end to end
    pieces.append(replace(one, start=(0.0, 3.0), end=(4.0, 3.0), length_m=4.0))
    found = [list(line.coords) for line in piece_lines(pieces, header)]
    assert found[:3] == [[(90, 5 * k), (100, 5 * k), (100, 5 * k + 1)] for k in (7, 0, 19)]
    assert found[3] == [(0, 3), (4, 3)]
    assert piece_lines([], header) == []
