"""Pieces of lines joined end to end; curves as chords that keep their area."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import KDTree

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Chain:
    """Pieces joined end to end.

    Parameters
    ----------
    points
        Its points; a closed chain ends where it starts.
    pieces
        Numbers of the pieces, in their order along the chain.
    gap
        Widest gap that was closed.
    """

    points: Points
    pieces: tuple[int, ...]
    gap: float = 0.0

    @property
    def closed(self) -> bool:
        """Whether it ends where it starts, around something."""
        return len(self.points) > 3 and bool((self.points[0] == self.points[-1]).all())


def chains_of(pieces: Sequence[Points], within: float) -> list[Chain]:
    """Pieces joined where two ends, and no third, lie within a distance of each other.

    Examples
    --------
    >>> two = [np.array([(0, 0), (4, 0), (4, 3)]), np.array([(0.0, 0.0), (4, 3.001)])]
    >>> [[chain.closed for chain in chains_of(two, within)] for within in (0.01, 0.0)]
    [[True], [False]]
    """
    if not pieces:
        return []
    ends = np.array([end for piece in pieces for end in (piece[0], piece[-1])])
    node, places = _nodes(ends, within)
    gaps = np.hypot(*(ends - places[node]).T)
    at: dict[int, list[int]] = {}
    for end, name in enumerate(node.tolist()):
        at.setdefault(name, []).append(end)
    meets = {name: found for name, found in at.items() if len(found) == 2}
    left = dict.fromkeys(range(len(pieces)))
    chains = []
    # those that begin at an end or a fork first; what is left then goes round
    starts = [end for name, found in at.items() if name not in meets for end in found]
    for start in (*starts, *range(0, len(ends), 2)):
        if start // 2 in left:
            way = _way(start, meets, node, left)
            chains.append(_chain(way, pieces, places[node], gaps))
    return sorted(chains, key=lambda chain: min(chain.pieces))


def _nodes(ends: Points, within: float) -> tuple[NDArray[np.int64], Points]:
    """For each end the number of its node, and the places of the nodes: the first end of each."""
    pairs = KDTree(ends).query_pairs(within, output_type="ndarray")
    links = coo_matrix((np.ones(len(pairs)), pairs.T), shape=(len(ends), len(ends)))
    _, node = connected_components(links, directed=False)
    _, first = np.unique(node, return_index=True)
    return node.astype(np.int64), ends[first]


def _way(
    start: int, meets: dict[int, list[int]], node: NDArray[np.int64], left: dict[int, None]
) -> list[int]:
    """Ends at which the pieces of a chain are entered, in turn; takes them from what is left."""
    way, entered = [], start
    while entered // 2 in left:
        del left[entered // 2]
        way.append(entered)
        last = entered ^ 1
        following = [end for end in meets.get(int(node[last]), ()) if end != last]
        if not following:
            break
        entered = following[0]
    return way


def _chain(way: list[int], pieces: Sequence[Points], places: Points, gaps: Points) -> Chain:
    points: list[Points] = []
    for entered in way:
        piece = pieces[entered // 2].copy()
        piece[0], piece[-1] = places[entered - entered % 2], places[entered - entered % 2 + 1]
        piece = piece[::-1] if entered % 2 else piece
        points.append(piece[1:] if points else piece)
    widest = max(float(max(gaps[end], gaps[end ^ 1])) for end in way)
    return Chain(np.vstack(points), tuple(end // 2 for end in way), widest)


def chords(curve: Points, within: float) -> Points:
    """Few points of a finely drawn curve, moved off it by as much as keeps its area.

    Chords of a curve lie on its hollow side; moved outward by two thirds of their rise they
    enclose what the curve does, and no point of them is farther from it than the rise.

    Parameters
    ----------
    curve
        The curve, as points much nearer to one another than needed; closed where it ends where
        it starts. Its ends stay.
    within
        How far a chord may lie from the curve.
    """
    if len(curve) < 4:
        return curve
    local = curve - curve[0]
    few = shapely.get_coordinates(shapely.simplify(shapely.LineString(local), within))
    index = _places_of(few, local)
    cross = np.concatenate(([0.0], np.cumsum(_cross(local[:-1], local[1:])))) / 2
    segment = np.diff(cross[index]) - _cross(few[:-1], few[1:]) / 2
    if len(few) < 3 or not segment.any():
        return curve[index]
    along = few[2:] - few[:-2]
    wide = np.hypot(*along.T)
    # each corner makes up for half of either chord beside it, the outermost for all of theirs
    share = (segment[:-1] + segment[1:]) / 2
    share[0] += segment[0] / 2
    share[-1] += segment[-1] / 2
    off = np.divide(2 * share, wide, out=np.zeros_like(wide), where=wide > 0)
    normal = np.column_stack((along[:, 1], -along[:, 0])) / np.where(wide > 0, wide, 1)[:, None]
    few[1:-1] += off[:, None] * normal
    return np.asarray(few + curve[0], dtype=np.float64)


def _places_of(few: Points, curve: Points) -> NDArray[np.int64]:
    """Places in the curve of points taken from it, in order."""
    index, at = [], 0
    for point in few:
        at += int(np.flatnonzero((curve[at:] == point).all(axis=1))[0])
        index.append(at)
        at += 1
    index[-1] = len(curve) - 1
    return np.array(index, dtype=np.int64)


def _cross(first: Points, second: Points) -> Points:
    return np.asarray(first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0], dtype=np.float64)
