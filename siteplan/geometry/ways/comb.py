"""Combs: points that stand in rows, joined along the rows and by one straight spine across."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt

from siteplan.preferences.table import count_of, figures_of

Points = npt.NDArray[np.float64]
Links = npt.NDArray[np.intp]

ROW_SLACK: Final = 1e-3
"""How far points may stand off a common line and still be one row [m]."""
SPINES: Final = count_of("geometry.ways.comb.spines")
SPINE_DIRECTIONS_DEG: Final = figures_of("geometry.ways.comb.spine_directions_deg")


@dataclass(frozen=True, slots=True)
class Combs:
    """Places where a spine can meet the rows.

    Parameters
    ----------
    points
        Meeting points of all spines.
    links
        Stretches along rows and spines, as indices into the stops followed by ``points``.
    spines
        For each spine its meeting points, numbered likewise; a stop may be one.
    """

    points: Points
    links: Links
    spines: tuple[tuple[int, ...], ...]


NO_COMBS: Final = Combs(np.empty((0, 2)), np.empty((0, 2), dtype=np.intp), ())


def combs_of(stops: Points, along_deg: float, *, anchors: Points) -> Combs:
    """Spines worth trying for stops in rows along a direction; one passes through each anchor.

    Examples
    --------
    >>> grid = np.array([[x, y] for y in (0.0, 1.0) for x in (0.0, 1.0)])
    >>> combs = combs_of(grid, 0.0, anchors=np.array([[0.0, -3.0]]))
    >>> combs.spines[0]  # straight through the left stop of each row
    (0, 2)
    """
    turn = math.radians(along_deg)
    frame = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    turned, aims = stops @ frame, anchors @ frame
    rows = _rows(turned)
    # one row needs no spine, and rows of hardly two points each are no rows
    if len(rows) < 2 or len(rows) > len(stops) / 2:
        return NO_COMBS
    turned_spines: list[Points] = []
    # rows that end aslant are joined by a spine as aslant, else each has a stub
    for lean_deg in SPINE_DIRECTIONS_DEG:
        turned_spines += _spines(turned, rows, lean=1 / math.tan(math.radians(lean_deg)), aims=aims)
    if not turned_spines:
        return NO_COMBS
    # spines that meet share their points, so that a header may change from one to another
    everything = np.concatenate([turned, *turned_spines])
    number = _numbers(everything)
    firsts = len(stops) + np.cumsum([0, *(len(spine) for spine in turned_spines)])
    spines = [
        tuple(int(point) for point in number[first:after]) for first, after in pairwise(firsts)
    ]
    chains = [*_chains(everything, number), *spines]
    links = {pair for chain in chains for pair in pairwise(chain)}
    return Combs(
        everything[len(stops) :] @ frame.T,
        np.array(sorted(links), dtype=np.intp).reshape(-1, 2),
        tuple(dict.fromkeys(spines)),
    )


def _numbers(turned: Points) -> npt.NDArray[np.intp]:
    """For each point the first one that stands on the same place."""
    number = np.arange(len(turned))
    for row in _rows(turned):
        for before, point in pairwise(row):
            if turned[point, 0] - turned[before, 0] <= ROW_SLACK:
                same = sorted((int(number[before]), int(point)))
                number[(number == number[before]) | (number == point)] = same[0]
    return number.astype(np.intp)


def _chains(turned: Points, number: npt.NDArray[np.intp]) -> list[list[int]]:
    """Places of each row from left to right, each once."""
    return [list(dict.fromkeys(int(number[point]) for point in row)) for row in _rows(turned)]


def _rows(turned: Points) -> list[npt.NDArray[np.intp]]:
    """Indices of the stops of each row, from the lowest row up, each row from left to right."""
    order = np.argsort(turned[:, 1], kind="stable")
    breaks = np.flatnonzero(np.diff(turned[order, 1]) > ROW_SLACK) + 1
    rows = np.split(order, breaks)
    return [row[np.argsort(turned[row, 0], kind="stable")] for row in rows]


def _spines(
    turned: Points, rows: list[npt.NDArray[np.intp]], *, lean: float, aims: Points
) -> list[Points]:
    """Meeting points of each spine with the rows it comes near, in the turned frame."""
    levels = np.array([turned[row, 1].mean() for row in rows])
    starts = np.array([turned[row[0], 0] for row in rows])
    ends = np.array([turned[row[-1], 0] for row in rows])
    gaps = np.concatenate([np.diff(turned[row, 0]) for row in rows])
    step = float(np.median(gaps)) if len(gaps) else 0.0
    # Every stop gives a position: where a leaning line through it meets the x axis.
    feet = np.unique(np.round(turned[:, 0] - lean * turned[:, 1], 6))
    # evenly spread over the width: neighbouring spines cost nearly the same, and each is a tree to
    # grow
    if len(feet) > SPINES:
        feet = feet[np.linspace(0, len(feet) - 1, SPINES).round().astype(int)]
    # a spine straight through the entry needs no bend to get to it
    feet = np.concatenate([feet, aims[:, 0] - lean * aims[:, 1]])
    spines = []
    for foot in feet:
        across = foot + lean * levels
        # a staggered row ends half a step earlier than the next: it is still met, with a stub of
        # its own
        near = (across >= starts - 0.6 * step) & (across <= ends + 0.6 * step)
        if np.count_nonzero(near) >= 2:
            spines.append(np.stack([across[near], levels[near]], axis=1))
    return spines
