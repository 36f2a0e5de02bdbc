"""What it is worth to keep a field off ground that is better spared, and where it may lie then."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiLineString
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.lines.sweep import polygonal
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.model import Header, KeptOff, Spared
from siteplan.preferences.table import figure_of

TRENCH_SHARE: Final = figure_of("layout.sparing.trench_share")
BORE_M: Final = figure_of("layout.sparing.bore_m")


def on_lines(spared: Sequence[Spared], lines: Sequence[LineString]) -> dict[str, float]:
    """Digging worth doing to have trenches off each ground that they lie on, by its name [m]."""
    whole = MultiLineString(list(lines))
    lengths = {each.name: float(whole.intersection(_within(each)).length) for each in spared}
    return {name: TRENCH_SHARE * length for name, length in lengths.items() if length > 0}


def on_points(spared: Sequence[Spared], points: NDArray[np.float64]) -> dict[str, float]:
    """Header worth digging to have bores off each ground that they stand on, by its name [m]."""
    counts = {
        each.name: int(np.count_nonzero(shapely.intersects_xy(_within(each), points)))
        for each in spared
    }
    return {name: BORE_M * count for name, count in counts.items() if count}


def _within(spared: Spared) -> BaseGeometry:
    """Ground to be spared less its very edge, on which a field may lie."""
    return spared.shape.buffer(-TOLERANCE)


def quieter(
    area: BaseGeometry, spared: Sequence[Spared], lain_on: dict[str, float]
) -> Iterator[BaseGeometry]:
    """Parts of an area in which a field lies on less: off all of it, off what it lies on, or one.

    Parameters
    ----------
    area
        Where a field may lie.
    spared
        Ground to be spared.
    lain_on
        Names of the ground that the field lies on now, with what that costs.
    """
    names = tuple(each.name for each in spared)
    one_by_one = ((name,) for name in sorted(lain_on, key=lambda name: -round(lain_on[name], 6)))
    for kept in dict.fromkeys([names, tuple(n for n in names if n in lain_on), *one_by_one]):
        taken = shapely.union_all([each.shape for each in spared if each.name in kept])
        rest = polygonal(area.difference(taken))
        if not rest.is_empty:
            yield rest


def kept_off(
    before: dict[str, float], now: dict[str, float], first: Header, taken: Header
) -> KeptOff:
    """What a field keeps off that would lie on it with the header found first, and by what header.

    Parameters
    ----------
    before, now
        Names of the ground that the first and the field taken lie on, with what that costs.
    first, taken
        Their headers.
    """
    names = tuple(name for name in before if now.get(name, 0.0) < before[name])
    return KeptOff(names, taken.length_m - first.length_m)
