"""Pipes of a layout: circuits, header pipes by size, and the flow they carry."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from typing import Final

import shapely
from shapely import MultiLineString

from siteplan.findings.model import Reason, reason
from siteplan.geometry.memory import remembered
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.hydraulics.fluids import fluid_state
from siteplan.hydraulics.friction import head, pressure_drop, reynolds_number
from siteplan.hydraulics.pipes import circuit_sizes, pipes
from siteplan.layout.header.crossovers import join_far_ends
from siteplan.layout.header.pit_place import pit_place
from siteplan.layout.header.section import dug_depth, width_for
from siteplan.layout.header.tree import HeaderTree, header_tree
from siteplan.layout.model import Ground, Header, Layout
from siteplan.layout.outfall import Outfall
from siteplan.layout.piping.circuits import Circuits, FlowOf, make_circuits
from siteplan.layout.piping.groups import grouped_circuits
from siteplan.layout.piping.header_pipes import PAIRED, HeaderFlow, Size, pieces_of
from siteplan.layout.piping.losses import (
    Headers,
    Losses,
    frame_of,
    group_name,
    groups_of,
    heat_pump_drop,
    hydraulics_of,
    turns_in_u_bends,
)
from siteplan.layout.piping.sizing import Sizing, sizing_of
from siteplan.layout.piping.work import is_even, may_be_even, takes_less
from siteplan.layout.piping_model import (
    Fittings,
    HeaderPiece,
    HeaderPipe,
    OwnPipes,
    Piping,
)
from siteplan.layout.pit import PIT_SIDE_M
from siteplan.site.model import Exchanger
from siteplan.site.piping import HeaderLayout, HeaderOptions
from siteplan.site.pond_bodies import PlateFrame
from siteplan.units.lengths import FOOT

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
    return _piped(ground or _anywhere(layout), layout, exchanger, water_m3s)


@remembered
def _piped(ground: Ground, layout: Layout, exchanger: Exchanger, water_m3s: float) -> Layout:
    """A layout with a header, and its pipes."""
    assert layout.header is not None
    header = layout.header
    options = exchanger.piping
    if layout.loop.flow:
        return replace(layout, piping=_well_pipes(layout, header, options.header, water_m3s))
    tree = header_tree(header, layout.elements)
    # before the circuits: a single pipe makes no loop until it has its way home
    layout = replace(layout, crossovers=join_far_ends(layout, tree, ground))
    if options.header.layout == "header pit":
        layout, tree = with_pit(layout, header, tree, ground)
    led, made = _led(layout, tree, exchanger)
    if options.header.layout is not None or made is None:
        return led
    # home runs need no joint below ground, circuits that begin together are at a pit already, and
    # of more circuits than a group has each group is to be shut off by itself
    reverse = led.piping is not None and led.piping.layout == "reverse return"
    if not reverse or len(made.nodes) > options.header.group or not may_be_even(tree, made):
        return led
    pitted, by_pit = with_pit(layout, header, tree, ground)
    other, joined = _led(pitted, by_pit, exchanger)
    even = by_pit.pit and joined is not None and is_even(by_pit, joined)
    return other if even and takes_less(other, led) else led


def _led(layout: Layout, tree: HeaderTree, exchanger: Exchanger) -> tuple[Layout, Circuits | None]:
    """The layout with circuits and header pipes, and the circuits; None where there are none."""
    options = exchanger.piping
    made = make_circuits(
        layout,
        tree,
        options.circuits,
        bore_pipe=_bore_pipe(exchanger),
        flow=_flow_of(exchanger),
    )
    if made is None:
        return layout, None
    made = _in_groups(tree, made, options.header)
    turned, frame = turns_in_u_bends(layout), frame_of(layout, exchanger)
    piping = _closed(tree, made, exchanger, turned=turned, frame=frame)
    # only where nothing else stands in the way: lack of room is what the reader needs to hear
    # first
    if made.balance.lacking and not layout.obstacle:
        count, because = options.circuits.count, made.balance.lacking
        asked = reason("circuits-not-as-asked", count=count, because=because)
        layout = replace(layout, obstacle=asked)
    if options.header.layout == "header pit" and not tree.pit and not layout.obstacle:
        layout = replace(layout, obstacle=reason("no-room-for-header-pit", side_m=PIT_SIDE_M))
    return replace(layout, circuits=made.circuits, piping=piping), made


def with_pit(
    layout: Layout, header: Header, tree: HeaderTree, ground: Ground
) -> tuple[Layout, HeaderTree]:
    """The layout with a header pit where there is room for one, and its header as a tree."""
    if header.pit is not None:
        return layout, tree
    header = replace(header, pit=pit_place(layout, tree, ground))
    return replace(layout, header=header), header_tree(header, layout.elements)


def _anywhere(layout: Layout) -> Ground:
    """Ground without an obstacle around a layout."""
    assert layout.header is not None
    shapes = [*layout.header.runs, *(element.footprint for element in layout.elements)]
    around = shapely.union_all(shapes).envelope.buffer(OPEN_GROUND_M, join_style="mitre")
    return Ground(around, around, (layout.header.entry,))


def _flow_of(exchanger: Exchanger) -> FlowOf | None:
    """Reynolds number and head of a circuit, None where flow or fluid is not known."""
    sizing, _ = sizing_of(exchanger, 1, "")
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
    if tree.pit:
        asked = options.layout == "header pit"
        return "header pit", reason("as-the-site-file-says" if asked else "pit-takes-less")
    if options.layout not in (None, "header pit"):
        return options.layout, reason("as-the-site-file-says")
    # few and near: pairs led home need no joint below ground, for little more pipe
    if len(nodes) <= HOME_RUNS and max(tree.reaches_m[node] for node in nodes) <= HOME_RUN_M:
        return "home run", reason("few-circuits-near")
    # one beginning means paths alike already: a third pipe would even out nothing
    if len(set(nodes)) == 1:
        return "direct return", reason("circuits-begin-together")
    return "reverse return", reason("more-circuits-or-far")


def _closed(
    tree: HeaderTree,
    made: Circuits,
    exchanger: Exchanger,
    *,
    turned: bool,
    frame: PlateFrame | None,
) -> Piping:
    """Pipes of circuits that are in the order of their groups."""
    options = exchanger.piping
    layout, why = header_layout(options.header, tree, made.nodes)
    groups = _numbers_by_group(made)
    flows = tuple(
        HeaderFlow(tree, tuple(made.nodes[number] for number in group), layout) for group in groups
    )
    circuit_size = made.circuits[0].pipe
    # the flow decides the size of the header; without one it is as wide as the circuits' own pipe
    sizing, unknown = sizing_of(exchanger, len(made.circuits), circuit_size)
    size = _size_of(layout, circuit_size, sizing)
    headers = Headers(flows, groups, made, size, turned)
    # without a flow there are lengths and fittings only
    losses = None
    if sizing is not None:
        pump = heat_pump_drop(options.heat_pump, sizing.each_m3s * len(made.circuits))
        losses = Losses(headers, sizing, pump, frame)
    each = sizing.each_m3s if sizing is not None else 0.0
    # what lies side by side in a trench decides how wide it is dug, so pipes come before widths
    pieces = _with_own(_with_flow(_pieces(headers), each), made)
    if headers.divided or layout == "header pit":
        pieces = tuple(_wide_enough(piece, options.header.width_m) for piece in pieces)
    return Piping(
        layout=layout,
        why=why,
        pieces=pieces,
        width_m=options.header.width_m,
        depth_m=dug_depth(pieces, options.header),
        fittings=_all_fittings(headers),
        balance=made.balance,
        hydraulics=hydraulics_of(losses, exchanger) if losses is not None else None,
        unknown=unknown,
        oversize=sizing is not None and any(sizing.too_much(flow, size) for flow in flows),
        groups=groups_of(headers, losses),
    )


def _numbers_by_group(made: Circuits) -> tuple[tuple[int, ...], ...]:
    """Numbers of the circuits on each header."""
    numbers: dict[str, list[int]] = {}
    for number, circuit in enumerate(made.circuits):
        numbers.setdefault(circuit.group, []).append(number)
    return tuple(map(tuple, numbers.values()))


def _in_groups(tree: HeaderTree, made: Circuits, options: HeaderOptions) -> Circuits:
    """Circuits in the order of their groups, and named in it; as they are where there is one."""
    layout, _ = header_layout(options, tree, made.nodes)
    # a circuit led home by a pair of its own is isolated there already
    most = len(made.nodes) if layout in PAIRED else options.group
    # circuits of one trench belong together: one pair of valves then isolates the trench
    runs = [circuit.elements for circuit in made.circuits]
    groups = grouped_circuits(tree, made.nodes, most, runs)
    if len(groups) == 1:
        return made
    order = [(place, number) for place, group in enumerate(groups) for number in group]
    circuits = tuple(
        replace(made.circuits[number], id=f"CIR-{count}", group=group_name(place))
        for count, (place, number) in enumerate(order, start=1)
    )
    numbers = [number for _, number in order]
    return replace(
        made,
        circuits=circuits,
        nodes=tuple(made.nodes[number] for number in numbers),
        along=tuple(made.along[number] for number in numbers),
    )


def _pieces(headers: Headers) -> tuple[HeaderPiece, ...]:
    """Header trench piece by piece, with the pipes of all groups."""
    lying: dict[int, list[HeaderPipe]] = {}
    for place, flow in enumerate(headers.flows):
        group = group_name(place) if headers.divided else ""
        # a group lies in few of the pieces
        for node, laid in flow.lying(headers.size).items():
            lying.setdefault(node, []).extend(replace(pipe, group=group) for pipe in laid)
    return pieces_of(headers.flows[0].tree, lying)


def _wide_enough(piece: HeaderPiece, usual_m: float) -> HeaderPiece:
    """The piece with a trench that holds the pipes of all groups that pass it."""
    width = width_for(piece, usual_m)
    return replace(piece, width_m=width) if width > usual_m else piece


def _all_fittings(headers: Headers) -> Fittings:
    """Fittings of all headers together."""
    each = [flow.fittings(headers.size, headers.pipe.size) for flow in headers.flows]
    return Fittings(
        tees=sum(fittings.tees for fittings in each),
        elbows=sum(fittings.elbows for fittings in each),
        reducers=sum(fittings.reducers for fittings in each),
    )


def _size_of(layout: HeaderLayout, circuit_size: str, sizing: Sizing | None) -> Size:
    """Size of a header pipe by its flow, in circuits; none where the flow is not known."""
    if layout == "home run":
        return cache(lambda _: circuit_size)
    if layout == "header pit":
        # a pair up to the pit is the pipe of its circuit
        joined = sizing.size if sizing is not None else lambda _: ""
        return cache(lambda circuits: circuit_size if circuits == 1 else joined(circuits))
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


_WELL_PIPES: Final = {
    (False, False): "one-pipe-to-each-well",
    (True, False): "one-pipe-to-well-and-outfall",
    (False, True): "one-pipe-to-return-well",
    (True, True): "one-pipe-to-outfall",
}
"""Why wells have so many pipes: whether there is an outfall, and a well with its own pipe."""


def _well_pipes(layout: Layout, header: Header, options: HeaderOptions, water_m3s: float) -> Piping:
    """One pipe from the supply well, and one to the return well or the outfall.

    A well that stood there before and that the header does not come to has its own.
    """
    runs = MultiLineString(header.runs)
    reached = [each for each in layout.elements if each.footprint.distance(runs) <= TOLERANCE]
    alone = len(reached) < len(layout.elements)
    tree = header_tree(header, reached)
    flow = HeaderFlow(tree, tree.stops, "home run")
    size = ""
    if water_m3s > 0.0:
        sizing = Sizing(water_m3s, fluid_state("water", WELL_WATER_C), next(iter(pipes())))
        size = sizing.size(1)
    pieces = tuple(
        replace(piece, pipes=tuple(HeaderPipe("pair", size, water_m3s) for _ in piece.pipes[::2]))
        for piece in flow.pieces(lambda _: size)
    )
    return Piping(
        layout="home run",
        why=reason(_WELL_PIPES[bool(layout.of(Outfall)), alone]),
        pieces=pieces,
        width_m=options.width_m,
        depth_m=dug_depth(pieces, options),
        fittings=Fittings(),
        balance=None,
        hydraulics=None,
        unknown=reason("well-pump-is-the-designers"),
    )
