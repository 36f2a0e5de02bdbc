"""The map of a screened county, read back from its pixels by Pillow."""

from __future__ import annotations

import itertools
import weakref
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageColor
from pypdf import PdfReader
from pyproj import Geod
from shapely import MultiPolygon, Polygon, box
from shapely import box as box_array

from siteplan.errors import ExportError
from siteplan.export.county_map import COLORS, DPI, HEIGHT_IN, WIDTH_IN, draw_county, groups_of

METRES = "EPSG:32615"


def columns(count: int, **told: list[str]) -> dict[str, np.ndarray]:
    usual = {"trench": ["fits"] * count, "bores": ["fits"] * count, "why_not": [""] * count}
    lots = {"lot": [f"L{k}" for k in range(count)]}
    return {key: np.array(values) for key, values in (usual | lots | told).items()}


def drawn(shapes: list, told: dict[str, np.ndarray], path: Path, crs: str = METRES) -> np.ndarray:
    shown = np.empty(len(shapes), dtype=object)
    shown[:] = shapes
    draw_county(lambda: [(shown, told)], crs, path, unit="ft")
    return np.asarray(Image.open(path).convert("RGB")).astype(np.int16)


def reach(pixels: np.ndarray, group: str) -> tuple[int, int, int, int]:
    """Left, top, right and bottom of what has the colour of a group on the map, in pixels."""
    color = np.array(ImageColor.getrgb(COLORS[group]))
    on_map = pixels[:, : int(0.745 * WIDTH_IN * DPI)]
    rows, across = np.nonzero((np.abs(on_map - color) <= 3).all(axis=2))
    return across.min(), rows.min(), across.max(), rows.max()


@pytest.mark.parametrize(
    ("trench", "bores", "why_not"),
    list(itertools.product(("fits", "undecided", "no"), ("fits", "undecided", "no"), ("", "none"))),
)
def test_the_group_of_a_lot_says_what_is_known_of_it(trench: str, bores: str, why_not: str) -> None:
    (group,) = groups_of(columns(1, trench=[trench], bores=[bores], why_not=[why_not]))
    # a fit that is proven is a fit whatever the other loop type is
    if why_not:
        assert group == "not screened"
    elif "fits" in (trench, bores):
        both = trench == bores == "fits"
        assert group == (
            "both fit" if both else f"{'trenches' if trench == 'fits' else 'bores'} fit"
        )
    else:
        assert group == ("undecided" if "undecided" in (trench, bores) else "neither fits")


def test_all_lots_lie_within_the_picture_and_to_one_scale(tmp_path: Path) -> None:
    # four lots of 40 m by 20 m at the corners of ground of 1,000 m by 600 m, one colour each
    corners = [(0, 0), (960, 0), (0, 580), (960, 580)]
    shapes = [box(4e5 + x, 4e6 + y, 4e5 + x + 40, 4e6 + y + 20) for x, y in corners]
    told = columns(
        4, trench=["fits", "no", "fits", "no"], bores=["fits", "fits", "no", "no"], lot=[""] * 4
    )
    pixels = drawn(shapes, told, tmp_path / "map.png")
    assert pixels.shape[:2] == (HEIGHT_IN * DPI, WIDTH_IN * DPI)
    groups = ("both fit", "bores fit", "trenches fit", "neither fits")
    southwest, southeast, northwest, northeast = (reach(pixels, group) for group in groups)
    for left, top, right, bottom in (southwest, southeast, northwest, northeast):
        # as wide as two are high, none cut off by the edge
        assert right - left == pytest.approx(2 * (bottom - top), abs=4)
        assert right - left > 20
        assert left > 0.02 * WIDTH_IN * DPI
        assert top > 0.05 * HEIGHT_IN * DPI
    # 960 m east are 960/580 of 580 m north, and north is up
    east, north = southeast[0] - southwest[0], southwest[1] - northwest[1]
    assert east / north == pytest.approx(960 / 580, rel=0.01)
    assert southeast[1] == pytest.approx(southwest[1], abs=1)
    assert northeast[0] == pytest.approx(southeast[0], abs=1)


def test_degrees_are_drawn_as_wide_as_they_are_on_the_ground(tmp_path: Path) -> None:
    """At 60 degrees north a degree of longitude is half as long as one of latitude (a sphere)."""
    shape = box(10.0, 59.99, 10.04, 60.01)
    left, top, right, bottom = reach(
        drawn([shape], columns(1, lot=[""]), tmp_path / "map.png", "EPSG:4326"), "both fit"
    )
    assert (right - left) / (bottom - top) == pytest.approx(0.04 * 0.5 / 0.02, rel=0.02)


def test_a_lot_at_the_other_end_of_the_world_does_not_shrink_the_county(tmp_path: Path) -> None:
    near = [box(x, y, x + 90, y + 90) for x in range(0, 3000, 100) for y in range(0, 3000, 100)]
    told = columns(len(near) + 1, lot=[""] * (len(near) + 1))
    pixels = drawn([*near, box(5e6, 5e6, 5e6 + 90, 5e6 + 90)], told, tmp_path / "map.png")
    left, _, right, _ = reach(pixels, "both fit")
    assert right - left > 0.5 * WIDTH_IN * DPI


def test_a_lot_has_the_shape_on_the_map_that_it_has_on_the_ground(tmp_path: Path) -> None:
    # a right triangle fills half of the box around it
    pixels = drawn(
        [Polygon([(0, 0), (900, 0), (0, 900)])], columns(1, lot=[""]), tmp_path / "m.png"
    )
    left, top, right, bottom = reach(pixels, "both fit")
    color = np.array(ImageColor.getrgb(COLORS["both fit"]))
    inside = (np.abs(pixels[top:bottom, left:right] - color) <= 3).all(axis=2)
    assert inside.mean() == pytest.approx(0.5, abs=0.02)


def test_a_lot_of_parts_and_one_without_a_shape_are_drawn_and_left_out(tmp_path: Path) -> None:
    parts = MultiPolygon([box(0, 0, 100, 100), box(300, 0, 400, 100)])
    pixels = drawn([parts, None], columns(2, lot=["", ""]), tmp_path / "map.png")
    left, _, right, _ = reach(pixels, "both fit")
    color = np.array(ImageColor.getrgb(COLORS["both fit"]))
    middle = pixels[:, (left + right) // 2]
    assert not (np.abs(middle - color) <= 3).all(axis=1).any()


def test_the_number_of_a_lot_stands_where_it_has_room(tmp_path: Path) -> None:
    # black ink of a number is in the large lot, none in the strip that is too thin for it
    shapes: list[Polygon] = [box(0, 0, 500, 300), box(0, 400, 500, 404)]
    told = columns(2, trench=["fits", "no"], bores=["fits", "fits"], lot=["12345", "67890"])
    pixels = drawn(shapes, told, tmp_path / "map.png")
    for group, has in (("both fit", True), ("bores fit", False)):
        left, top, right, bottom = reach(pixels, group)
        inside = pixels[top + 3 : bottom - 2, left + 3 : right - 2]
        assert bool((inside.sum(axis=2) < 60).any()) == has


def test_a_map_that_cannot_be_written_says_so(tmp_path: Path) -> None:
    with pytest.raises(ExportError, match="cannot be written"):
        drawn([box(0, 0, 9, 9)], columns(1), tmp_path / "none" / "map.png")


@pytest.mark.parametrize("feet", [900, 4_000, 30_000])
def test_the_bar_is_as_long_as_a_round_number_of_feet_or_miles(feet: int, tmp_path: Path) -> None:
    """An international foot is 0.3048 m, a mile 5,280 ft (NIST Special Publication 811)."""
    pixels = drawn(
        [box(0, 0, feet * 0.3048, feet * 0.2)], columns(1, lot=[""]), tmp_path / "map.png"
    )
    left, _, right, _ = reach(pixels, "both fit")
    # its frame is the longest run of black beside the map
    beside = pixels[:, int(0.75 * WIDTH_IN * DPI) :].sum(axis=2) < 60
    runs = (len(list(run)) for row in beside for black, run in itertools.groupby(row) if black)
    longest = max(runs)
    shown = longest * feet / (right - left)
    units = [shown / unit for unit in (1.0, 5280.0)]
    # 1, 2 or 5 and zeros
    off = min(
        abs(value / (step * 10.0 ** np.floor(np.log10(value / step) + 0.02)) - 1)
        for value in units
        for step in (1, 2, 5)
    )
    assert off < 0.03
    assert 0.03 * WIDTH_IN * DPI < longest < 0.23 * WIDTH_IN * DPI


@pytest.mark.parametrize("north", [0.0, 64.0])
def test_the_bar_of_a_map_in_degrees_is_as_long_as_it_says(north: float, tmp_path: Path) -> None:
    """A county of 40 km from west to east, as long as it is on the ellipsoid of WGS 84 (PROJ)."""
    west, south = 10.0, north - 0.1
    east = Geod(ellps="WGS84").fwd(west, north, 90.0, 40e3)[0]
    lot = box(west, south, east, north + 0.1)
    pixels = drawn([lot], columns(1, lot=[""]), tmp_path / "map.png", "EPSG:4326")
    left, _, right, _ = reach(pixels, "both fit")
    beside = pixels[:, int(0.75 * WIDTH_IN * DPI) :].sum(axis=2) < 60
    runs = (len(list(run)) for row in beside for black, run in itertools.groupby(row) if black)
    miles = max(runs) * 40e3 / (right - left) / 1609.344
    # 250 pixels at most are 5 miles, half of them black with their frame
    assert miles == pytest.approx(2.5, rel=0.03)


def test_half_of_the_bar_is_black_and_the_whole_is_a_round_length(tmp_path: Path) -> None:
    # ground of 1,000 m in two lots at its ends, so that a pixel is so many metres
    pixels = drawn([box(0, 0, 40, 600), box(960, 0, 1000, 600)], columns(2), tmp_path / "map.png")
    left, _, right, _ = reach(pixels, "both fit")
    metres = 1000.0 / (right - left + 1)
    height, width = pixels.shape[:2]
    # the bar lies a fifth of the height above the bottom, right of the map
    line = pixels[int(height * (1 - 0.206)), int(0.755 * width) - 2 :]
    black = np.flatnonzero((line < 60).all(axis=1))
    half = np.split(black, np.flatnonzero(np.diff(black) > 1) + 1)[0]
    feet = 2 * len(half) * metres / 0.3048
    leading = feet / 10.0 ** np.floor(np.log10(feet * 1.05))
    assert min(abs(leading - one) / one for one in (1.0, 2.0, 5.0, 10.0)) < 0.03


@pytest.mark.thorough
def test_a_page_has_the_number_of_every_lot_to_be_searched_for(tmp_path: Path) -> None:
    # 1,200 lots of 20 by 40 m: on a page of 11 by 8.5 in a lot is 2 mm wide, and a number has no
    # room that could be read; in a reader of pages it is found, and seen when zoomed in
    shapes = [
        box(20 * (k % 60), 40 * (k // 60), 20 * (k % 60 + 1), 40 * (k // 60 + 1))
        for k in range(1200)
    ]
    names = [f"{k // 60:02d}-{k % 60:03d}" for k in range(1200)]
    told = columns(1200, lot=names, where=[f"APN = {name}" for name in names])
    for name in ("map.pdf", "again.pdf"):
        draw_county(
            lambda: [(np.array(shapes, dtype=object), told)],
            METRES,
            tmp_path / name,
            unit="ft",
            handed="county.json",
        )
    text = PdfReader(tmp_path / "map.pdf").pages[0].extract_text()
    assert all(name in text for name in names)
    assert '--where "APN = 00-000"' in text
    assert "--screened county.json" in text
    assert (tmp_path / "map.pdf").read_bytes() == (tmp_path / "again.pdf").read_bytes()


def test_a_number_is_turned_along_a_narrow_lot_and_stays_within_it(tmp_path: Path) -> None:
    # lots of 10 by 100 m beside one another, 600 m in all: wide enough for a number only along
    shapes = [box(10 * k, 0, 10 * k + 10, 100) for k in range(60)]
    told = columns(60, lot=[f"A-{k:03d}" for k in range(60)])
    pixels = drawn(shapes, told, tmp_path / "map.png")
    left, top, right, bottom = reach(pixels, "both fit")
    inside = pixels[top + 3 : bottom - 2, left + 3 : right - 2]
    dark = (inside.max(axis=2) < 90).any(axis=1)
    # the numbers stand in the middle of their lots and leave the ends free
    rows = np.flatnonzero(dark)
    assert len(rows) > 0.1 * len(dark)
    assert abs(rows.mean() / len(dark) - 0.5) < 0.05
    assert rows.min() > 0.2 * len(dark)


def test_numbers_of_lots_far_apart_stand_beside_them_and_over_none(tmp_path: Path) -> None:
    # lots of 40 by 40 m every 1,500 m: on the page half a millimetre wide, with much room between
    shapes = [box(1500 * (k % 8), 1500 * (k // 8), 1500 * (k % 8) + 40, 1500 * (k // 8) + 40)
              for k in range(40)]  # fmt: skip
    told = columns(40, lot=[f"F_{k:06d}" for k in range(40)])
    pieces = [(np.array(shapes, dtype=object), told)]
    draw_county(lambda: pieces, METRES, tmp_path / "map.pdf", unit="ft")
    text = PdfReader(tmp_path / "map.pdf").pages[0].extract_text()
    assert all(f"F_{k:06d}" in text for k in range(40))
    assert "no room" not in text
    # on the picture every lot is seen as without its number: none lies over a lot
    colored = []
    for names in (told["lot"], np.full(40, "")):
        pixels = drawn(shapes, columns(40, lot=names.tolist()), tmp_path / "map.png")
        color = np.array(ImageColor.getrgb(COLORS["both fit"]))
        on_map = pixels[:, : int(0.745 * WIDTH_IN * DPI)]
        colored.append(int((np.abs(on_map - color) <= 3).all(axis=2).sum()))
    assert colored[0] == colored[1] > 0


@pytest.mark.parametrize("name", ["map.png", "map.pdf"])
def test_a_map_holds_no_more_than_a_piece_or_two_of_the_lots(name: str, tmp_path: Path) -> None:
    held: list[weakref.ref[np.ndarray]] = []
    most = 0

    def pieces() -> Iterator[tuple[np.ndarray, dict[str, np.ndarray]]]:
        nonlocal most
        for piece in range(12):
            west = 25.0 * np.arange(20)
            shapes = np.asarray(box_array(west, 30 * piece, west + 20, 30 * piece + 20))
            held.append(weakref.ref(shapes))
            yield shapes, columns(20, lot=[f"{piece}-{k}" for k in range(20)])
            most = max(most, sum(each() is not None for each in held))

    draw_county(pieces, METRES, tmp_path / name, unit="ft")
    assert len(held) >= 3 * 12
    # the one that is drawn, and the one before that a loop still names
    assert most <= 2


def test_a_map_is_the_same_however_lots_come(tmp_path: Path) -> None:
    # all in one piece or in many: the same lots in the same order
    shapes = np.array([box(30 * k, 0, 30 * k + 20, 20) for k in range(60)], dtype=object)
    told = columns(60, trench=["fits", "no", "undecided"] * 20)
    cuts = [[0, 60], [0, 7, 8, 40, 60]]
    for name, cut in zip(("one.png", "many.png"), cuts, strict=True):
        draw_county(
            lambda cut=cut: [
                (shapes[a:b], {key: each[a:b] for key, each in told.items()})
                for a, b in itertools.pairwise(cut)
            ],
            METRES, tmp_path / name, unit="ft",
        )  # fmt: skip
    one, many = (
        np.asarray(Image.open(tmp_path / name).convert("RGB")) for name in ("one.png", "many.png")
    )
    # where two lots meet the later lies over the earlier: here none do
    assert (one == many).all()


def test_small_lots_are_seen_in_their_colors(tmp_path: Path) -> None:
    # 300 by 200 lots without a gap, each some 3 pixels wide: dark outlines would hide the colors
    west, south = np.meshgrid(30.0 * np.arange(300), 30.0 * np.arange(200))
    shapes = np.asarray(box_array(west, south, west + 30, south + 30)).ravel()
    told = columns(len(shapes), lot=[""] * len(shapes))
    draw_county(lambda: [(shapes, told)], METRES, tmp_path / "map.png", unit="ft")
    pixels = np.asarray(Image.open(tmp_path / "map.png").convert("RGB")).astype(np.int16)
    left, top, right, bottom = reach(pixels, "both fit")
    color = np.array(ImageColor.getrgb(COLORS["both fit"]))
    inside = (np.abs(pixels[top:bottom, left:right] - color) <= 12).all(axis=2)
    assert right - left > 0.6 * WIDTH_IN * DPI
    assert inside.mean() > 0.9


def test_a_row_that_was_not_screened_does_not_shrink_the_map_nor_is_it_the_example(
    tmp_path: Path,
) -> None:
    # five lots of a small town, and a slip far from them
    shapes = [
        box(5e6, 5e6, 5e6 + 90, 5e6 + 90),
        *(box(x, 0, x + 90, 90) for x in range(0, 500, 100)),
    ]
    told = columns(6, why_not=["lies far off", *[""] * 5], where=[f"APN = {k}" for k in range(6)])
    pixels = drawn(shapes, told, tmp_path / "map.png")
    left, _, right, _ = reach(pixels, "both fit")
    assert right - left > 0.2 * WIDTH_IN * DPI
    shown = np.empty(6, dtype=object)
    shown[:] = shapes
    draw_county(lambda: [(shown, told)], METRES, tmp_path / "m.pdf", unit="ft", handed="c.json")
    assert '--where "APN = 1"' in PdfReader(tmp_path / "m.pdf").pages[0].extract_text()
