"""Numbers of lots on the map of a county, measured with the letters that are drawn."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from matplotlib.font_manager import findfont
from PIL import ImageFont
from shapely import Polygon, affinity, box

from siteplan.export.county_numbers import Number, numbers_of

LETTERS = ImageFont.truetype(findfont("DejaVu Sans"), 1000)
UNIT = np.array([0.5, 0.8])
"""A point on the paper in units of the map: not alike across and up, as of degrees."""
SIZES = (6.0, 4.0, 2.0)
EAST, NORTH = 2000.0, 1500.0


def on_map(shape):
    """A shape on the paper, in points, as it is on the map."""
    return affinity.scale(shape, *UNIT, origin=(0, 0))


def numbered(shapes, names):
    told = {"lot": np.array(names)}
    frame = (0.0, 0.0, EAST * UNIT[0], NORTH * UNIT[1])
    pieces = [(np.array([on_map(shape) for shape in shapes], dtype=object), told)]
    return numbers_of(lambda: pieces, frame, UNIT, SIZES)


def letters(number: Number) -> Polygon:
    """What a number covers on the paper [pt]."""
    _, top, wide, bottom = (edge / 1000 * number.size_pt for edge in LETTERS.getbbox(number.text))
    x = {"left": 0.0, "center": -wide / 2, "right": -wide}[number.across]
    y = {"bottom": 0.0, "center": (top - bottom) / 2}[number.up]
    x_at, y_at = number.place / UNIT
    turned = affinity.rotate(
        box(x, y, x + wide, y + bottom - top), number.angle, origin=(0, 0), use_radians=True
    )
    return affinity.translate(turned, x_at, y_at)


def strip(high, turn_deg=0.0, wide=80.0):
    """A lot so high and wide on the paper, turned around its middle."""
    return affinity.rotate(box(500, 500, 500 + wide, 500 + high), turn_deg)


@pytest.mark.parametrize("turn_deg", [*range(0, 180, 20), 90, 119, 121])
def test_a_number_runs_along_a_narrow_lot_wholly_within_it_and_can_be_read(turn_deg):
    lot = strip(9.0, turn_deg)
    (number,), left_out = numbered([lot], ["22.14-300"])
    assert left_out == 0
    # nine letters 6 pt high have room along a lot of 80 by 9 pt
    assert number.size_pt == 6.0
    assert lot.covers(letters(number))
    assert math.sin(number.angle - math.radians(turn_deg)) == pytest.approx(0.0, abs=1e-6)
    # from below or from the right: ISO 129-1, from memory
    assert -60.001 <= math.degrees(number.angle) <= 120.001


@pytest.mark.parametrize(
    ("high", "wide", "size"),
    # a line is somewhat higher than its letters: 6 pt have no room in 6 pt, nor 40 pt in 20
    [(9, 80, 6), (6, 80, 4), (4, 80, 2), (80, 9, 6), (80, 4, 2), (9, 27, 4), (9, 12, 2)],
)
def test_a_number_is_as_large_as_it_has_room_for(high, wide, size):
    lot = strip(high, wide=wide)
    (number,), left_out = numbered([lot], ["22143001"[: 8 if wide > 20 else 5]])
    assert (number.size_pt, left_out) == (size, 0)
    assert lot.covers(letters(number))


@pytest.mark.parametrize("cut", [0.0, 0.1, 0.2])
def test_a_lot_that_is_no_rectangle_has_its_number_inside(cut):
    # corners cut off: an octagon, at last a lozenge of 60 by 40 pt
    x, y = 60 * cut * 2.5, 40 * cut * 2.5
    lot = Polygon([(500 + x, 500), (560 - x, 500), (560, 500 + y), (560, 540 - y),
                   (560 - x, 540), (500 + x, 540), (500, 540 - y), (500, 500 + y)])  # fmt: skip
    (number,), _ = numbered([shapely.make_valid(lot)], ["L-14"])
    assert number.size_pt == 6.0
    assert number.angle == 0.0
    assert lot.buffer(1e-9).covers(letters(number))


def beside(number, lot):
    """On which side of its lot a number stands."""
    x, y = letters(number).centroid.coords[0]
    west, _, east, north = lot.bounds
    return "east" if x > east else "west" if x < west else "north" if y > north else "south"


TINY = box(1000, 700, 1001, 701)


@pytest.mark.parametrize(
    ("lot", "others", "side"),
    [
        (TINY, [], "east"),
        # a neighbour stands where the number would
        (TINY, [box(1004, 690, 1010, 710)], "west"),
        (TINY, [box(1004, 690, 1010, 701), box(985, 690, 995, 701)], "north"),
        # the paper ends
        (box(EAST - 5, 700, EAST - 4, 701), [], "west"),
        (box(EAST - 5, 700, EAST - 4, 701), [box(EAST - 30, 690, EAST - 8, 710)], None),
        (box(3, 700, 4, 701), [box(9, 690, 15, 710)], None),
    ],
)
def test_a_number_without_room_in_its_lot_stands_beside_it(lot, others, side):
    # eight letters are 20 pt wide or more, at 4 pt
    found, left_out = numbered([lot, *others], ["22143001", *[""] * len(others)])
    if side is None:
        assert (found, left_out) == ([], 1)
        return
    (number,) = found
    assert (number.size_pt, number.angle, left_out) == (4.0, 0.0, 0)
    assert beside(number, lot) == side
    # near to its lot, and to no other
    assert 0.2 * 4 < letters(number).distance(lot) < 4.0
    assert all(letters(number).distance(other) > 0.2 * 4 for other in others)


def test_numbers_beside_their_lots_meet_neither_a_lot_nor_one_another_nor_the_edge():
    chance = np.random.default_rng(7)
    at = chance.uniform((5, 5), (EAST / 2, NORTH / 2), (900, 2))
    lots = [box(x - 1, y - 1, x + 1, y + 1) for x, y in at]
    lots = [lot for k, lot in enumerate(lots) if not any(map(lot.intersects, lots[:k]))]
    names = [f"P-{k:05d}" for k in range(len(lots))]
    found, left_out = numbered(lots, names)
    assert len(found) + left_out == len(lots)
    assert 0.3 * len(lots) < len(found) < len(lots)
    shown = np.array([letters(number) for number in found])
    assert shapely.covers(box(0, 0, EAST, NORTH), shown).all()
    assert not len(shapely.STRtree(lots).query(shown, predicate="intersects")[0])
    first, second = shapely.STRtree(shown).query(shown, predicate="intersects")
    assert (first == second).all()
    own = np.array([lots[names.index(number.text)] for number in found])
    assert (shapely.distance(shown, own) < 4.0).all()
