"""Loops divided into a number of circuits of equal length, all of their pipe counted.

Circuits are even where their whole lengths are within 5 %, which gives them equal flow. Pipe that
only runs along the header must not make up for too much that is missing in their loops, so these
are within 20 %, and of such divisions the one nearest to equal in both is taken.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import combinations, pairwise
from typing import Final

from siteplan.hydraulics.balance import STEP, divide
from siteplan.layout.header.tree import HeaderTree
from siteplan.preferences.table import count_of

EXACT: Final = count_of("layout.piping.evening.exact")
SWEEPS: Final = count_of("layout.piping.evening.sweeps")
MANY: Final = count_of("layout.piping.evening.many")
FEW_NODES: Final = count_of("layout.piping.evening.few_nodes")
MOST: Final = count_of("layout.piping.evening.most")
MANY_SWEEPS: Final = count_of("layout.piping.evening.many_sweeps")
BALANCED: Final = 0.05
"""Share by which a circuit may be shorter than the longest; common practice, no source."""
LOOPS_BALANCED: Final = 0.2
"""The same for the pipe in the loops of a circuit alone; common practice, no source."""
PERCENT: Final = 100
"""Circuits are made even to the percent; then the pipe between their loops counts."""

Group = tuple[int, ...]
"""Numbers of the loops of one circuit, in rising order."""
Rank = tuple[float, int, int, float]
"""By how much the longest is too long [m], percent by which circuits are apart beyond the allowed,
percent by which they are apart, all pipe [m]."""


@dataclass(frozen=True, slots=True)
class Loop:
    """Pipe that leaves the header end and comes back to it: what a circuit is made of.

    Parameters
    ----------
    elements
        Numbers of its elements.
    node
        Point of the header at which it begins and ends.
    pipe_m
        All of its pipe [m].
    passes
        How often it runs along an element.
    connecting_m
        Of its pipe, what lies in no element [m].
    """

    elements: tuple[int, ...]
    node: int
    pipe_m: float
    passes: int
    connecting_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Grouping:
    """Loops in circuits.

    Parameters
    ----------
    groups
        Numbers of the loops in each.
    lengths_m
        Of the whole circuits [m].
    apart
        By how much they are apart beyond what is allowed, as a share of the longest: whole
        circuits or the pipe in their loops, whichever is more [-].
    over
        Whether one is longer than it may be.
    proven
        Whether no other division into so many is more even, to the percent.
    """

    groups: tuple[Group, ...]
    lengths_m: tuple[float, ...]
    apart: float
    over: bool
    proven: bool

    @property
    def share(self) -> float:
        """Longest less shortest whole circuit, over the longest [-]."""
        return share_of(self.lengths_m)

    @property
    def balanced(self) -> bool:
        """Whether circuits are within the limit and as even as is usual."""
        return not self.over and self.apart <= 1e-9


def share_of(lengths_m: Sequence[float]) -> float:
    """Longest less shortest, over the longest [-]."""
    return (max(lengths_m) - min(lengths_m)) / max(lengths_m)


def beyond_of(whole_m: Sequence[float], loops_m: Sequence[float]) -> float:
    """Share by which circuits are apart beyond what is allowed; 0 where they are even [-]."""
    return max(0.0, share_of(whole_m) - BALANCED, share_of(loops_m) - LOOPS_BALANCED)


@dataclass(frozen=True)
class Bench:
    """Loops, the header on which they stand, and the longest circuit allowed [m].

    ``known`` is a division that is looked at beside others; empty where there is none.
    """

    loops: tuple[Loop, ...]
    tree: HeaderTree
    most_m: float
    known: tuple[Group, ...] = ()

    @cached_property
    def found(self) -> dict[int, Grouping | None]:
        """Divisions that were found, by their number of circuits."""
        return {}

    @cached_property
    def _known(self) -> dict[int, tuple[float, float]]:
        return {}

    @cached_property
    def _squares(self) -> dict[int, float]:
        return {}

    @cached_property
    def _alone(self) -> dict[int, list[int]]:
        return {}

    @cached_property
    def first_alike(self) -> tuple[int, ...]:
        """For each loop the first one that is like it: of loops of one trench all are."""
        first: dict[Loop, int] = {}
        return tuple(first.setdefault(loop, number) for number, loop in enumerate(self.loops))

    def lengths(self, group: Group) -> tuple[float, float]:
        """All pipe of a circuit, and that of its loops alone [m]."""
        return self.lengths_of(_bits(group))

    def lengths_of(self, bits: int) -> tuple[float, float]:
        """All pipe of a circuit whose loops are given as bits, and that of its loops alone [m].

        Between its loops it runs out and back along the header.
        """
        known = self._known.get(bits)
        if known is None:
            loops = [self.loops[number] for number in _group(bits)]
            nodes = sorted({loop.node for loop in loops})
            between = 2 * self.tree.span(nodes) if len(nodes) > 1 else 0.0
            alone = sum(loop.pipe_m for loop in loops)
            known = self._known[bits] = (alone + between, alone)
        return known

    def squares_of(self, bits: int) -> float:
        """Squares of both lengths of such a circuit, added up [m2]."""
        known = self._squares.get(bits)
        if known is None:
            whole, alone = self.lengths_of(bits)
            known = self._squares[bits] = whole * whole + alone * alone
        return known

    def different(self, bits: int) -> list[int]:
        """No loop, and each of a circuit alone; of loops of one trench, which are alike, one."""
        known = self._alone.get(bits)
        if known is None:
            one_of: dict[int, int] = {}
            for number in _group(bits):
                one_of.setdefault(self.first_alike[number], 1 << number)
            known = self._alone[bits] = [0, *one_of.values()]
        return known

    def rank(self, whole: Sequence[float], alone: Sequence[float]) -> Rank:
        """What comes first: within the limit, whole circuits balanced, all even, least pipe."""
        # too long first: a circuit beyond the pipe's limit cannot be pumped, an uneven one can be
        # throttled
        over = max(0.0, max(whole) - self.most_m - STEP)
        # to the percent: finer differences are not worth pipe between loops that lie apart
        whole_percent, alone_percent = (
            math.ceil(PERCENT * share_of(lengths) - 1e-6) for lengths in (whole, alone)
        )
        beyond = math.ceil(PERCENT * beyond_of(whole, alone) - 1e-6)
        return round(over, 2), beyond, max(whole_percent, alone_percent), round(sum(whole), 4)

    def rank_of(self, groups: Sequence[Group]) -> Rank:
        """Rank of a division."""
        whole, alone = zip(*(self.lengths(group) for group in groups), strict=True)
        return self.rank(whole, alone)

    def grouping(self, groups: Sequence[Group], *, proven: bool) -> Grouping:
        """Groups with their lengths and how far these are apart."""
        whole, alone = zip(*(self.lengths(group) for group in groups), strict=True)
        apart = beyond_of(whole, alone)
        return Grouping(tuple(groups), whole, apart, max(whole) > self.most_m + STEP, proven)


# circuits are asked for again as the flow changes; only the last are kept, with a pit and without:
# a bench knows very many circuits
@lru_cache(maxsize=2)
def bench_of(
    loops: tuple[Loop, ...], tree: HeaderTree, most_m: float, known: tuple[Group, ...] = ()
) -> Bench:
    """The bench for such loops; the one before, with all it knows, where it is the same."""
    return Bench(loops, tree, most_m, known)


def grouped(bench: Bench, count: int) -> Grouping | None:
    """The most even division into so many circuits that was found, None where there is none.

    Of few loops every division is looked at. Of more, the division solved for the loops alone,
    and loops in their order, are bettered by exchanges, and the better one is taken.
    """
    if count not in bench.found:
        bench.found[count] = _grouped(bench, count)
    return bench.found[count]


def _grouped(bench: Bench, count: int) -> Grouping | None:
    number = len(bench.loops)
    if not 1 <= count <= number:
        return None
    # so few can all be looked at in no time, and the answer is proven
    if number <= EXACT:
        best = min(_divisions(number, count), key=bench.rank_of)
    else:
        tried = [_bettered(start, bench) for start in _starts(bench, count)]
        # a layout that was cut to even circuits must not be divided anew into less even ones
        if len(bench.known) == count:
            tried.append(list(bench.known))
        best = min(tried, key=bench.rank_of)
    over, _, percent, _ = bench.rank_of(best)
    within = over == 0.0 and (number <= EXACT or percent == 0)
    return bench.grouping(best, proven=within or count in (1, number))


def _divisions(number: int, count: int) -> Iterator[list[Group]]:
    """Every division of so many loops into so many groups."""

    def place(loop: int, groups: list[Group]) -> Iterator[list[Group]]:
        if count - len(groups) > number - loop:
            return
        if loop == number:
            yield list(groups)
            return
        for at in range(len(groups)):
            yield from place(loop + 1, [*groups[:at], (*groups[at], loop), *groups[at + 1 :]])
        if len(groups) < count:
            yield from place(loop + 1, [*groups, (loop,)])

    return place(0, [])


def _starts(bench: Bench, count: int) -> Iterator[list[Group]]:
    """Loops in their order, as many in each circuit; and the division solved for them alone."""
    number = len(bench.loops)
    # loops in their order lie side by side: least pipe between them, a good start for long headers
    cuts = [round(number * part / count) for part in range(count + 1)]
    yield [tuple(range(low, high)) for low, high in pairwise(cuts)]
    nodes = {} if number <= MANY else {"nodes": FEW_NODES}
    # even in themselves, wherever they lie: a good start where loops differ much
    division = divide([loop.pipe_m for loop in bench.loops], count, bench.most_m, **nodes)
    if division is not None:
        yield list(division.groups)


def _bettered(groups: list[Group], bench: Bench) -> list[Group]:
    """Division after moves and exchanges of loops between two circuits each.

    First the squares of all lengths are made least, which brings long and short circuits nearer
    to one another wherever they are; then what counts, the longest and the shortest.
    """
    # the rank looks at the longest and the shortest alone: from a rough division most trades would
    # not change it, and the search would stand still
    groups = _traded(groups, _levelled, bench)
    return _traded(groups, _ranked, bench, only=_extreme)


def brought_near(bench: Bench, count: int) -> list[Group]:
    """Division into so many circuits of which the shortest is as long as was found.

    Where trenches can be cut, long circuits do no harm: only the shortest one does.
    """
    tried = [_traded(start, _levelled, bench) for start in _starts(bench, count)]
    return max(tried, key=lambda groups: round(min(bench.lengths(group)[0] for group in groups), 3))


# Millions of circuits are looked at while loops change places: there a circuit is a whole number
# with one bit for each of its loops.
_Trade = Callable[[Sequence[int], int, int, Bench], tuple[int, int]]


def _bits(group: Group) -> int:
    return sum(1 << number for number in group)


def _group(bits: int) -> Group:
    # from bit to bit: a circuit has few loops of many
    numbers = []
    while bits:
        lowest = bits & -bits
        numbers.append(lowest.bit_length() - 1)
        bits ^= lowest
    return tuple(numbers)


def _extreme(groups: Sequence[int], bench: Bench) -> set[int]:
    """Circuits that are longest or shortest, in all of their pipe or in their loops alone."""
    lengths = {group: bench.lengths_of(group) for group in groups}
    return {
        pick(groups, key=lambda group: lengths[group][k]) for pick in (min, max) for k in (0, 1)
    }


def _traded(
    start: Sequence[Group],
    trade: _Trade,
    bench: Bench,
    only: Callable[[Sequence[int], Bench], set[int]] | None = None,
) -> list[Group]:
    """Division after sweeps of trades; two circuits that had nothing to trade are left.

    ``only`` names circuits of which each trade has one: no other trade would change what counts.
    """
    groups, done = list(map(_bits, start)), set[tuple[int, int]]()
    decisive = None if only is None else only(groups, bench)
    for _ in range(SWEEPS if len(bench.loops) < MOST else MANY_SWEEPS):
        before = list(groups)
        for giver, other in combinations(range(len(groups)), 2):
            pair = groups[giver], groups[other]
            if decisive is not None and decisive.isdisjoint(pair):
                continue
            # the same two circuits have nothing new to trade: later sweeps are short
            if pair not in done:
                groups[giver], groups[other] = traded = trade(groups, giver, other, bench)
                done.add(traded)
                if only is not None and traded != pair:
                    decisive = only(groups, bench)
        if groups == before:
            break
    return list(map(_group, groups))


def _levelled(groups: Sequence[int], giver: int, other: int, bench: Bench) -> tuple[int, int]:
    """Two circuits with the least squares of their lengths."""
    squares_of = bench.squares_of

    def squares(pair: tuple[int, int]) -> float:
        return round(squares_of(pair[0]) + squares_of(pair[1]), 3)

    return min(_trades(groups[giver], groups[other], bench), key=squares)


def _ranked(groups: Sequence[int], giver: int, other: int, bench: Bench) -> tuple[int, int]:
    """Two circuits with which the whole division ranks first."""
    whole, alone = (list(column) for column in zip(*map(bench.lengths_of, groups), strict=True))

    def rank(pair: tuple[int, int]) -> Rank:
        whole[giver], alone[giver] = bench.lengths_of(pair[0])
        whole[other], alone[other] = bench.lengths_of(pair[1])
        return bench.rank(whole, alone)

    return min(_trades(groups[giver], groups[other], bench), key=rank)


def _trades(group: int, other: int, bench: Bench) -> list[tuple[int, int]]:
    """Both circuits as they are, after a loop has gone over, or two have changed places."""
    gives, takes = bench.different(group), bench.different(other)
    traded = [(group & ~give | take, other & ~take | give) for give in gives for take in takes]
    # a circuit without a loop would be one circuit fewer than asked for
    return [pair for pair in traded if pair[0] and pair[1]]
