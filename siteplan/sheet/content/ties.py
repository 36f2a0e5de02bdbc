"""Fixed points, two or three or as many as a book asks, from which every element can be taped."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import combinations
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import GeometryCollection, LineString, Polygon, get_parts
from shapely.geometry.base import BaseGeometry

from siteplan.layout.elements import Element
from siteplan.layout.model import Layout
from siteplan.sheet.content.sides import sides_of
from siteplan.sheet.kept import kept
from siteplan.sheet.model import XY
from siteplan.site.model import Site

TAPE_M: Final = 45.0
"""Length that is still taped well, about 150 ft (common practice, no source) [m]."""
MOST_CORNERS: Final = 24
LETTERS: Final = "ABCDEFGH"
"""Names of tie points, one after the other."""
FLATTEST_DEG: Final = 30.0
"""Two taped arcs cross under no flatter an angle than this, nor its supplement; common practice,
no source [deg]."""

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class TiePoint:
    """A corner that stands on the ground, under a letter of its own.

    ``walls`` is what a tape cannot pass.
    """

    name: str
    at: XY
    what: str
    walls: BaseGeometry = field(default=GeometryCollection(), compare=False, repr=False)

    def sees(self, point: XY) -> bool:
        """Whether a tape runs straight to a point, past all buildings."""
        return not bool(shapely.intersects(self.walls, LineString([self.at, point])))


@kept
def tie_points(site: Site, layout: Layout, asked: int = 0) -> tuple[TiePoint, ...]:
    """Corners of buildings, or else of the parcel, that tie the elements best.

    Two, from which every element is seen past the buildings and under tapes that cross between 30
    and 150 degrees; of such pairs the one with short tapes near 90 degrees. Where no two tie all,
    the two that tie most, and a third where it ties more. Where more are
    asked for, so many of them are corners of buildings. Empty where there is nothing to tie.
    """
    targets = np.array([point for element in layout.elements for point in tie_targets(element)])
    if not len(targets):
        return ()
    walls = walls_of(site)
    houses, parcel = _building_corners(site), _property_corners(site)
    # the corner of a house is seen, a property corner may be buried (common practice, no source)
    fewer = _nearest(houses if len(houses) >= 2 else parcel, targets)
    chosen = _Bench(fewer, targets, walls).best()
    # property corners only where the houses alone leave a stake untied
    if not chosen.whole and len(houses) >= 2:
        more = _nearest(houses, targets) + _nearest(parcel, targets)
        wider = _Bench(more, targets, walls).best()
        chosen = wider if wider.tied > chosen.tied else chosen
    corners = chosen.corners
    if houses and asked:
        corners = _with_more(corners, _Bench(_nearest(houses, targets), targets, walls), asked)
    return tuple(
        TiePoint(name, at, what, walls) for name, (at, what) in zip(LETTERS, corners, strict=False)
    )


def _with_more(corners: tuple[Corner, ...], bench: _Bench, asked: int) -> tuple[Corner, ...]:
    """The corners chosen, and further ones of buildings, until so many are of buildings."""
    chosen = list(corners)
    while sum(corner in bench.corners for corner in chosen) < asked:
        number = bench.next_to(chosen)
        if number is None:
            break
        chosen.append(bench.corners[number])
    return tuple(chosen)


def weak_stakes(layout: Layout, ties: Sequence[TiePoint]) -> tuple[str, ...]:
    """Stakes that no two of the points see under tapes crossing between 30 and 150 degrees."""
    return tuple(
        name
        for element in layout.elements
        for name, point in zip(stake_names(element), tie_targets(element), strict=True)
        if not any(crosses_well(tie, other, point) for tie, other in combinations(ties, 2))
    )


def crosses_well(first: TiePoint, other: TiePoint, point: XY) -> bool:
    """Whether two tapes reach a point, and cross there between 30 and 150 degrees."""
    a, b = ((tie.at[0] - point[0], tie.at[1] - point[1]) for tie in (first, other))
    sine = abs(a[0] * b[1] - a[1] * b[0]) / max(np.hypot(*a) * np.hypot(*b), 1e-9)
    return bool(sine >= _LEAST_SINE and first.sees(point) and other.sees(point))


END: Final = " end"
"""Behind the id of a trench, in the name of its far stake."""
HIDDEN: Final = "*"
"""Behind a taped distance that runs through a building."""
MOST_WEAK: Final = 6
"""Stakes named in one sentence."""
_LEAST_SINE: Final = float(np.sin(np.radians(FLATTEST_DEG))) - 1e-9


@kept
def tie_words(layout: Layout, ties: Sequence[TiePoint]) -> str:
    """What is to be minded when elements are taped; empty where every stake is tied well."""
    if not ties:
        return ""
    weak = weak_stakes(layout, ties)
    points = [point for element in layout.elements for point in tie_targets(element)]
    hidden = any(not tie.sees(point) for tie in ties for point in points)
    sentences = []
    if len(ties) > 2:
        number = "three" if len(ties) == 3 else "these"
        sentences.append(f"Of {number} distances take the two that cross nearest to a right angle.")
    if hidden:
        sentences.append(f"{HIDDEN} a building is in the way: not to be taped.")
    if weak:
        more = f" and {len(weak) - MOST_WEAK} more" if len(weak) > MOST_WEAK else ""
        sentences.append(
            f"No two tapes cross between {FLATTEST_DEG:.0f} and {180 - FLATTEST_DEG:.0f}° at "
            f"{', '.join(weak[:MOST_WEAK])}{more}: stake by coordinates."
        )
    return " ".join(sentences)


def stake_names(element: Element) -> tuple[str, ...]:
    """Names of the points of an element that are staked."""
    return (element.id, f"{element.id}{END}")[: len(element.ends)]


def tie_targets(element: Element) -> tuple[XY, ...]:
    """Points of an element that are staked: its centre, or both ends of a trench."""
    return element.ends


Corner = tuple[XY, str]


def tie_corners(site: Site) -> list[Corner]:
    """Every corner that may be a tie point: place and what it is of."""
    return [*_building_corners(site), *_property_corners(site)]


def _building_corners(site: Site) -> list[Corner]:
    shapes = [part for building in site.of_kind("building") for part in get_parts(building.shape)]
    polygons = (shape for shape in shapes if isinstance(shape, Polygon))
    return [(side.start, "building corner") for shape in polygons for side in sides_of(shape)]


def _property_corners(site: Site) -> list[Corner]:
    return [(side.start, "property corner") for side in sides_of(site.parcel)]


def _nearest(corners: list[Corner], targets: Array) -> list[Corner]:
    """So many corners as are looked at, the nearest to the middle of the elements first."""
    middle = targets.mean(axis=0)
    ranked = sorted(
        corners, key=lambda corner: (float(np.hypot(*(corner[0] - middle))), *corner[0])
    )
    # pairs grow with the square of the corners, and from afar tapes are long and cross flat
    return ranked[:MOST_CORNERS]


def walls_of(site: Site) -> BaseGeometry:
    """What a tape cannot pass: the buildings, but for the skin along which it is held."""
    walls = shapely.union_all([building.shape for building in site.of_kind("building")]).buffer(
        -0.05
    )
    shapely.prepare(walls)
    return walls


@dataclass(frozen=True, slots=True)
class _Chosen:
    """Corners chosen, how many stakes they tie well, and whether that is all."""

    corners: tuple[Corner, ...]
    tied: int
    whole: bool


class _Bench:
    """Corners compared by how they tie the same targets."""

    def __init__(self, corners: list[Corner], targets: Array, walls: BaseGeometry) -> None:
        self.corners = corners
        places = np.array([at for at, _ in corners])
        away = targets[None] - places[:, None]
        reach = np.hypot(away[..., 0], away[..., 1])
        self.direction = away / np.maximum(reach, 1e-9)[..., None]
        self.seen = _seen(places, targets, walls)
        # beyond one length of tape the worth falls by half at once: the tape is set down on the way
        near = np.where(reach <= TAPE_M, 1.0, TAPE_M / (2 * reach + 1.0))
        # not nothing where a house is in the way, so that a best pair is found where none sees all
        self.short = np.where(self.seen, 1.0, 0.1) * near
        self.pairs = list(combinations(range(len(corners)), 2))
        sines = [self._sine(*pair) for pair in self.pairs]
        self.good = [
            (sine >= _LEAST_SINE) & self.seen[pair_first] & self.seen[other]
            for (pair_first, other), sine in zip(self.pairs, sines, strict=True)
        ]
        self.worth = [
            sine * self.short[pair_first] * self.short[other]
            for (pair_first, other), sine in zip(self.pairs, sines, strict=True)
        ]

    def _sine(self, tie: int, other: int) -> Array:
        a, b = self.direction[tie], self.direction[other]
        sines: Array = np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])
        return sines

    def best(self) -> _Chosen:
        """The two corners that tie most, and a third where it ties more."""
        order = range(len(self.pairs))
        # one more stake tied is worth more than all others tied better
        number = max(order, key=lambda k: (int(self.good[k].sum()), _value(self.worth[k])))
        chosen, good = self.pairs[number], self.good[number]
        if bool(good.all()):
            return _Chosen(tuple(self.corners[k] for k in chosen), len(good), whole=True)
        third = max(range(len(self.corners)), key=lambda k: int(self._with(chosen, good, k).sum()))
        more = self._with(chosen, good, third)
        if int(more.sum()) > int(good.sum()):
            corners = tuple(self.corners[k] for k in (*chosen, third))
            return _Chosen(corners, int(more.sum()), whole=bool(more.all()))
        return _Chosen(tuple(self.corners[k] for k in chosen), int(good.sum()), whole=False)

    def next_to(self, chosen: list[Corner]) -> int | None:
        """The corner that is seen by most, with short tapes, beside those chosen; None: none."""
        left = [k for k, corner in enumerate(self.corners) if corner not in chosen]
        return max(
            left, key=lambda k: (int(self.seen[k].sum()), float(self.short[k].mean())), default=None
        )

    def _with(self, chosen: tuple[int, int], good: Flags, third: int) -> Flags:
        """Targets tied well with a third corner besides."""
        seen = good.copy()
        for tie in chosen:
            if tie != third:
                seen |= self.good[self.pairs.index((min(tie, third), max(tie, third)))]
        return seen


def _value(worth: Array) -> float:
    # by the mean alone one stake would be tied badly for the sake of the others
    return float(worth.mean() + worth.min())


def _seen(corners: Array, targets: Array, walls: BaseGeometry) -> Flags:
    """Whether each target is seen from each corner, shape (corners, targets)."""
    ends = np.stack(np.broadcast_arrays(corners[:, None, :], targets[None, :, :]), axis=2)
    lines = shapely.linestrings(ends.reshape(-1, 2, 2))
    hidden = np.asarray(shapely.intersects(walls, lines))
    return ~hidden.reshape(len(corners), len(targets))
