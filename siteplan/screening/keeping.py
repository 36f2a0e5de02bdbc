"""What rows keep off on many lots: sides of the lots and things on them, with their distances."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from siteplan.screening.capsules import Walls, walls_of
from siteplan.screening.chunk import Chunk
from siteplan.screening.room import SURE_M
from siteplan.screening.scan import Floats, turned
from siteplan.screening.terms import Distances


def both(part: Distances, header: Distances) -> Distances:
    """What is kept where a part and a header may both lie."""
    things = {
        kind: max(part.things_m.get(kind, 0.0), header.things_m.get(kind, 0.0))
        for kind in (*part.things_m, *header.things_m)
    }
    return replace(part, line_m=max(part.line_m, header.line_m), things_m=things)


def keep_off(chunk: Chunk, distances: Distances, more_m: float = 0.0) -> Walls:
    """All that rows keep off, with what they keep from it, lot by lot; ``more_m``: and more."""
    kinds, which = np.unique(chunk.kinds, return_inverse=True)
    asked = np.array([distances.things_m.get(str(kind), math.nan) for kind in kinds])
    away = asked[which] if len(kinds) else np.zeros(0)
    near, more = np.flatnonzero(~np.isnan(away)), more_m + SURE_M
    things = walls_of(
        chunk.things[near], chunk.owner[near], away[near] + more, sides=False, number=near
    )
    lines = np.full(len(chunk), distances.line_m + more)
    sides = walls_of(chunk.outlines, np.arange(len(chunk)), lines, sides=True)
    return sides.beside(things)


def extent(sides: Walls, angle: Floats) -> tuple[Floats, Floats]:
    """Lowest and highest place of each lot across a direction of its own [m].

    ``sides``: of all lots.
    """
    _, across = turned(sides.starts, angle[sides.owner])
    first = np.flatnonzero(np.diff(sides.owner, prepend=-1))
    return np.minimum.reduceat(across, first), np.maximum.reduceat(across, first)
