"""One wave of a plan's search of poses, as loops to be compiled: the same poses bit for bit.

See ``geometry/ways/poses.py``: of all poses one move on those are kept that lie on free ground,
and of all in one cell with one direction the first.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Marked = NDArray[np.bool_]
Grid = tuple[float, float, float, int, int]
"""Left, bottom, size of a cell [m], and how many columns and rows."""


def next_poses(
    poses: tuple[Floats, Integers], seen: Marked, moved: tuple[Floats, Integers, Floats, Floats],
    body: tuple[Floats, Floats], ground: tuple[Marked, Grid], cells: Grid,
) -> tuple[Floats, Integers, Integers]:  # fmt: skip
    """Places, directions and origins of poses one move on that are new; these are marked as seen.

    Parameters
    ----------
    poses
        Places, and numbers of directions.
    seen
        By cell and direction, what is known.
    moved
        Steps of all moves by direction, their turns, and step and direction halfway.
    body
        Places of discs along it [m], and a unit vector for each direction.
    ground
        Which cells of the finer raster are free for a disc, and that raster.
    cells
        The raster of poses.
    """
    (spots, turned), (moves, turns, halfway, middle) = poses, moved
    left, bottom, size, columns, rows = cells
    ways, count = len(body[1]), 0
    found, told = np.empty((64, 2)), np.empty((64, 3), dtype=np.int64)
    for move in range(len(turns)):
        for one in range(len(spots)):
            way = turned[one]
            x, y = spots[one, 0] + moves[move, way, 0], spots[one, 1] + moves[move, way, 1]
            across, up = x - left, y - bottom
            if not (0 <= across < columns * size and 0 <= up < rows * size):
                continue
            new = (way + turns[move]) % ways
            place = (int(up / size) * columns + int(across / size)) * ways + new
            if seen[place] or not _is_free(x, y, body[1][new], body[0], ground):
                continue
            if turns[move] != 0:
                # a straight move is covered by its ends
                u, v = spots[one, 0] + halfway[move, way, 0], spots[one, 1] + halfway[move, way, 1]
                if not _is_free(u, v, middle[move, way], body[0], ground):
                    continue
            if count == len(told):
                found = np.concatenate((found, np.empty_like(found)))
                told = np.concatenate((told, np.empty_like(told)))
            found[count, 0], found[count, 1] = x, y
            told[count, 0], told[count, 1], told[count, 2] = new, one, place
            seen[place], count = True, count + 1
    order = np.argsort(told[:count, 2])
    return found[:count][order], told[:count, 0][order], told[:count, 1][order]


def _is_free(x: float, y: float, ahead: Floats, discs: Floats, ground: tuple[Marked, Grid]) -> bool:
    """Whether a body with its rear at a place, pointing ahead, is on free ground."""
    fits, (left, bottom, size, columns, rows) = ground
    for disc in discs:
        across = (x + disc * ahead[0] - left) / size
        up = (y + disc * ahead[1] - bottom) / size
        if across < 0 or up < 0 or int(across) >= columns or int(up) >= rows:
            return False
        if not fits[int(up) * columns + int(across)]:
            return False
    return True
