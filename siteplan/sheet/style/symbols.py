"""Shapes of the symbols, read from ``symbols.toml``, in units of a symbol's radius."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from siteplan.sheet.model import Ring

CIRCLE_STEPS = 48
"""Straight pieces that stand for a circle where a format has no circles."""


@dataclass(frozen=True, slots=True)
class SymbolShape:
    """What a symbol consists of.

    Parameters
    ----------
    circles
        Centre x, y and radius.
    wedges
        Centre x, y, radius, from and to angle [deg]; filled.
    lines
        Open lines.
    solids
        Filled polygons.
    """

    circles: tuple[tuple[float, float, float], ...] = ()
    wedges: tuple[tuple[float, float, float, float, float], ...] = ()
    lines: tuple[Ring, ...] = ()
    solids: tuple[Ring, ...] = ()

    def strokes(self) -> tuple[Ring, ...]:
        """Lines and circles as polylines."""
        rounds = tuple(_arc(x, y, radius, 0.0, 360.0) for x, y, radius in self.circles)
        return (*rounds, *self.lines)

    def fills(self) -> tuple[Ring, ...]:
        """Solids and wedges as polygons."""
        return (*self.solids, *(_wedge(*wedge) for wedge in self.wedges))


def _arc(x: float, y: float, radius: float, start_deg: float, end_deg: float) -> Ring:
    steps = max(2, round(CIRCLE_STEPS * (end_deg - start_deg) / 360.0))
    angles = [
        math.radians(start_deg + (end_deg - start_deg) * step / steps) for step in range(steps + 1)
    ]
    return tuple((x + radius * math.cos(a), y + radius * math.sin(a)) for a in angles)


def _wedge(x: float, y: float, radius: float, start_deg: float, end_deg: float) -> Ring:
    arc = _arc(x, y, radius, start_deg, end_deg)
    return arc if end_deg - start_deg >= 360.0 else ((x, y), *arc)


@cache
def symbol_shapes() -> dict[str, SymbolShape]:
    """All symbols by name."""
    text = files("siteplan.sheet.style").joinpath("symbols.toml").read_text(encoding="utf-8")
    return {
        name: SymbolShape(
            circles=tuple((c[0], c[1], c[2]) for c in row.get("circles", ())),
            wedges=tuple((w[0], w[1], w[2], w[3], w[4]) for w in row.get("wedges", ())),
            lines=tuple(_ring(line) for line in row.get("lines", ())),
            solids=tuple(_ring(solid) for solid in row.get("solids", ())),
        )
        for name, row in tomllib.loads(text).items()
    }


def _ring(points: list[list[float]]) -> Ring:
    return tuple((float(x), float(y)) for x, y in points)
