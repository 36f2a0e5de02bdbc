"""Pipes of a layout: circuits, header pipes by size, and the flow they carry."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Final

import shapely

from siteplan.findings.model import Reason, reason
from siteplan.heat_balance import design_balance, design_balances, state_near
from siteplan.hydraulics.fluids import FluidState, fluid_state
from siteplan.hydraulics.friction import head, pressure_drop, purge_flow, reynolds_number
from siteplan.hydraulics.pipes import Pipe, circuit_sizes, pipes
from siteplan.layout.header.crossovers import join_far_ends
from siteplan.layout.header.tree import HeaderTree, header_tree
from siteplan.layout.model import Ground, Layout
from siteplan.layout.piping.circuits import Circuits, FlowOf, make_circuits
from siteplan.layout.piping.header_pipes import HeaderFlow, Run, Size
from siteplan.layout.piping_model import (
    Fittings,
    HeaderPiece,
    HeaderPipe,
    Hydraulics,
    OwnPipes,
    Piping,
)
from siteplan.site.model import Exchanger
from siteplan.site.piping import HeaderLayout, HeaderOptions
from siteplan.units.lengths import FOOT

LARGEST_LOSS: Final = 0.04
"""Head lost over length up to which a header pipe is taken: 4 ft per 100 ft, common practice,
no source."""
HOME_RUNS: Final = 4
"""Up to so many circuits are led home by a pair of pipes each; common practice, no source."""
HOME_RUN_M: Final = 100 * FOOT
"""Up to this distance from the entry; common practice, no source [m]."""
OPEN_GROUND_M: Final = 50.0
"""Ground around a field where none is given [m]."""
WELL_WATER_C: Final = 10.0
"""Temperature for which the pipes of an open loop are sized [C]."""


def with_pipes(
    layout: Layout,
    exchanger: Exchanger,
    water_m3s: float = 0.0,
    *,
    ground: Ground | None = None,
) -> Layout:
    """The layout with its circuits, crossovers and header pipes, unchanged where it has no header.

    Parameters
    ----------
    layout
        Elements and header.
    exchanger
        What is wanted of circuits, header, fluid and flow.
    water_m3s
        Flow of an open loop [m3/s].
    ground
        Where crossovers of trenches may run; None: anywhere.
    """
    if layout.header is None or not layout.elements:
        return layout
    tree = header_tree(layout.header, layout.elements)
    options = exchanger.piping
    if layout.loop.flow:
        return replace(layout, piping=_well_pipes(tree, options.header, water_m3s))
    # before the circuits: a single pipe makes no loop until it has its way home
    layout = replace(layout, crossovers=join_far_ends(layout, tree, ground or _anywhere(layout)))
    made = make_circuits(
        layout,
        tree,
        options.circuits,
        bore_pipe=_bore_pipe(exchanger),
        flow=_flow_of(exchanger),
    )
    if made is None:
        return layout
    piping = _closed(tree, made, exchanger)
    # only where nothing else stands in the way: lack of room is what the reader needs to hear
    # first
    if made.balance.lacking and not layout.obstacle:
        count, because = options.circuits.count, made.balance.lacking
        asked = reason("circuits-not-as-asked", count=count, because=because)
        layout = replace(layout, obstacle=asked)
    return replace(layout, circuits=made.circuits, piping=piping)


def _anywhere(layout: Layout) -> Ground:
    """Ground without an obstacle around a layout."""
    assert layout.header is not None
    shapes = [*layout.header.runs, *(element.footprint for element in layout.elements)]
    around = shapely.union_all(shapes).envelope.buffer(OPEN_GROUND_M, join_style="mitre")
    return Ground(around, around, (layout.header.entry,))


def _flow_of(exchanger: Exchanger) -> FlowOf | None:
    """Reynolds number and head of a circuit, None where flow or fluid is not known."""
    sizing, _ = _sizing(exchanger, 1, "")
    if sizing is None:
        return None

    def of(size: str, count: int, length_m: float) -> tuple[float, float]:
        each = sizing.each_m3s / count
        drop = pressure_drop(pipes()[size], each, length_m, sizing.state)
        return reynolds_number(pipes()[size], each, sizing.state), head(drop, sizing.state)

    return of


def _bore_pipe(exchanger: Exchanger) -> str:
    """Size of the U-bends for which the bores were sized; empty where they were not."""
    if exchanger.energy is None:
        return ""
    across = exchanger.energy.loop.pipe_diameter_m
    return next((s for s in circuit_sizes() if abs(pipes()[s].outer_m - across) < 1e-4), "")


def header_layout(
    options: HeaderOptions, tree: HeaderTree, nodes: Sequence[int]
) -> tuple[HeaderLayout, Reason]:
    """How supply and return are led, and why; the choice is common practice, no source.

    A pair of pipes for each of few circuits near the entry; else a reverse return, which gives
    every circuit a path of the same length.
    """
    if options.layout is not None:
        return options.layout, reason("as-the-site-file-says")
    # few and near: pairs led home need no joint below ground, for little more pipe
    if len(nodes) <= HOME_RUNS and max(tree.reaches_m[node] for node in nodes) <= HOME_RUN_M:
        return "home run", reason("few-circuits-near")
    # one beginning means paths alike already: a third pipe would even out nothing
    if len(set(nodes)) == 1:
        return "direct return", reason("circuits-begin-together")
    return "reverse return", reason("more-circuits-or-far")


@dataclass(frozen=True)
class _Sizing:
    """Sizes of header pipe for a flow counted in circuits."""

    each_m3s: float
    state: FluidState
    least: str

    def size(self, circuits: int) -> str:
        """Smallest size that loses no more than the largest loss."""
        sizes = list(pipes())
        for size in sizes[sizes.index(self.least) :]:
            if self.loss(size, circuits) <= LARGEST_LOSS:
                return size
        return sizes[-1]

    def loss(self, size: str, circuits: int) -> float:
        """Head lost over length [-]."""
        return head(self.drop(size, circuits, 1.0), self.state)

    def drop(self, size: str, circuits: int, length_m: float) -> float:
        """Pressure lost [Pa]."""
        return pressure_drop(pipes()[size], self.each_m3s * circuits, length_m, self.state)


def _closed(tree: HeaderTree, made: Circuits, exchanger: Exchanger) -> Piping:
    options = exchanger.piping
    layout, why = header_layout(options.header, tree, made.nodes)
    flow = HeaderFlow(tree, made.nodes, layout)
    circuit_size = made.circuits[0].pipe
    sizing, unknown = _sizing(exchanger, len(made.circuits), circuit_size)
    size = _size_of(layout, circuit_size, sizing)
    each = sizing.each_m3s if sizing is not None else 0.0
    return Piping(
        layout=layout,
        why=why,
        pieces=_with_own(_with_flow(flow.pieces(size), each), made),
        width_m=options.header.width_m,
        depth_m=options.header.depth_m,
        fittings=flow.fittings(size, circuit_size),
        balance=made.balance,
        hydraulics=_hydraulics(flow, made, sizing, size=size, exchanger=exchanger),
        unknown=unknown,
        oversize=sizing is not None and _too_much(flow, sizing, size),
    )


def _size_of(layout: HeaderLayout, circuit_size: str, sizing: _Sizing | None) -> Size:
    """Size of a header pipe by its flow, in circuits; none where the flow is not known."""
    if layout == "home run":
        return cache(lambda _: circuit_size)
    return cache(sizing.size) if sizing is not None else cache(lambda _: "")


def _with_flow(pieces: Sequence[HeaderPiece], each_m3s: float) -> tuple[HeaderPiece, ...]:
    """Pieces with flows in m3/s instead of circuits."""
    return tuple(
        replace(
            piece,
            pipes=tuple(replace(pipe, flow_m3s=pipe.flow_m3s * each_m3s) for pipe in piece.pipes),
        )
        for piece in pieces
    )


def _with_own(pieces: Sequence[HeaderPiece], made: Circuits) -> tuple[HeaderPiece, ...]:
    """Pieces, one for each point but the entry, with the pipes of circuits that lie in them."""
    return tuple(
        replace(
            piece,
            own=tuple(
                OwnPipes(circuit.id, circuit.pipe, counts[node])
                for circuit, counts in zip(made.circuits, made.along, strict=True)
                if counts[node]
            ),
        )
        for node, piece in enumerate(pieces, start=1)
    )


def _too_much(flow: HeaderFlow, sizing: _Sizing, size: Size) -> bool:
    if flow.layout == "home run":
        return False
    return any(sizing.loss(size(run.circuits), run.circuits) > LARGEST_LOSS for run in flow.runs)


def _sizing(
    exchanger: Exchanger, circuits: int, circuit_size: str
) -> tuple[_Sizing | None, Reason | None]:
    """Sizing of header pipes, or why there can be none."""
    balance, fluid = design_balance(exchanger), exchanger.piping.fluid
    if balance is None or balance.flow is None or fluid is None:
        return None, reason("no-flow-known")
    state = state_near(fluid.mixture, balance.mean_c)
    return _Sizing(balance.flow.flow_m3s / circuits, state, circuit_size), None


def _hydraulics(
    flow: HeaderFlow,
    made: Circuits,
    sizing: _Sizing | None,
    *,
    size: Size,
    exchanger: Exchanger,
) -> Hydraulics | None:
    fluid, balance = exchanger.piping.fluid, design_balance(exchanger)
    if sizing is None or fluid is None or balance is None or balance.flow is None:
        return None
    pipe = pipes()[made.circuits[0].pipe]
    gradient = cache(lambda run_size, count: sizing.drop(run_size, count, 1.0))

    def header_drop(node: int) -> float:
        return sum(
            gradient(size(run.circuits), run.circuits) * flow.tree.lengths_m[run.node]
            for run in flow.path(node)
        )

    drops = [
        (pressure_drop(pipe, sizing.each_m3s, circuit.length_m, sizing.state), header_drop(node))
        for circuit, node in zip(made.circuits, made.nodes, strict=True)
    ]
    # the pump must serve the worst path; the easiest tells how much its circuit would take from it
    worst, easiest = max(drops, key=sum), min(drops, key=sum)
    return Hydraulics(
        flow_m3s=balance.flow.flow_m3s,
        basis=balance.flow.basis,
        mixture=fluid.mixture,
        temperature_c=balance.mean_c,
        circuit_flow_m3s=sizing.each_m3s,
        reynolds=reynolds_number(pipe, sizing.each_m3s, sizing.state),
        circuit_drop_pa=worst[0],
        header_drop_pa=worst[1],
        easiest_drop_pa=sum(easiest),
        head_m=head(sum(worst), sizing.state),
        purge_m3s=_purge(flow.runs, pipe, len(made.circuits), size),
        balances=design_balances(exchanger),
        lowest_c=balance.lowest_c,
    )


def _purge(runs: Sequence[Run], pipe: Pipe, circuits: int, size: Size) -> float:
    """Flow at which all circuits at once, and every header pipe, are purged [m3/s]."""
    together = circuits * purge_flow(pipe)
    largest = [purge_flow(pipes()[size(run.circuits)]) for run in runs if run.role != "pair"]
    return max([together, *largest])


def _well_pipes(tree: HeaderTree, options: HeaderOptions, water_m3s: float) -> Piping:
    """One pipe from the supply well, and one to the return well."""
    flow = HeaderFlow(tree, tree.stops, "home run")
    size = ""
    if water_m3s > 0.0:
        sizing = _Sizing(water_m3s, fluid_state("water", WELL_WATER_C), next(iter(pipes())))
        size = sizing.size(1)
    pieces = tuple(
        replace(piece, pipes=tuple(HeaderPipe("pair", size, water_m3s) for _ in piece.pipes[::2]))
        for piece in flow.pieces(lambda _: size)
    )
    return Piping(
        layout="home run",
        why=reason("one-pipe-to-each-well"),
        pieces=pieces,
        width_m=options.width_m,
        depth_m=options.depth_m,
        fittings=Fittings(),
        balance=None,
        hydraulics=None,
        unknown=reason("well-pump-is-the-designers"),
    )
