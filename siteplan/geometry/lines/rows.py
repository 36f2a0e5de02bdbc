"""Parallel rows of greatest total length in a region, at least a spacing apart.

For one direction the best rows are exact: the length of a row is piecewise linear in its height,
and in a best set every chain of rows that stand exactly one spacing apart can be slid until one of
them meets a break of that function: one where it jumps, or where its slope falls, since past any
other the sum of the chain would go on rising, on this side or on that. So the candidates are these
breaks plus whole spacings, and dynamic programming picks among them; the gaps need not be equal.
Arcs around what rows keep off bend the other way, and give none.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from siteplan.geometry.lines.sweep import (
    BETWEEN_BANDS,
    SAME_LEVEL,
    Bands,
    Chords,
    Points,
    SweepEdges,
    Values,
    chords_at,
    frame_of,
    slabs_of,
    sweep_edges,
    swept,
)
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.preferences.table import count_of

Numbers = npt.NDArray[np.intp]

AT_ONCE: Final = count_of("geometry.lines.rows.at_once")
NOTHING: Final = 1e-6
"""Length below which a chord is a touch, not a row [m]."""
STRAIGHT: Final = 1e-6
"""Change of slope that rounding may make of none."""
THIN: Final = 1e-5
"""Slabs thinner than this have no slope to speak of [m]."""
SHORT_BY: Final = 0.1 * TOLERANCE
"""How much a piece may fall short of the shortest length by rounding [m]."""


@dataclass(frozen=True, slots=True)
class RowRule:
    """What rows must keep: distance of any two pieces, and their lengths [m]."""

    spacing_m: float
    shortest_m: float
    longest_m: float = math.inf


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows in one direction: their heights in its frame, and their total length [m]."""

    direction_deg: float
    heights: tuple[float, ...]
    total_m: float


def best_rows(
    rings: Sequence[Points], rule: RowRule, directions_deg: Sequence[float]
) -> list[Rows]:
    """Rows of greatest total length in each of several directions, for closed rings, holes alike.

    Examples
    --------
    >>> lot = [np.array([[0.0, 0.0], [30.0, 0.0], [30.0, 9.0], [0.0, 9.0]])]
    >>> along, across = best_rows(lot, RowRule(spacing_m=3.0, shortest_m=5.0), (0.0, 90.0))
    >>> along.heights, round(along.total_m, 1), round(across.total_m, 1)
    ((0.0, 3.0, 6.0, 9.0), 120.0, 99.0)
    """
    # so many directions at a time that the arrays stay in the processor's cache
    size = max(1, AT_ONCE // sum(map(len, rings)))
    groups = [directions_deg[k : k + size] for k in range(0, len(directions_deg), size)]
    return [rows for group in groups for rows in _best_rows(rings, rule, group)]


def _best_rows(
    rings: Sequence[Points], rule: RowRule, directions_deg: Sequence[float]
) -> Iterator[Rows]:
    edges, bands = swept(rings, directions_deg)
    if len(edges.levels) < 2:
        yield from (Rows(direction, (), 0.0) for direction in directions_deg)
        return
    profile = _profile(edges, rule)
    # only these can be best (see above): a scan of heights would miss rows that just fit
    heights = _candidates(profile.peaks(), bands, rule.spacing_m)
    picked = _picked(heights, profile.at(heights), bands, rule.spacing_m)
    for direction, (rows, total) in zip(directions_deg, picked, strict=True):
        yield Rows(direction, rows, total)


def row_pieces(rings: Sequence[Points], rule: RowRule, rows: Rows) -> list[Points]:
    """Pieces of the rows as pairs of end points, row by row, each from left to right."""
    edges = sweep_edges(rings, rows.direction_deg)
    turn_back = frame_of(rows.direction_deg).T
    # A height found by adding spacings misses a break by its last bits: look on both sides.
    nudged = [np.array(rows.heights) + nudge for nudge in (0.0, -3 * SAME_LEVEL, 3 * SAME_LEVEL)]
    limits = [
        (heights, chords_at(edges, heights, above=above))
        for heights in nudged
        for above in (True, False)
    ]
    pieces = []
    for index in range(len(rows.heights)):
        choices = [(heights[index], _kept(chords, index, rule)) for heights, chords in limits]
        # at a step of the edge the row just above and the one just below differ: the longer one
        # was counted
        height, spans = max(choices, key=lambda choice: round(_total(choice[1]), 6))
        pieces += [np.array([[a, height], [b, height]]) @ turn_back for a, b in spans]
    return pieces


@dataclass(frozen=True, slots=True)
class _Profile:
    """Row length over height: linear from one break to the next.

    ``lower[k]`` and ``upper[k]`` are its limits at the two ends of the slab above ``breaks[k]``,
    ``exactly[k]`` is its value on the break itself, where a chord may be just long enough.
    """

    breaks: Values
    lower: Values
    upper: Values
    exactly: Values

    def peaks(self) -> Values:
        """Breaks where the sum of a chain of rows may be greatest: a jump, or a falling slope."""
        widths = np.diff(self.breaks)
        slope = (self.upper - self.lower) / widths
        # rounding may bend what is straight: that is kept, as are slabs too thin to have a slope
        wide = np.minimum(widths[1:], widths[:-1]) > THIN
        bends_up = wide & (slope[1:] > slope[:-1] + STRAIGHT)
        inner = self.exactly[1:-1]
        smooth = np.maximum(abs(inner - self.upper[:-1]), abs(inner - self.lower[1:])) < NOTHING
        peaks: Values = self.breaks[np.concatenate([[True], ~(bends_up & smooth), [True]])]
        return peaks

    def at(self, heights: Values) -> Values:
        """Row length at heights; at a break the greatest of its value and both limits."""
        last = len(self.lower) - 1
        nearest = np.searchsorted(self.breaks, heights - SAME_LEVEL).clip(0, last + 1)
        on_break = np.abs(self.breaks[nearest] - heights) <= SAME_LEVEL
        value: Values = np.where(on_break, self.exactly[nearest], 0.0)
        # the slab below a height, and where that is a break the slab above it
        for number, inside in ((nearest - 1, nearest > 0), (nearest, on_break & (nearest <= last))):
            slab = np.clip(number, 0, last)
            span = self.breaks[slab + 1] - self.breaks[slab]
            share = np.clip((heights - self.breaks[slab]) / span, 0.0, 1.0)
            here = self.lower[slab] + share * (self.upper[slab] - self.lower[slab])
            value = np.maximum(value, np.where(inside, here, 0.0))
        return value


def _profile(edges: SweepEdges, rule: RowRule) -> _Profile:
    meetings = [
        _meeting(edges.levels, lengths, limit)
        for lengths, limit in _lengths_that_matter(edges, rule)
    ]
    levels = _different(np.sort(np.concatenate(meetings)))
    # The vertices' own heights stay to the last bit: there chords begin and end.
    after = np.clip(np.searchsorted(edges.levels, levels), 1, len(edges.levels) - 1)
    off = np.minimum(abs(levels - edges.levels[after - 1]), abs(levels - edges.levels[after]))
    breaks = np.sort(np.concatenate([edges.levels, levels[off > SAME_LEVEL]]))
    return _slabs(edges, breaks, rule)


_Ends = tuple[npt.NDArray[np.intp], Values, Values]
"""Slab index, and a length at the slab's lower and upper end."""


def _lengths_that_matter(edges: SweepEdges, rule: RowRule) -> list[tuple[_Ends, float]]:
    """Chord lengths and gaps with the limits at which the worth of a row changes its slope."""
    low, high = slabs_of(edges, edges.levels)
    chords: _Ends = (low.line, low.length, high.length)
    same = np.diff(low.line) == 0
    gaps: _Ends = (
        low.line[1:][same],
        (low.start[1:] - low.end[:-1])[same],
        (high.start[1:] - high.end[:-1])[same],
    )
    matter = [(gaps, rule.spacing_m)]
    # a chord that grows past the shortest length becomes a row by a jump
    if rule.shortest_m > NOTHING:
        matter.append((chords, rule.shortest_m))
    if math.isfinite(rule.longest_m):
        most = float(max(low.length.max(initial=0.0), high.length.max(initial=0.0)))
        step = rule.longest_m + rule.spacing_m
        for count in range(1, int(most // step) + 2):
            # where a chord is cut, its total stops growing at full pieces until one more becomes
            # worth its gap
            full = count * step - rule.spacing_m
            least = (count + 1) * rule.shortest_m + count * rule.spacing_m
            matter += [(chords, full), (chords, full + rule.spacing_m), (chords, least)]
    return matter


def _meeting(levels: Values, ends: _Ends, limit: float) -> Values:
    """Heights at which a length that is linear in each slab meets a limit."""
    slab, low, high = ends
    meets = (low - limit) * (high - limit) < 0
    slab, low, high = slab[meets], low[meets], high[meets]
    share = (limit - low) / (high - low)
    meeting: Values = levels[slab] + share * (levels[slab + 1] - levels[slab])
    return meeting


def _slabs(edges: SweepEdges, breaks: Values, rule: RowRule) -> _Profile:
    """Worth of a row on each break, and at both ends of each slab as limits from inside.

    What changes by a jump (whether a chord is long enough, into how many pieces it is cut) is
    settled in the middle of the slab, or the jump at its end would be taken for a slope.
    """
    low, high = slabs_of(edges, breaks)
    # no chord changes its kind inside a slab, so its middle speaks for all of it
    middle = (low.length + high.length) / 2
    lower = _worth(low, low.line, middle, rule=rule, lines=len(breaks))[:-1]
    upper = _worth(high, low.line, middle, rule=rule, lines=len(breaks))[:-1]
    exactly = [
        _worth(chords, chords.line, chords.length, rule=rule, lines=len(breaks))
        for chords in (low, high)
    ]
    return _Profile(breaks, lower, upper, np.maximum(*exactly))


def _worth(
    chords: Chords,
    line: npt.NDArray[np.intp],
    deciding: Values,
    *,
    rule: RowRule,
    lines: int,
) -> Values:
    """Worth of each line: pieces of its chords, less what too narrow gaps between them cost.

    The deciding length says whether a chord is long enough and into how many pieces it is cut.
    """
    kept = deciding >= max(rule.shortest_m - SHORT_BY, NOTHING)
    line, start, end = line[kept], chords.start[kept], chords.end[kept]
    length = end - start
    slope, constant = _cut_worth(deciding[kept], rule)
    # an estimate that holds for two neighbours: either one is shortened, or the shorter is dropped
    lacking = np.maximum(0.0, rule.spacing_m - (start[1:] - end[:-1]))
    loss = np.minimum(lacking, np.minimum(length[1:], length[:-1]))
    together = np.diff(line) == 0
    worth: Values = np.zeros(lines)
    np.add.at(worth, line, slope * length + constant)
    np.subtract.at(worth, line[1:][together], loss[together])
    return worth


def _cut_worth(length: Values, rule: RowRule) -> tuple[Values, Values]:
    """Slope and constant of the total of the pieces into which a chord is cut."""
    if not math.isfinite(rule.longest_m):
        return np.ones_like(length), np.zeros_like(length)
    spacing, longest = rule.spacing_m, rule.longest_m
    full = np.floor((length + spacing) / (longest + spacing))
    one_more = (length - full * spacing) / (full + 1)
    better = (one_more >= rule.shortest_m) & (one_more * (full + 1) > full * longest)
    return better.astype(np.float64), np.where(better, -full * spacing, full * longest)


def _candidates(peaks: Values, bands: Bands, spacing_m: float) -> Values:
    """Heights at which a best row may stand, rising: peaks plus and minus whole spacings."""
    band = bands.of(peaks)
    low, high = bands.low[band], bands.high[band]
    count = int(float((bands.high - bands.low).max()) / spacing_m) + 1
    steps = np.arange(-count, count + 1) * spacing_m
    heights = peaks[:, None] + steps[None]
    inside = (heights >= low[:, None] - SAME_LEVEL) & (heights <= high[:, None] + SAME_LEVEL)
    return _different(np.sort(heights[inside]))


def _different(rising: Values) -> Values:
    """Rising values without those that are the one before within rounding."""
    keep: npt.NDArray[np.bool_] = np.diff(rising, prepend=-math.inf) > SAME_LEVEL
    return rising[keep]


def _picked(
    heights: Values, values: Values, bands: Bands, spacing_m: float
) -> Iterator[tuple[tuple[float, ...], float]]:
    """Heights of greatest total value in each band, each pair at least a spacing apart."""
    numbers = np.arange(len(bands.lift))
    ends = np.searchsorted(heights, bands.high + BETWEEN_BANDS / 2)
    starts = np.concatenate([[0], ends[:-1]])
    best, earlier = _best_totals(heights, values, (starts, ends), spacing_m)
    # a row that adds nothing but rounding would still be dug
    adds = np.concatenate([[False], np.diff(best) > NOTHING / 10])
    last = np.maximum.accumulate(np.where(adds, np.arange(len(best)), 0))
    for number in numbers:
        # of each band the first total is that of no row
        first, here = int(starts[number] + number), int(ends[number] + number)
        total, rows = float(best[here]), []
        while (here := int(last[here])) > first:
            row = here - number - 1
            rows.append(float(heights[row] - bands.lift[number]))
            here = int(earlier[row] + number)
        yield tuple(reversed(rows)), total


def _best_totals(
    heights: Values, values: Values, limits: tuple[Numbers, Numbers], spacing_m: float
) -> tuple[Values, Numbers]:
    """Greatest total of rows up to each height of each band, and how many heights lie below a row.

    Each band has one total more than heights, the first for no row; a row at a height may be added
    to rows among the heights below it.
    """
    starts, ends = limits
    band = np.repeat(np.arange(len(starts)), ends - starts)
    earlier = np.searchsorted(heights, heights - spacing_m + 10 * SAME_LEVEL, "right")
    earlier = np.maximum(earlier, starts[band])
    after = np.searchsorted(heights, heights + spacing_m - 20 * SAME_LEVEL, "left")
    after = np.clip(after, np.arange(len(heights)) + 1, ends[band])
    best = np.zeros(len(heights) + len(starts))
    first = starts.copy()
    # Heights within one spacing depend on those below it alone: so much of all bands at a time.
    while len(begun := np.flatnonzero(first < ends)):
        begin, end = first[begun], after[first[begun]]
        here = begin[:, None] + np.arange(int((end - begin).max()))
        taken = here < end[:, None]
        here = np.minimum(here, len(heights) - 1)
        with_row = values[here] + best[earlier[here] + begun[:, None]]
        with_row[~taken] = -math.inf
        total = np.maximum(np.maximum.accumulate(with_row, axis=1), best[begin + begun][:, None])
        best[(here + begun[:, None] + 1)[taken]] = total[taken]
        first[begun] = end
    return best, earlier


Span = tuple[float, float]


def _total(spans: Sequence[Span]) -> float:
    return sum(end - start for start, end in spans)


def _kept(chords: Chords, line: int, rule: RowRule) -> list[Span]:
    """Pieces of one row: chords long enough, apart by the spacing, cut to the longest length."""
    on_line = chords.line == line
    least = max(rule.shortest_m - SHORT_BY, NOTHING)
    spans: list[Span] = []
    for start, end in zip(chords.start[on_line], chords.end[on_line], strict=True):
        if end - start < least:
            continue
        spans.append((float(start), float(end)))
        if len(spans) > 1:
            spans[-2:] = _parted(spans[-2], spans[-1], least=least, spacing_m=rule.spacing_m)
    return [piece for span in spans for piece in _cut(span, rule)]


def _parted(first: Span, second: Span, *, least: float, spacing_m: float) -> list[Span]:
    """Two chords of a row made to stand apart: the longer gives way, or the shorter is dropped."""
    lacking = spacing_m - (second[0] - first[1])
    if lacking <= 0:
        return [first, second]
    # shortened or left out, whichever keeps most trench
    options = [
        [span for span in option if span[1] - span[0] >= least]
        for option in (
            [(first[0], first[1] - lacking), second],
            [first, (second[0] + lacking, second[1])],
            [first],
            [second],
        )
    ]
    # Equal totals: rather cut the longer one, so that no stub is left.
    return max(
        options,
        key=lambda spans: (
            round(_total(spans), 6),
            min(b - a for a, b in spans) if spans else 0.0,
        ),
    )


def _cut(span: Span, rule: RowRule) -> list[Span]:
    """Equal pieces of a chord, a spacing apart or a little more, none longer than allowed."""
    start, end = span
    length = end - start
    if length <= rule.longest_m + SAME_LEVEL:
        return [span]
    full = int((length + rule.spacing_m) / (rule.longest_m + rule.spacing_m) + 1e-12)
    one_more = (length - full * rule.spacing_m) / (full + 1)
    piece, count = rule.longest_m, full
    if one_more >= rule.shortest_m and one_more * (full + 1) > full * rule.longest_m:
        piece, count = one_more, full + 1
    gap = (length - count * piece) / max(count - 1, 1)
    firsts = [start + k * (piece + gap) for k in range(count)]
    return [(first, first + piece) for first in firsts]
