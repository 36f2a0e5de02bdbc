"""Table of the circuits: what each runs through, how long it is and what flows in it."""

from __future__ import annotations

from itertools import pairwise

from siteplan.layout.model import Layout
from siteplan.layout.piping_model import Circuit
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.marks import CIRCUITS
from siteplan.sheet.place.blocks import Block, Flow
from siteplan.sheet.place.table import Column, Table
from siteplan.units.lengths import format_flow, format_length, rough
from siteplan.units.model import UnitSystem

HEADER_DASH = " – "
"""Between elements joined in the header trench."""


def circuits_block(content: PlanContent, width: float) -> Block | None:
    """Table of circuits with what each runs through, None where there are none."""
    layout, unit = content.layout, content.site.unit
    if layout is None or not layout.circuits:
        return None
    flow = Flow(width, CIRCUITS)
    flow.heading(circuits_title(layout))
    joined = any(circuit.connecting_m > 0.0005 for circuit in layout.circuits)
    flow.table(circuit_table(layout, unit))
    flow.gap(0.4)
    flow.paragraph(_note(layout, joined=joined))
    return flow.block()


def circuits_title(layout: Layout) -> str:
    """Heading of the table, with the sizes of pipe."""
    sizes = dict.fromkeys(circuit.pipe for circuit in layout.circuits)
    return f"CIRCUIT SCHEDULE, {' AND '.join(sizes)} PIPE"


def circuit_table(layout: Layout, unit: UnitSystem) -> Table:
    """The table, one row for every circuit."""
    several = len({circuit.pipe for circuit in layout.circuits}) > 1
    joined = any(circuit.connecting_m > 0.0005 for circuit in layout.circuits)
    columns = (
        Column("id", "ID"), *([Column("group", "GROUP")] if _divided(layout) else []),
        Column("through", "THROUGH", wrap=True),
        *([Column("pipe", "PIPE")] if several else []), Column("length", "LENGTH", "right"),
        *([Column("links", "LINKS", "right")] if joined else []),
        Column("passes", "PASSES", "right"), Column("flow", "FLOW", "right"),
    )  # fmt: skip
    rows = tuple(
        _row(circuit, layout, unit, shown=(several, joined)) for circuit in layout.circuits
    )
    return Table(CIRCUITS, columns, rows)


def _row(
    circuit: Circuit, layout: Layout, unit: UnitSystem, *, shown: tuple[bool, bool]
) -> tuple[str, ...]:
    """One circuit, its lengths rounded up as pipe is bought; ``shown``: pipe, connecting."""
    hydraulics = layout.piping.hydraulics if layout.piping is not None else None
    return (
        circuit.id,
        *((circuit.group,) if _divided(layout) else ()),
        circuit_way(circuit, layout),
        *((circuit.pipe,) if shown[0] else ()),
        _up(circuit.length_m, unit),
        *((_up(circuit.connecting_m, unit),) if shown[1] else ()),
        f"{circuit.passes}",
        format_flow(hydraulics.circuit_flow_m3s, unit) if hydraulics is not None else "not stated",
    )


def _divided(layout: Layout) -> bool:
    return any(circuit.group for circuit in layout.circuits)


def _up(length_m: float, unit: UnitSystem) -> str:
    return format_length(length_m, unit, rough(unit), rounding="up")


def circuit_way(circuit: Circuit, layout: Layout) -> str:
    """Elements in the order of the pipe, with the crossovers at far ends between them.

    Examples
    --------
    >>> from shapely import LineString
    >>> from siteplan.layout.piping_model import Crossover
    >>> crossover = Crossover("X1", LineString([(0, 0), (3, 0)]), ("T1", "T2"), 0.6, 1.5)
    >>> layout = Layout("horizontal", (), None, 3.0, 0.0, crossovers=(crossover,))
    >>> circuit_way(Circuit("CIR-1", ("T3", "T3", "T1", "T2"), "3/4 in", 99.0, 6), layout)
    'T3 (2 loops) – T1 – X1 – T2'
    """
    crossovers = {crossover.trenches: crossover.id for crossover in layout.crossovers}
    stops: list[str] = []
    for name, loops in _runs(circuit.elements):
        stops.append(name if loops == 1 else f"{name} ({loops} loops)")
    way = [stops[0]]
    order = [name for name, _ in _runs(circuit.elements)]
    for (before, after), stop in zip(pairwise(order), stops[1:], strict=True):
        way += [crossovers[before, after], stop] if (before, after) in crossovers else [stop]
    return HEADER_DASH.join(way)


def _runs(names: tuple[str, ...]) -> list[tuple[str, int]]:
    """Names in order, one that follows itself counted."""
    runs: list[tuple[str, int]] = []
    for name in names:
        if runs and runs[-1][0] == name:
            runs[-1] = (name, runs[-1][1] + 1)
        else:
            runs.append((name, 1))
    return runs


def _note(layout: Layout, *, joined: bool) -> str:
    note = "Length: all pipe of a circuit, from the header and back to it, rounded up. "
    if joined:
        note += "Links: what of it is pipe from element to element and to the header. "
    note += "Passes: how often it runs along an element."
    return note + (" X: crossover trench at the far ends." if layout.crossovers else "")
