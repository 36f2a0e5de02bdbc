"""Circuits: which elements one pipe runs through, solved for equal lengths."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Final

from siteplan.findings.model import Reason, reason
from siteplan.hydraulics.balance import STEP
from siteplan.hydraulics.friction import TURBULENT
from siteplan.hydraulics.pipes import circuit_sizes, pipes
from siteplan.layout.elements import Coil, Element, Trench
from siteplan.layout.header.crossovers import leads_round, single_pipes
from siteplan.layout.header.tree import HeaderTree
from siteplan.layout.model import Layout
from siteplan.layout.outfall import called
from siteplan.layout.piping.evening import (
    LOOPS_BALANCED,
    Bench,
    Grouping,
    Loop,
    bench_of,
    grouped,
)
from siteplan.layout.piping.sizing import LARGEST_LOSS
from siteplan.layout.piping_model import Balance, Circuit, Crossover
from siteplan.preferences.table import count_of, figure_of
from siteplan.site.piping import CircuitOptions
from siteplan.units.lengths import FOOT
from siteplan.vocabulary.loop_types import made_of

SENSIBLE_HEAD_M: Final = 25 * FOOT
"""Head in a circuit that a small circulating pump has to spare; common practice, no source [m]."""
NEARLY: Final = figure_of("layout.piping.circuits.nearly")
MANY: Final = count_of("layout.piping.circuits.many")
NUMBERS: Final = count_of("layout.piping.circuits.numbers")
FURTHER: Final = figure_of("layout.piping.circuits.further")

FlowOf = Callable[[str, int, float], tuple[float, float]]
"""Reynolds number and head [m] for a size, a number of circuits and the length of one [m]."""
CircuitFlow = Callable[[int, float], tuple[float, float]]
"""The same for a size that is known."""


@dataclass(frozen=True, slots=True)
class Circuits:
    """All circuits, the point of the header at which each begins, and how they are balanced.

    ``along`` has for each circuit the number of its own pipes that lie between each point of the
    header and the next one towards the entry.
    """

    circuits: tuple[Circuit, ...]
    nodes: tuple[int, ...]
    balance: Balance
    along: tuple[tuple[int, ...], ...]


def make_circuits(
    layout: Layout,
    tree: HeaderTree,
    options: CircuitOptions,
    *,
    bore_pipe: str = "",
    flow: FlowOf | None = None,
) -> Circuits | None:
    """Circuits through all elements, None where there is nothing to join to circuits.

    Each loop (a U-bend, a coil, two pipes of a trench) belongs to one circuit. Loops of trenches
    are joined to the fewest circuits that keep the limit of the pipe and differ by no more than
    5 % in length, or to so many more that the flow is turbulent at a sensible head; where no
    number is even enough, to those that differ least. Bores make one circuit each, or
    ``options.bores`` in series, coils one each. A number of circuits asked for is kept.

    Parameters
    ----------
    layout
        Elements in staking order, and crossovers of trenches; circuits that it has already are a
        division looked at beside others.
    tree
        The header that joins them.
    options
        What the site file says of circuits.
    bore_pipe
        Size of the U-bends where it is known otherwise.
    flow
        Gives Reynolds number and head of a circuit; None where the flow is not known.
    """
    elements = layout.elements
    loops, left_over = loops_of(layout, tree)
    if not loops:
        return None
    size = _size(loops, elements[0].kind, options, bore_pipe)
    if layout.of(Coil) and layout.of(Coil)[0].plate_m and not options.pipe and flow is not None:
        size = _carrying(size, len(loops), flow)
    limit = options.longest_m or pipes()[size].circuit_m
    # a loop over the limit cannot be cut: with the limit itself no division would be found
    most = max(limit, *(loop.pipe_m for loop in loops))
    bench = bench_of(tuple(loops), tree, most, _division_of(layout, loops))
    chosen = _chosen(
        bench,
        elements[0].kind,
        options,
        None if flow is None else partial(flow, size),
        thing=called(elements[0]),
    )
    balance = Balance(
        share=chosen.grouping.share,
        proven=chosen.grouping.proven,
        limit_m=limit,
        left_over=tuple(elements[k].id for k in left_over),
        why=chosen.why,
        lacking=chosen.lacking,
    )
    return _numbered(bench, chosen.grouping, balance, (size, elements))


def _numbered(
    bench: Bench, grouping: Grouping, balance: Balance, of: tuple[str, Sequence[Element]]
) -> Circuits:
    """Circuits of a size through elements, numbered as their first loops are staked."""
    (size, elements), loops, tree = of, bench.loops, bench.tree
    # whatever the order they were found in
    made = sorted(
        zip(grouping.groups, grouping.lengths_m, strict=True),
        key=lambda pair: min(loops[pair[0][0]].elements),
    )
    groups = [[loops[number] for number in group] for group, _ in made]
    circuits = tuple(
        _circuit(f"CIR-{number}", group, length, size=size, elements=elements)
        for number, (group, (_, length)) in enumerate(zip(groups, made, strict=True), start=1)
    )
    nodes = tuple(tree.meeting([loop.node for loop in group]) for group in groups)
    return Circuits(circuits, nodes, balance, tuple(_along(group, tree) for group in groups))


def _along(group: Sequence[Loop], tree: HeaderTree) -> tuple[int, ...]:
    """Pipes of a circuit along the header, by the point from which they lead to the entry.

    Out and back between its loops; once between two trenches that are joined at their far ends.
    """
    count = [0] * len(tree.points)
    for node in tree.between([loop.node for loop in group]):
        count[node] += 2
    for loop in group:
        for node in tree.between([tree.stops[number] for number in loop.elements]):
            count[node] += 1
    return tuple(count)


def _division_of(layout: Layout, loops: Sequence[Loop]) -> tuple[tuple[int, ...], ...]:
    """Numbers of the loops in each circuit that a layout has; empty where it has none."""
    waiting: dict[str, list[int]] = {}
    for number, loop in enumerate(loops):
        waiting.setdefault(layout.elements[loop.elements[0]].id, []).append(number)
    division = [
        [waiting[name].pop() for name in circuit.elements if waiting.get(name)]
        for circuit in layout.circuits
    ]
    whole = sum(map(len, division)) == len(loops) and all(division)
    return tuple(tuple(sorted(group)) for group in division) if whole else ()


def _size(loops: Sequence[Loop], kind: str, options: CircuitOptions, bore_pipe: str = "") -> str:
    """Pipe of the circuits: the one asked for, else the usual one or larger."""
    size = options.pipe or (bore_pipe if kind == "bore" else "")
    return size or _size_for(max(loop.pipe_m for loop in loops), made_of(kind).usual_pipe)


def _carrying(usual: str, count: int, flow: FlowOf) -> str:
    """The usual size, or the next one that carries the flow of a whole frame of plates."""
    sizes = circuit_sizes()
    for size in sizes[sizes.index(usual) :]:
        if flow(size, count, 1.0)[1] <= LARGEST_LOSS:
            return size
    return sizes[-1]


def _size_for(loop_m: float, usual: str) -> str:
    """The usual size, or the next one in which a circuit may be so long."""
    sizes = circuit_sizes()
    for size in sizes[sizes.index(usual) :]:
        if pipes()[size].circuit_m >= loop_m:
            return size
    return usual


def _circuit(
    name: str, group: Sequence[Loop], length: float, *, size: str, elements: Sequence[Element]
) -> Circuit:
    through = tuple(elements[number].id for loop in group for number in loop.elements)
    in_elements = sum(loop.pipe_m - loop.connecting_m for loop in group)
    passes = sum(loop.passes for loop in group)
    return Circuit(name, through, size, length, passes, max(0.0, length - in_elements))


def loops_of(layout: Layout, tree: HeaderTree) -> tuple[list[Loop], list[int]]:
    """Loops of all elements in their order, and numbers of those with a pipe left over."""
    loops: list[Loop] = []
    for number, element in enumerate(layout.elements):
        lead, node = 2 * tree.leads_m[number], tree.stops[number]
        match element:
            case Trench():
                each = element.pipe_m / max(element.pipes, 1)
                runs = 1 if leads_round(element) else 2
                loop = Loop((number,), node, runs * each + lead, runs, lead)
                loops += [loop] * (element.pipes // runs)
            case _ if element.pipe_m > 0.0:
                loops.append(Loop((number,), node, element.pipe_m + lead, 2, lead))
    joined = {name for crossover in layout.crossovers for name in crossover.trenches}
    left_over = [k for k in single_pipes(layout.elements) if layout.elements[k].id not in joined]
    return [
        *loops,
        *(_joined(crossover, layout, tree) for crossover in layout.crossovers),
    ], left_over


def _joined(crossover: Crossover, layout: Layout, tree: HeaderTree) -> Loop:
    """Loop out through one trench, through the crossover, and back through the other."""
    place = {element.id: number for number, element in enumerate(layout.elements)}
    numbers = tuple(place[name] for name in crossover.trenches)
    nodes = [tree.stops[number] for number in numbers]
    connecting_m = (
        crossover.length_m + tree.span(nodes) + sum(tree.leads_m[number] for number in numbers)
    )
    pipe = connecting_m
    for element in (trench for trench in layout.of(Trench) if trench.id in crossover.trenches):
        pipe += element.pipe_m / max(element.pipes, 1)
    return Loop(numbers, tree.meeting(nodes), pipe, 2, connecting_m)


@dataclass(frozen=True, slots=True)
class _Chosen:
    """A division, why it has so many circuits, and why not so many as asked for."""

    grouping: Grouping
    why: Reason
    lacking: Reason | None = None


def _chosen(
    bench: Bench, kind: str, options: CircuitOptions, flow: CircuitFlow | None, *, thing: str
) -> _Chosen:
    """Division into the number of circuits asked for, else into one that suits."""
    number, count, lacking = len(bench.loops), options.count, None
    if count is not None:
        grouping = grouped(bench, count) if kind == "trench" else _in_series(bench, number, count)
        if grouping is not None:
            return _Chosen(grouping, reason("as-the-site-file-says"))
        lacking = _lacking(number, count, kind, thing)
    if kind == "trench":
        return replace(_suitable(bench, flow), lacking=lacking)
    step = options.bores if kind == "bore" else 1
    groups = tuple(
        tuple(range(place, min(place + step, number))) for place in range(0, number, step)
    )
    why = reason("one-for-each", thing=thing) if step == 1 else reason("one-for-every", step=step)
    return _Chosen(bench.grouping(groups, proven=step == 1), why, lacking)


def _in_series(bench: Bench, number: int, count: int) -> Grouping | None:
    """As many bores or coils in each circuit, in staking order; None where that leaves some."""
    if number % count:
        return None
    step = number // count
    groups = [tuple(range(place, place + step)) for place in range(0, number, step)]
    return bench.grouping(groups, proven=False)


def _lacking(number: int, count: int, kind: str, thing: str) -> Reason:
    if kind == "trench" or count > number:
        return reason("loops-take-a-circuit-each", loops=number)
    return reason("not-divisible", number=number, kind=thing, count=count)


def _suitable(bench: Bench, flow: CircuitFlow | None) -> _Chosen:
    """Fewest circuits, or so many more that the head is sensible and the flow turbulent.

    The more circuits, the slower the flow in each: where it is no longer turbulent, no greater
    number is looked at.
    """
    total = sum(loop.pipe_m for loop in bench.loops)
    loops = [loop.pipe_m for loop in bench.loops]
    fewest: Grouping | None = None
    uneven: list[tuple[tuple[bool, float, int], Grouping]] = []
    # the fewest that the limit of the pipe lets, one by one up: each more is another pair of
    # joints
    fewest_let = max(1, math.ceil(total / bench.most_m - STEP))
    # a number that cannot come out even is looked at last, and only where it may be the best
    counts = _numbers(fewest_let, len(loops))
    for count in sorted(counts, key=lambda each: (_apart_at_least(loops, each) > 0.0, each)):
        # far more circuits than are needed help nobody where so few keep the limit of the pipe
        if count >= fewest_let + NUMBERS and len(loops) > MANY and _kept(fewest, uneven):
            continue
        at_least = _apart_at_least(loops, count)
        if at_least > 0.0 and (fewest is not None or _hopeless(uneven, at_least)):
            continue
        grouping = grouped(bench, count)
        if grouping is None:
            continue
        # kept: where no number comes out even, the best of these is taken
        if not grouping.balanced:
            uneven.append(((grouping.over, round(grouping.apart, 6), count), grouping))
            continue
        if flow is None:
            return _Chosen(grouping, reason("fewest"))
        reynolds, head_m = flow(count, max(grouping.lengths_m))
        if reynolds >= TURBULENT and head_m <= SENSIBLE_HEAD_M:
            return _Chosen(grouping, _why(fewest))
        fewest = fewest or grouping
        # more circuits only slow the flow down
        if reynolds < TURBULENT:
            break
    if fewest is not None:
        return _Chosen(fewest, reason("fewest"))
    return _Chosen(_nearly_even(uneven), reason("no-number-even"))


def _numbers(fewest: int, loops: int) -> list[int]:
    """Numbers of circuits to be looked at: of many loops not all, as each takes long."""
    numbers = list(range(fewest, loops + 1))
    if loops <= MANY:
        return numbers
    kept, number = numbers[:NUMBERS], float(fewest + NUMBERS)
    while number <= loops:
        kept.append(math.floor(number))
        number *= FURTHER
    return [*kept, loops] if kept[-1] < loops else kept


def _kept(
    fewest: Grouping | None, uneven: Sequence[tuple[tuple[bool, float, int], Grouping]]
) -> bool:
    """Whether a division was found in which no circuit is longer than it may be."""
    return fewest is not None or any(not over for (over, _, _), _ in uneven)


def _hopeless(uneven: Sequence[tuple[tuple[bool, float, int], Grouping]], at_least: float) -> bool:
    """Whether circuits so far apart come out no nearer to even than what was found."""
    return any(not over and apart + NEARLY < at_least for (over, apart, _), _ in uneven)


def _apart_at_least(loops_m: Sequence[float], count: int) -> float:
    """By how much the pipe in loops is apart beyond what is allowed, however it is divided [-].

    Some circuit has no fewer loops than an equal share, rounded up, and some no more than it
    rounded down; one has the longest loop, and neither the mean nor more is below all.

    Examples
    --------
    Seven equal loops in three circuits: one has two, one has three, a third apart; a fifth may be.

    >>> round(_apart_at_least([100.0] * 7, 3), 4), _apart_at_least([100.0] * 6, 3)
    (0.1333, 0.0)
    """
    lengths, number = sorted(loops_m), len(loops_m)
    mean = sum(lengths) / count
    most = max(sum(lengths[: math.ceil(number / count)]), lengths[-1], mean)
    least = min(sum(lengths[number - number // count :]), mean)
    return max(0.0, 1.0 - least / most - LOOPS_BALANCED)


def _why(fewest: Grouping | None) -> Reason:
    """Why the first number that flows well is taken: it is the least, or a lesser one does not."""
    return reason("fewest") if fewest is None else reason("easier", head_m=SENSIBLE_HEAD_M)


def _nearly_even(uneven: Sequence[tuple[tuple[bool, float, int], Grouping]]) -> Grouping:
    """Fewest circuits among those hardly less even than the most even ones."""
    over, apart, _ = min(rank for rank, _ in uneven)
    # a valve is needed in any case: then rather fewer circuits than a little less unevenness
    near = [ranked for ranked in uneven if ranked[0][0] == over and ranked[0][1] <= apart + NEARLY]
    return min(near, key=lambda ranked: ranked[0][2])[1]
