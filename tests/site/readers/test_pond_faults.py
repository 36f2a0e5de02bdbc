"""Depths of a pond that cannot be true are refused with their place."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from siteplan.errors import InputError
from siteplan.site.readers.site_file import read_site

SHORE = "area = [[120, 100], [180, 100], [180, 170], [120, 170]]\n"
POND = f'[[feature]]\nid = "p"\nkind = "pond"\n{SHORE}'


def contour(depth: str, area: str) -> str:
    return f'[[feature]]\nkind = "depth contour"\ndepth = "{depth}"\narea = {area}\n'


def sounding(depth: str, x: float, y: float, name: str = "s") -> str:
    return f'[[feature]]\nid = "{name}"\nkind = "sounding"\ndepth = "{depth}"\nat = [{x}, {y}]\n'


def shore_entry(x: float, y: float, name: str = "a") -> str:
    return f'[[feature]]\nid = "{name}"\nkind = "shore entry"\nat = [{x}, {y}]\n'


WEST = "[[125, 110], [150, 110], [150, 160], [125, 160]]"
EAST = "[[140, 120], [170, 120], [170, 150], [140, 150]]"


@pytest.mark.parametrize(
    ("features", "told"),
    [
        (
            POND + contour("6 ft", WEST) + contour("9 ft", EAST),
            r"has depth contours of 6\.0 ft and 9\.0 ft that cross at \(150\.0, 1[25]0\.0\) ft",
        ),
        (
            POND + sounding("5 ft", 110, 130),
            r"has sounding 's' at \(110\.0, 130\.0\) ft on land, 10\.0 ft from its shore",
        ),
        (
            POND + sounding("5 ft", 150, 130) + sounding("6 ft", 150, 130, "t"),
            r"has sounding 't' at \(150\.0, 130\.0\) ft where 's' is",
        ),
        (
            POND + contour("9 ft", EAST) + sounding("5 ft", 150, 135),
            r"has sounding 's' at \(150\.0, 135\.0\) ft, 5\.0 ft deep, inside a depth contour",
        ),
        (
            POND + 'depth = "9 ft"\n' + shore_entry(110, 130),
            r"has its shore entry at \(110\.0, 130\.0\) ft, 10\.0 ft from its shore\. Put it on",
        ),
        (
            POND + 'depth = "9 ft"\n' + shore_entry(120, 130) + shore_entry(180, 130, "b"),
            r"has the shore entries 'a' and 'b'\. Keep the one that is built",
        ),
        (
            POND
            + 'depth = "9 ft"\n[[feature]]\nkind = "shore entry"\n'
            + "line = [[120, 110], [120, 130]]\n",
            "is a shore entry but not a point",
        ),
        (
            POND + 'depth = "3 ft"\n' + contour("9 ft", EAST),
            r"depth: of 3\.0 ft is less than a depth contour of 9\.0 ft in it\. Correct one",
        ),
        (
            POND + 'depth = "3 ft"\n' + sounding("4 ft", 150, 130),
            r"depth: of 3\.0 ft is less than sounding 's' of 4\.0 ft in it",
        ),
        (POND + 'depth = "-3 ft"\n', r"depth: '-3 ft' is too small\. Give more than zero"),
        (POND + sounding("-3 ft", 150, 130), r"depth: '-3 ft' is too small"),
        (POND + sounding("unknown", 150, 130), "of a sounding is unknown"),
        (
            POND + 'depth = "5 ft"\ndrawdown = "6 ft"\n',
            r"drawdown: is 6\.0 ft: the pond is dry then\. Give less than its greatest depth, 5",
        ),
        (
            POND + "side_slope = 3\n" + sounding("6 ft", 150, 130),
            "side_slope: is given beside depth contours or soundings",
        ),
        (POND + 'depth = "9 ft"\nside_slope = 31\n', "31 is not a number from 0 to 30"),
        (
            POND + '[[feature]]\nkind = "sounding"\ndepth = "9 ft"\n' + SHORE,
            "is a sounding but not a point",
        ),
    ],
)
def test_a_depth_that_cannot_be_true_is_refused(
    lot_text: str, write_site: Callable[..., Path], features: str, told: str
) -> None:
    text = lot_text.replace("[exchanger]", f"{features}[exchanger]")
    with pytest.raises(InputError, match=told):
        read_site(write_site(text))


def test_soundings_alone_tell_how_deep_a_pond_is(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    features = POND + 'drawdown = "1 ft"\n' + sounding("9 ft", 150, 130)
    site = read_site(write_site(lot_text.replace("[exchanger]", f"{features}[exchanger]")))
    (pond,) = site.of_kind("pond")
    (spot,) = pond.survey.soundings
    assert (spot.id, spot.depth_m) == ("s", pytest.approx(9 * 0.3048))
    assert pond.survey.drawdown_m == pytest.approx(0.3048)
