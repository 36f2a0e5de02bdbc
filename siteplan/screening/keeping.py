"""What rows keep off on many lots: sides of the lots and things on them, with their distances."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from siteplan.screening.capsules import Walls, walls_of
from siteplan.screening.chunk import Chunk
from siteplan.screening.room import SURE_M
from siteplan.screening.scan import Floats, Integers, turned
from siteplan.screening.terms import Distances


def both(part: Distances, header: Distances) -> Distances:
    """What is kept where a part and a header may both lie."""
    things = {
        kind: max(part.things_m.get(kind, 0.0), header.things_m.get(kind, 0.0))
        for kind in (*part.things_m, *header.things_m)
    }
    return replace(part, line_m=max(part.line_m, header.line_m), things_m=things)


@dataclass(frozen=True, slots=True)
class Around:
    """Sides of many lots and what is on them and near them, as walls that keep nothing yet.

    Parameters
    ----------
    chunk
        The lots.
    walls
        Walls of all sides and things, lot by lot.
    kinds, kind
        Kinds of things, and which of them each wall is of; -1: a side of the lot.
    """

    chunk: Chunk
    walls: Walls
    kinds: tuple[str, ...]
    kind: Integers

    def off(self, distances: Distances, more_m: float = 0.0) -> Walls:
        """All that rows keep off, with what they keep from it; ``more_m``: and so much more."""
        more = more_m + SURE_M
        asked = [distances.things_m.get(kind, math.nan) + more for kind in self.kinds]
        away = np.array([*asked, distances.line_m + more])[self.kind]
        kept = ~np.isnan(away)
        walls = replace(self.walls, away=away)
        return walls if kept.all() else walls.where(kept)


def around(chunk: Chunk) -> Around:
    """What is around on many lots."""
    kinds, kind = np.unique(chunk.kinds, return_inverse=True)
    count, things = len(chunk), len(chunk.things)
    sides = walls_of(chunk.outlines, np.arange(count), np.zeros(count), sides=True)
    others = walls_of(chunk.things, chunk.owner, np.zeros(things), sides=False)
    walls = sides.beside(others)
    return Around(chunk, walls, tuple(kinds.tolist()), np.append(kind, -1)[walls.thing])


def extent(sides: Walls, angle: Floats) -> tuple[Floats, Floats]:
    """Lowest and highest place of each lot across a direction of its own [m].

    ``sides``: of all lots.
    """
    _, across = turned(sides.starts, angle, sides.owner)
    first = np.flatnonzero(np.diff(sides.owner, prepend=-1))
    return np.minimum.reduceat(across, first), np.maximum.reduceat(across, first)
