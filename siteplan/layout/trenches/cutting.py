"""Trenches shortened to a level, the longest first."""

from __future__ import annotations

from collections.abc import Sequence

from shapely import LineString

from siteplan.geometry.lines.bends import part_of


def level(lengths: Sequence[float], excess: float, shortest: float) -> float:
    """Length to which the longer ones must be cut to lose an excess, never below the shortest [m].

    Examples
    --------
    >>> level([50.0, 40.0, 30.0], 20.0, 10.0), level([50.0, 40.0], 200.0, 10.0)
    (35.0, 10.0)
    >>> level([50.0, 40.0], -1.0, 10.0)
    50.0
    """
    if excess <= 0 or not lengths:
        return max(lengths, default=0.0)
    longest_first = sorted(lengths, reverse=True)
    for count in range(1, len(longest_first) + 1):
        level = (sum(longest_first[:count]) - excess) / count
        if count == len(longest_first) or level >= longest_first[count]:
            return max(level, shortest)
    return shortest


def start_of(line: LineString, length_m: float) -> LineString:
    """First part of a line."""
    return part_of(line, 0.0, length_m)
