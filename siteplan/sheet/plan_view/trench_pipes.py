"""Pipes in a trench as seen from above, and how they turn back at its far end."""

from __future__ import annotations

import math
from typing import Final

from siteplan.hydraulics.pipes import Pipe
from siteplan.layout.elements import Trench
from siteplan.sheet.model import XY
from siteplan.site.trench_kinds import trench_kinds

LEAST_WIDTH_MM: Final = 4.0
"""A trench narrower than this on paper shows no pipes [mm]."""
ARC_STEPS: Final = 24
END_GAP_M: Final = 0.15
"""Left free between a return and the end of the trench; common practice, no source [m]."""


def pipe_paths(trench: Trench, pipe: Pipe) -> list[list[XY]]:
    """Each loop of a straight trench from its header end out and back; empty where none is seen.

    A pipe is bent back on half the distance to the one it comes back beside, where that is no less
    than the pipe's smallest radius; else a fitting turns it square.
    """
    kind = trench_kinds()[trench.kind_name]
    asides = sorted({aside for aside, _ in kind.at})
    straight = len(trench.line.coords) == 2 and kind.coil is None
    if not straight or len(asides) % 2 or kind.pipes != trench.pipes:
        return []
    half = len(asides) // 2
    pairs = list(zip(asides[:half], asides[half:], strict=True))
    return [_loop(trench, near, other, least=pipe.bend_radius_m) for near, other in pairs]


def _loop(trench: Trench, near: float, other: float, *, least: float) -> list[XY]:
    """Points of one loop between two places aside from the middle [m]."""
    radius, middle = (other - near) / 2, (near + other) / 2
    end = trench.length_m - END_GAP_M
    if radius < least - 1e-9 or radius >= end:
        local = [(0.0, near), (end, near), (end, other), (0.0, other)]
    else:
        turns = [math.pi * step / ARC_STEPS for step in range(ARC_STEPS + 1)]
        arc = [
            (end - radius + radius * math.sin(turn), middle - radius * math.cos(turn))
            for turn in turns
        ]
        local = [(0.0, near), *arc, (0.0, other)]
    (x, y), (last_x, last_y) = trench.line.coords[0][:2], trench.line.coords[1][:2]
    along = ((last_x - x) / trench.length_m, (last_y - y) / trench.length_m)
    return [(x + u * along[0] - v * along[1], y + u * along[1] + v * along[0]) for u, v in local]
