"""A given number of points as far apart as they go: basin hopping with exact polishing.

Crowds of the points want room at a spacing a hair larger than the best one; they hop from
arrangement to arrangement (:mod:`siteplan.geometry.points.hopping`), and the least squeezed of
each round are polished. Polishing maximises the least distance by linear programs: the distance
along the present line of sight is never more than the true one, so that each program's solution is
a true improvement.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely
from scipy.sparse import csr_array
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.points.fence import GIVE, EdgeIndex, dot, edge_index, fence_of
from siteplan.geometry.points.hopping import Crowd, Ground, kept, places_in, pushed, relocated
from siteplan.geometry.points.scanline import Floats, Integers
from siteplan.preferences.table import count_of, figure_of, figures_of

SEED: Final = count_of("geometry.points.spreading.seed")
ROUNDS: Final = count_of("geometry.points.spreading.rounds")
CROWDED: Final = count_of("geometry.points.spreading.crowded")
MOST_CROWDS: Final = count_of("geometry.points.spreading.most_crowds")
FEWEST_CROWDS: Final = count_of("geometry.points.spreading.fewest_crowds")
LIFE: Final = count_of("geometry.points.spreading.life")
THROWN: Final = figure_of("geometry.points.spreading.thrown")
SHAKE: Final = figure_of("geometry.points.spreading.shake")
EXCESSES: Final = figures_of("geometry.points.spreading.excesses")
POLISHED: Final = count_of("geometry.points.spreading.polished")
HOPELESS: Final = figure_of("geometry.points.spreading.hopeless")
PROGRAMS: Final = count_of("geometry.points.spreading.programs")
REACH: Final = figure_of("geometry.points.spreading.reach")
GAIN: Final = figure_of("geometry.points.spreading.gain")


def spread_apart(area: BaseGeometry, points: Floats, *, effort: float) -> Floats:
    """As many points as given, their least distance at least as large, found by fixed trials.

    Parameters
    ----------
    area
        Area with width, in small coordinates [m].
    points
        Two points or more, inside the area.
    effort
        Scales the number of rounds.
    """
    # one unit of length for all, so that the tolerances of the programs mean the same
    unit = least_distance(points) / 10.0
    scaled = shapely.transform(area, lambda xy: xy / unit)
    return _best(scaled, points / unit, rounds=max(1, round(ROUNDS * effort))) * unit


def _best(area: BaseGeometry, points: Floats, *, rounds: int) -> Floats:
    spacing = least_distance(points)
    index = edge_index(area, fence_of(area, give=GIVE * spacing), spacing=spacing)
    # a quarter of the spacing: no void that would take a point falls between two places
    places = places_in(area, spacing / 4)
    random = np.random.default_rng(SEED)
    # the bar for all others: polished first, or a rough hop would seem to be better than it
    best = _polished(points, area, index=index, enough=0.0)
    seen: list[float] = []
    for number in range(rounds):
        # a small excess ranks crowds nearly as the true problem does, a large one drives them
        # farther from where they rest: neither alone finds all, so the lives take turns
        excess = EXCESSES[number // LIFE % len(EXCESSES)]
        # crowds that have hopped long gather in a few arrangements: begin anew rather than hop on
        # there
        if number % LIFE == 0:
            ground = _ground(best, index, excess=excess)
            state = _begun(best, ground, places=places, random=random)
        state = _hopped(state, random=random)
        # a polish is many linear programs and a hop a few array operations: only the least
        # squeezed pay
        for chosen in np.argsort(state.energy, kind="stable")[:POLISHED]:
            energy = float(state.energy[chosen])
            # the same energy is the same arrangement, turned or renumbered: it was polished
            # already
            if any(math.isclose(energy, other, rel_tol=1e-5, abs_tol=1e-14) for other in seen):
                continue
            seen.append(energy)
            enough = least_distance(best)
            tried = _polished(state.crowds[chosen].points, area, index=index, enough=enough)
            if least_distance(tried) > enough * (1 + 1e-12):
                # energies belong to one spacing: with a wider one none of those seen tells
                # anything
                best, seen = tried, []
                state = _pushed(state.crowds, _ground(best, index, excess=excess))
                break
    return best


@dataclass(frozen=True, slots=True)
class _State:
    """Crowds that want room at a spacing a little larger than the best, and their energies."""

    ground: Ground
    crowds: list[Crowd]
    energy: Floats


def _ground(best: Floats, index: EdgeIndex, *, excess: float) -> Ground:
    return Ground(index, least_distance(best) * (1 + excess), 0.0)


def _begun(best: Floats, ground: Ground, *, places: Floats, random: np.random.Generator) -> _State:
    """Crowds thrown at random, and shaken copies of the best points."""
    spacing, nobody = least_distance(best), np.zeros((0, 2))
    starts = []
    crowds = min(MOST_CROWDS, max(FEWEST_CROWDS, CROWDED // len(best)))
    for number in range(crowds):
        # shaken copies improve on the best arrangement, thrown ones reach others that no shake
        # leads to
        if number < crowds * THROWN:
            starts.append(places[random.integers(len(places), size=len(best))])
        else:
            starts.append(best + random.normal(0.0, spacing * SHAKE, best.shape))
    return _pushed([Crowd(start, nobody, places) for start in starts], ground)


def _pushed(crowds: list[Crowd], ground: Ground) -> _State:
    """Crowds pushed apart to the spacing of the ground."""
    moved, energy = pushed(crowds, [crowd.points for crowd in crowds], ground=ground)
    moved_crowds = [replace(crowd, points=xy) for crowd, xy in zip(crowds, moved, strict=True)]
    return _State(ground, moved_crowds, energy)


def _hopped(state: _State, *, random: np.random.Generator) -> _State:
    """Crowds after one hop each."""
    begin = [relocated(crowd, state.ground.spacing, random=random) for crowd in state.crowds]
    moved, energy = pushed(state.crowds, begin, ground=state.ground)
    crowds, energies = list(state.crowds), state.energy.copy()
    for number in kept(state.energy, energy, random=random):
        crowds[number] = replace(crowds[number], points=moved[number])
        energies[number] = energy[number]
    return replace(state, crowds=crowds, energy=energies)


def least_distance(points: Floats) -> float:
    """Distance of the nearest pair [m].

    Examples
    --------
    >>> least_distance(np.array([[0.0, 0.0], [3.0, 4.0], [9.0, 9.0]]))
    5.0
    """
    return float(np.asarray(cKDTree(points).query(points, k=2)[0])[:, 1].min())


def _polished(points: Floats, area: BaseGeometry, *, index: EdgeIndex, enough: float) -> Floats:
    """Points moved uphill until their least distance grows no more, or will not come to enough."""
    # soft discs come to rest a hair outside, where the program's half planes would have no
    # solution
    points = _brought_inside(points, area)
    spacing = least_distance(points)
    if spacing <= 0:
        return points
    for _ in range(PROGRAMS):
        moved = _brought_inside(_moved(points, spacing, index=index), area)
        grown = least_distance(moved)
        if grown <= spacing * (1 + GAIN):
            break
        # the gains of the programs shrink from one to the next: a crowd this far behind does not
        # catch up
        hopeless = enough - grown > HOPELESS * (grown - spacing)
        points, spacing = moved, grown
        if hopeless:
            break
    return points


def _brought_inside(points: Floats, area: BaseGeometry) -> Floats:
    """Points outside put on the nearest edge."""
    outside = ~shapely.intersects_xy(area, points)
    if not outside.any():
        return points
    lines = shapely.shortest_line(area, shapely.points(points[outside]))
    points = points.copy()
    points[outside] = shapely.get_coordinates(lines).reshape(-1, 2, 2)[:, 0]
    return points


def _moved(points: Floats, spacing: float, *, index: EdgeIndex) -> Floats:
    """Points after one linear program: the largest t with every near pair t apart."""
    # loads slowly, and only points spread out need it
    from scipy.optimize import linprog  # noqa: PLC0415

    count, reach = len(points), REACH * spacing
    # no farther pair can come within the spacing in one program, and each pair is a line of it
    pairs = cKDTree(points).query_pairs(spacing + 4 * reach, output_type="ndarray")
    line = points[pairs[:, 0]] - points[pairs[:, 1]]
    length = np.hypot(line[:, 0], line[:, 1])
    walls = index.walls(points)
    normal, owner = walls.normal.T, walls.point
    room = np.maximum(dot(points[owner], normal) - walls.offset, 0.0)
    solved = linprog(  # type: ignore[call-overload]  # the stubs know no sparse matrices
        c=np.r_[np.zeros(2 * count), -1.0],
        A_ub=_coefficients(pairs, line / length[:, None], owner=owner, normal=normal, count=count),
        b_ub=np.r_[length, room],
        # the programs hold near where they were made: farther moves would leave the walls of each
        # point
        bounds=[(-reach, reach)] * (2 * count) + [(0.0, spacing + 2 * reach)],
        method="highs-ds",
        options={"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10},
    )
    if solved.status != 0:
        return points
    moves: Floats = np.asarray(solved.x[: 2 * count], dtype=np.float64)
    return points + moves.reshape(2, count).T


def _coefficients(
    pairs: Integers, sight: Floats, *, owner: Integers, normal: Floats, count: int
) -> csr_array:
    """Left side of the program: a line for each pair, then one for each half plane.

    The unknowns are the moves along x, the moves along y, and t.
    """
    pair, wall = np.arange(len(pairs)), len(pairs) + np.arange(owner.size)
    point, other = pairs.T
    entries = [
        (pair, point, -sight[:, 0]),
        (pair, other, sight[:, 0]),
        (pair, count + point, -sight[:, 1]),
        (pair, count + other, sight[:, 1]),
        (pair, np.full(pair.size, 2 * count), np.ones(pair.size)),
        (wall, owner, -normal[:, 0]),
        (wall, count + owner, -normal[:, 1]),
    ]
    row, column, value = (np.concatenate(part) for part in zip(*entries, strict=True))
    return csr_array((value, (row, column)), shape=(pair.size + wall.size, 2 * count + 1))
