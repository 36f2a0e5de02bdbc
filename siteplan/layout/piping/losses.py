"""What the flow loses on its paths: pipe, fittings and heat pump; and what purges it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from siteplan.heat_balance import design_balance, design_balances
from siteplan.hydraulics.fittings import equivalent_length
from siteplan.hydraulics.fluids import fluid_state
from siteplan.hydraulics.friction import GRAVITY, head, pressure_drop, purge_flow, reynolds_number
from siteplan.hydraulics.pipes import Pipe, pipes
from siteplan.hydraulics.plates import channel_drop
from siteplan.layout.elements import Bore, Coil, Trench
from siteplan.layout.model import Layout
from siteplan.layout.piping.circuits import Circuits
from siteplan.layout.piping.header_pipes import HeaderFlow, Size
from siteplan.layout.piping.joints import Joint, joints_to
from siteplan.layout.piping.sizing import Sizing
from siteplan.layout.piping_model import Circuit, Drop, Group, Hydraulics
from siteplan.site.model import Exchanger
from siteplan.site.piping import HeatPump
from siteplan.site.pond_bodies import PlateFrame

WATER_C = 15.0
"""Temperature of the water in whose height the head of a heat pump is told [C]."""


@dataclass(frozen=True)
class Headers:
    """All headers of a field: one, or one for each group of its circuits.

    Parameters
    ----------
    flows
        How the flow divides along each.
    groups
        Numbers of the circuits of each.
    made
        The circuits.
    size
        Size of header pipe for a number of circuits.
    turned
        Whether the pipe of the circuits turns in U-bends.
    """

    flows: tuple[HeaderFlow, ...]
    groups: tuple[tuple[int, ...], ...]
    made: Circuits
    size: Size
    turned: bool

    @property
    def divided(self) -> bool:
        """Whether there are several, joined at a manifold."""
        return len(self.flows) > 1

    @cached_property
    def pipe(self) -> Pipe:
        """Pipe of the circuits."""
        return pipes()[self.made.circuits[0].pipe]

    def joints(self, place: int, number: int) -> list[Joint]:
        """Fittings on the path of a circuit of a header, those of the manifold too."""
        flow, node = self.flows[place], self.made.nodes[number]
        joints = joints_to(flow, node, self.size, self.pipe.size)
        if self.divided:
            count = len(self.groups[place])
            joints += [Joint("ball valve", count), Joint("tee branch", count)] * 2
        if self.turned:
            joints += [Joint("U-bend", 0)] * (self.made.circuits[number].passes // 2)
        return joints


def turns_in_u_bends(layout: Layout) -> bool:
    """Whether pipe turns in fittings; that of a coil comes back as it was coiled."""
    return bool(layout.of(Bore) or layout.of(Trench))


def frame_of(layout: Layout, exchanger: Exchanger) -> PlateFrame | None:
    """The frame whose plates the fluid flows through; None where it flows through pipe."""
    body = exchanger.pond.body
    return body if isinstance(body, PlateFrame) and layout.of(Coil) else None


@dataclass(frozen=True)
class Losses:
    """Pressure drops of all paths through the headers of a field."""

    headers: Headers
    sizing: Sizing
    heat_pump_pa: float
    frame: PlateFrame | None = None

    @cached_property
    def drops(self) -> tuple[tuple[Drop, ...], ...]:
        """Of every circuit, header by header."""
        headers = self.headers
        return tuple(
            tuple(self._drop(place, number) for number in group)
            for place, group in enumerate(headers.groups)
        )

    def _drop(self, place: int, number: int) -> Drop:
        headers, sizing = self.headers, self.sizing
        flow, circuit = headers.flows[place], headers.made.circuits[number]
        header = sum(
            self._gradient(run.circuits) * flow.tree.lengths_m[run.node]
            for run in flow.path(headers.made.nodes[number])
        )
        fittings = sum(map(self._fitting, headers.joints(place, number)))
        along = pressure_drop(headers.pipe, sizing.each_m3s, circuit.length_m, sizing.state)
        return Drop(along + self._plates(circuit), header, fittings, self.heat_pump_pa)

    def _plates(self, circuit: Circuit) -> float:
        """Pressure lost in the plates of a circuit's frames, one after another [Pa]."""
        if self.frame is None:
            return 0.0
        each = self.sizing.each_m3s / self.frame.plates
        frame, state = self.frame, self.sizing.state
        drop = channel_drop(frame.channel, each, frame.plate_length_m, state)
        return len(circuit.elements) * drop

    @property
    def reynolds(self) -> float:
        """Reynolds number where the circuits exchange heat: in their pipe, or in plates [-]."""
        each, state = self.sizing.each_m3s, self.sizing.state
        if self.frame is None:
            return reynolds_number(self.headers.pipe, each, state)
        return self.frame.channel.reynolds(each / self.frame.plates, state)

    @cached_property
    def _known(self) -> dict[int, float]:
        return {}

    def _gradient(self, circuits: int) -> float:
        """Pressure lost on a metre of header for a number of circuits [Pa/m].

        0 is that of a circuit's own pipe.
        """
        if circuits not in self._known:
            size = self.headers.size(circuits) if circuits else self.headers.pipe.size
            self._known[circuits] = self.sizing.drop(size, circuits or 1, 1.0)
        return self._known[circuits]

    def _fitting(self, joint: Joint) -> float:
        pipe = pipes()[self.headers.size(joint.circuits)] if joint.circuits else self.headers.pipe
        return self._gradient(joint.circuits) * equivalent_length(joint.fitting, pipe)

    def purge(self, place: int) -> float:
        """Flow at which all circuits of a header at once, and every pipe of it, are purged."""
        headers = self.headers
        together = len(headers.groups[place]) * purge_flow(headers.pipe)
        runs = headers.flows[place].runs
        largest = [
            purge_flow(pipes()[headers.size(run.circuits)]) for run in runs if run.role != "pair"
        ]
        return max([together, *largest])


def heat_pump_drop(heat_pump: HeatPump | None, flow_m3s: float) -> float:
    """Pressure lost in a heat pump at a flow [Pa], 0 where it is not given.

    With the square of the flow, as in any narrow passage run through turbulently.

    Examples
    --------
    3 m of water at 15 C at the flow stated, four times as much at twice the flow:

    >>> round(heat_pump_drop(HeatPump(3.0, 1e-3), 2e-3) / heat_pump_drop(HeatPump(3.0), 2e-3), 9)
    4.0
    """
    if heat_pump is None:
        return 0.0
    density = fluid_state("water", WATER_C).density
    share = flow_m3s / (heat_pump.flow_m3s or flow_m3s)
    return density * GRAVITY * heat_pump.head_m * share**2


def hydraulics_of(losses: Losses, exchanger: Exchanger) -> Hydraulics | None:
    """What flows in a field, and what its worst path takes."""
    fluid, balance = exchanger.piping.fluid, design_balance(exchanger)
    if fluid is None or balance is None or balance.flow is None:
        return None
    sizing, headers = losses.sizing, losses.headers
    drops = [drop for group in losses.drops for drop in group]
    # the pump must serve the worst path; the easiest tells how much its circuit would take from it
    worst = max(drops, key=lambda drop: drop.total)
    return Hydraulics(
        flow_m3s=balance.flow.flow_m3s,
        basis=balance.flow.basis,
        mixture=fluid.mixture,
        temperature_c=balance.mean_c,
        circuit_flow_m3s=sizing.each_m3s,
        reynolds=losses.reynolds,
        drop=worst,
        easiest_drop_pa=min(drop.total for drop in drops),
        density=sizing.state.density,
        purge_m3s=max(losses.purge(place) for place in range(len(headers.flows))),
        balances=design_balances(exchanger),
        lowest_c=balance.lowest_c,
    )


def groups_of(headers: Headers, losses: Losses | None) -> tuple[Group, ...]:
    """The groups of a field with what flows in each; empty where it is not divided."""
    if not headers.divided:
        return ()
    return tuple(_group(headers, losses, place) for place in range(len(headers.flows)))


def group_name(place: int) -> str:
    """What a group is called.

    Examples
    --------
    >>> group_name(0)
    'G1'
    """
    return f"G{place + 1}"


def _group(headers: Headers, losses: Losses | None, place: int) -> Group:
    flow, numbers = headers.flows[place], headers.groups[place]
    name, circuits = group_name(place), _named(headers.made.circuits, numbers)
    length = sum(flow.tree.lengths_m[run.node] for run in flow.runs)
    size = headers.size(len(numbers))
    run_out = 2 * flow.tree.reaches_m[flow.tree.meeting(flow.nodes)]
    if losses is None:
        return Group(name, circuits, size, length, run_out)
    worst = max(losses.drops[place], key=lambda drop: drop.total)
    sizing = losses.sizing
    return Group(
        name,
        circuits,
        size,
        length,
        run_out,
        flow_m3s=sizing.each_m3s * len(numbers),
        drop=worst,
        head_m=head(worst.total, sizing.state),
        easiest_drop_pa=min(drop.total for drop in losses.drops[place]),
        purge_m3s=losses.purge(place),
    )


def _named(circuits: Sequence[Circuit], numbers: Sequence[int]) -> tuple[str, ...]:
    return tuple(circuits[number].id for number in numbers)
