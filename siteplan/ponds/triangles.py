"""Triangles between places of known depth, and what is as deep as asked within them.

Where four or more places lie on one empty circle, as in a square grid of soundings, several
divisions into triangles are equally right. There the shallowest of all of them counts.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.lines.sweep import polygonal
from siteplan.site.pond_survey import point_step

Floats = NDArray[np.float64]
Numbers = NDArray[np.int64]

ROUND: Final = 1e-6
"""How far a place may lie off a circle to count as lying on it, as a share of its radius."""
FLAT_M2: Final = 1e-9
"""Area of three places that lie on one line [m2]."""
STRAIGHT_M: Final = 1e-7
"""What a corner may stand off a straight edge to be left out of it [m]."""
MOST_CORNERS: Final = 24
"""Places on one circle of which every three are looked at; more count as deep as the shallowest."""


@dataclass(frozen=True, eq=False)
class Corner3:
    """One triangle by itself.

    Parameters
    ----------
    places
        Its corners, one a row [m].
    depths_m
        Their depths [m].
    """

    places: Floats
    depths_m: Floats


@dataclass(frozen=True, eq=False)
class Triangles:
    """A surface of triangles.

    Parameters
    ----------
    places
        Corners, one a row [m].
    depths_m
        Their depths [m].
    corners
        Numbers of the three corners of each triangle.
    """

    places: Floats
    depths_m: Floats
    corners: Numbers

    @cached_property
    def doubtful(self) -> tuple[Corner3, ...]:
        """Triangles that would do as well, as their corners lie on the circle of others."""
        return tuple(three for group in _on_one_circle(self) for three in self._within(group))

    def _within(self, group: Sequence[int]) -> Iterator[Corner3]:
        places, depths = self.places[group], self.depths_m[group]
        if _even(places, depths):
            return
        if len(group) > MOST_CORNERS:
            hull = shapely.convex_hull(shapely.multipoints(places))
            for piece in shapely.get_parts(shapely.delaunay_triangles(hull)):
                yield Corner3(shapely.get_coordinates(piece)[:3], np.full(3, depths.min()))
            return
        for three in combinations(range(len(group)), 3):
            if abs(_twice_area(places[list(three)])) > FLAT_M2:
                yield Corner3(places[list(three)], depths[list(three)])

    def deeper_than(self, depth_m: float) -> BaseGeometry:
        """Where the surface is so deep or deeper."""
        pieces = [piece for three in self.corners for piece in self._deep(three, depth_m)]
        shallow = [piece for three in self.doubtful for piece in _shallow(three, depth_m)]
        deep = shapely.union_all(pieces)
        if shallow:
            deep = deep.difference(shapely.union_all(shallow))
        # corners of triangles that lie on a straight edge all but to rounding are no corners of it
        return polygonal(shapely.make_valid(shapely.simplify(deep, STRAIGHT_M)))

    def _deep(self, three: Numbers, depth_m: float) -> Iterator[BaseGeometry]:
        """Part of a triangle that is so deep or deeper."""
        over = self.depths_m[three] - depth_m
        if over.max() < 0:
            return
        outline: list[Floats] = []
        for nth in range(3):
            here, there = int(three[nth]), int(three[(nth + 1) % 3])
            if over[nth] >= 0:
                outline.append(self.places[here])
            if over[nth] * over[(nth + 1) % 3] < 0:
                outline.append(self._crossing(min(here, there), max(here, there), depth_m))
        yield from _piece(outline)

    def _crossing(self, first: int, second: int, depth_m: float) -> Floats:
        """Place of a depth on an edge: the same to the bit from both of its triangles."""
        low, high = self.depths_m[first], self.depths_m[second]
        share = (depth_m - low) / (high - low)
        return np.asarray(self.places[first] + share * (self.places[second] - self.places[first]))

    def at(self, places: Floats) -> Floats:
        """Depth at places [m]; 0 outside of all triangles."""
        depth = np.full(len(places), np.inf)
        place, number = self._tree.query(shapely.points(places), predicate="intersects")
        spots, corners, depths = places[place], *(part[number] for part in self._stacked)
        whole = _twice_areas(corners)
        # the share of a corner is that of the triangle between the place and the other two
        shares = [
            _twice_areas(np.stack((spots, corners[:, (nth + 1) % 3], corners[:, nth - 1]), axis=1))
            / whole
            for nth in range(3)
        ]
        found = (np.stack(shares, axis=1)[:, None] @ depths[:, :, None])[:, 0, 0]
        np.minimum.at(depth, place, np.clip(found, depths.min(axis=1), depths.max(axis=1)))
        return np.where(np.isfinite(depth), depth, 0.0)

    @cached_property
    def _stacked(self) -> tuple[Floats, Floats]:
        """Corners of every triangle, and their depths: shape (triangles, 3, 2), (triangles, 3)."""
        every = self._every
        places = np.array([each.places for each in every]).reshape(-1, 3, 2)
        return places, np.array([each.depths_m for each in every]).reshape(-1, 3)

    @cached_property
    def _every(self) -> tuple[Corner3, ...]:
        sure = (Corner3(self.places[three], self.depths_m[three]) for three in self.corners)
        return (*sure, *self.doubtful)

    @cached_property
    def _tree(self) -> shapely.STRtree:
        return shapely.STRtree([shapely.Polygon(three.places) for three in self._every])

    def area_m2(self, depth_m: float) -> float:
        """Area of the surface so deep or deeper, a depth above zero [m2]."""
        sizes = np.abs(_twice_areas(self.places[self.corners])) / 2
        low, middle, high = np.sort(self.depths_m[self.corners], axis=1).T
        with np.errstate(divide="ignore", invalid="ignore"):
            tip = (high - depth_m) ** 2 / ((high - low) * (high - middle))
            foot = 1 - (depth_m - low) ** 2 / ((high - low) * (middle - low))
        share = np.select([depth_m <= low, depth_m <= middle, depth_m <= high], [1.0, foot, tip])
        # the corners where two depths are one: nothing is divided there
        level = (middle == low) & (depth_m > low) & (depth_m <= high) & (high > low)
        share = np.where(level, ((high - depth_m) / np.maximum(high - low, 1e-12)) ** 2, share)
        return float(np.sum(sizes * np.nan_to_num(share)))


def triangles_of(
    lines: Sequence[tuple[float, BaseGeometry]], spots: Sequence[tuple[float, BaseGeometry]]
) -> Triangles:
    """Triangles between lines and spots of known depth [m].

    Lines get further points, so that no triangle reaches across them.
    """
    from scipy.spatial import Delaunay  # noqa: PLC0415

    step = point_step(sum(float(line.length) for _, line in lines))
    known: dict[tuple[float, float], float] = {}
    for depth, shape in (*spots, *lines):
        for x, y in shapely.get_coordinates(shapely.segmentize(shape, step)):
            # two depths at one place: the shallower counts
            at = (float(x), float(y))
            known[at] = min(depth, known.get(at, np.inf))
    places = np.array(list(known))
    depths = np.array(list(known.values()))
    corners = Delaunay(places).simplices.astype(np.int64)
    whole = np.abs(_twice_areas(places[corners])) > FLAT_M2
    return Triangles(places, depths, corners[whole])


def _twice_areas(threes: Floats) -> Floats:
    one, two = threes[:, 1] - threes[:, 0], threes[:, 2] - threes[:, 0]
    return np.asarray(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0])


def _twice_area(three: Floats) -> float:
    return float(_twice_areas(three[None])[0])


def _shallow(three: Corner3, depth_m: float) -> Iterator[BaseGeometry]:
    """Part of a triangle that is less deep."""
    under = depth_m - three.depths_m
    if under.max() <= 0:
        return
    outline: list[Floats] = []
    for nth in range(3):
        after = (nth + 1) % 3
        if under[nth] >= 0:
            outline.append(three.places[nth])
        if under[nth] * under[after] < 0:
            share = under[nth] / (under[nth] - under[after])
            outline.append(three.places[nth] + share * (three.places[after] - three.places[nth]))
    yield from _piece(outline)


def _piece(outline: Sequence[Floats]) -> Iterator[BaseGeometry]:
    """The polygon of an outline, where it has an area."""
    if len(outline) > 2:
        piece = shapely.Polygon(outline)
        if piece.area > FLAT_M2:
            yield piece


def _even(places: Floats, depths: Floats) -> bool:
    """Whether places and depths lie in one plane: then no division matters."""
    system = np.column_stack((places - places.mean(axis=0), np.ones(len(places))))
    solved, *_ = np.linalg.lstsq(system, depths, rcond=None)
    return bool(np.abs(system @ solved - depths).max() < 1e-9)


def _on_one_circle(surface: Triangles) -> Iterator[list[int]]:
    """Corners of neighbouring triangles that have one circle around them, four or more."""
    from scipy.sparse import coo_array  # noqa: PLC0415
    from scipy.sparse.csgraph import connected_components  # noqa: PLC0415

    centres, radii = _circles(surface.places[surface.corners])
    pairs = [pair for pair in _neighbours(surface.corners) if _same_circle(pair, centres, radii)]
    if not pairs:
        return
    first, second = np.array(pairs).T
    count = len(surface.corners)
    graph = coo_array((np.ones(len(pairs)), (first, second)), shape=(count, count))
    _, groups = connected_components(graph, directed=False)
    for group in sorted({int(groups[number]) for number in first}):
        members = np.unique(surface.corners[groups == group])
        yield [int(number) for number in members]


def _same_circle(pair: tuple[int, int], centres: Floats, radii: Floats) -> bool:
    first, second = pair
    near = ROUND * max(radii[first], radii[second])
    apart = float(np.hypot(*(centres[first] - centres[second])))
    return bool(apart < near and abs(radii[first] - radii[second]) < near)


def _circles(threes: Floats) -> tuple[Floats, Floats]:
    """Centres and radii of the circles around triangles [m]."""
    origin = threes[:, 0]
    one, two = threes[:, 1] - origin, threes[:, 2] - origin
    twice = 2 * _twice_areas(threes)
    first, second = (one**2).sum(axis=1), (two**2).sum(axis=1)
    x = (two[:, 1] * first - one[:, 1] * second) / twice
    y = (one[:, 0] * second - two[:, 0] * first) / twice
    return origin + np.column_stack((x, y)), np.hypot(x, y)


def _neighbours(corners: Numbers) -> list[tuple[int, int]]:
    """Pairs of triangles with a side in common."""
    sides: dict[tuple[int, int], int] = {}
    pairs = []
    for number, three in enumerate(corners):
        for one, two in combinations(sorted(int(corner) for corner in three), 2):
            before = sides.setdefault((one, two), number)
            if before != number:
                pairs.append((before, number))
    return pairs
