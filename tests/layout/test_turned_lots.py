"""A lot turned or mirrored as a whole gets the same field: geometry knows no north."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable
from functools import cache
from typing import Any

import pytest
from campaign import thorough

from siteplan.layout.model import Layout
from siteplan.plan import lay_out
from siteplan.site.readers.site_file import site_from

FT = 0.3048  # exact: National Institute of Standards and Technology, Special Publication 811
Move = Callable[[float, float], list[float]]


def turned(degrees: float) -> Move:
    cosine, sine = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return lambda x, y: [cosine * x - sine * y + 300, sine * x + cosine * y - 40]


def mirrored(x: float, y: float) -> list[float]:
    return [-x, y]


MOVES: dict[str, Move] = {
    "mirrored": mirrored, "upside down": lambda x, y: [x, -y], "turned 33": turned(33.0),
    "turned 90": turned(90.0), "turned 181": turned(181.0),
}  # fmt: skip


def lot(move: Move, system: str, given: dict[str, Any]) -> dict[str, Any]:
    def area(*points: tuple[float, float]) -> list[list[float]]:
        return [move(*point) for point in points]

    house = area((60, 30), (104, 33), (102, 60), (58, 57))
    beds = area((20, 90), (55, 95), (50, 120), (18, 112))
    water = area((75, 85), (140, 80), (152, 140), (110, 162), (70, 150))
    pond = {"kind": "pond", "id": "P", "depth": "14 ft", "area": water}
    last = pond if system == "pond" else {"kind": "tree", "at": move(120, 110)}
    return {
        "project": {"title": "T", "owner": "O", "date": datetime.date(2026, 3, 14)},
        "geometry": {"parcel": area((0, 0), (150, 8), (170, 150), (60, 175), (-12, 130))},
        "feature": [
            {"kind": "building", "area": house},
            {"kind": "wetland", "area": beds},
            last,
            {"kind": "gas line", "line": area((80, -10), (82, 31))},
        ],
        "entry": [{"id": "E", "at": move(80, 58.5)}],
        "exchanger": {"system": system, **given},
        "rig": {"access": "anywhere"},
        "excavator": {"access": "anywhere"},
        "open": {"yield": "20 gpm", "separation": "40 ft"},
    }


def laid(move: Move, system: str, given: dict[str, Any]) -> Layout:
    trial = lay_out(site_from(lot(move, system, given)), system)  # type: ignore[arg-type]
    assert trial.layout is not None
    return trial.layout


GIVEN: dict[str, dict[str, Any]] = {
    "horizontal": {"length": {"given": "380 ft", "by": "test"}},
    "open": {"capacity": "3 ton"},
    "pond": {"length": {"given": "2,000 ft", "by": "test"}},
}


@cache
def laid_plainly(system: str) -> Layout:
    return laid(lambda x, y: [x, y], system, GIVEN[system])


@pytest.mark.parametrize(
    "name", ["turned 33", *(thorough(name) for name in MOVES if name != "turned 33")]
)
@pytest.mark.parametrize("system", GIVEN)
def test_the_field_is_the_same_however_the_lot_is_drawn(name: str, system: str) -> None:
    plain = laid_plainly(system)
    other = laid(MOVES[name], system, GIVEN[system])
    assert len(other.elements) == len(plain.elements) > 0
    assert other.length_m == pytest.approx(plain.length_m, rel=1e-3)
    assert plain.header is not None
    assert other.header is not None
    assert other.header.length_m == pytest.approx(plain.header.length_m, rel=1e-3)
    # each element stands where the other one stands, moved with the lot
    for one in plain.elements:
        place = [value * FT for value in MOVES[name](one.x_m / FT, one.y_m / FT)]
        assert min(math.dist(place, (each.x_m, each.y_m)) for each in other.elements) < 0.1
