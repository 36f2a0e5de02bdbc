"""Table of the groups of circuits: what hangs on which run-outs, and what flows in them."""

from __future__ import annotations

from collections.abc import Sequence

from siteplan.findings.words import plural
from siteplan.layout.model import Layout
from siteplan.layout.piping_model import Group
from siteplan.quantities.take_off import fluid_volume
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.kept import kept
from siteplan.sheet.marks import GROUPS
from siteplan.sheet.place.blocks import Block, Flow
from siteplan.sheet.place.table import Column, Table
from siteplan.units.lengths import format_flow, format_length, rough, round_to
from siteplan.units.model import UnitSystem

UNKNOWN = "not stated"
AT_MANIFOLD = "at manifold"
NOTE = (
    "Run-outs: supply and return from the manifold to the first branch, all in the header trench. "
    "Manifold at the entry, indoors or in a vault: on supply and return of each group an isolation "
    "valve and a purge port, on its return a balancing valve (common practice). Purge "
    "one group at a time with the others shut. Head: the worst path of the group."
)


def groups_block(content: PlanContent, width: float) -> Block | None:
    """Table of the groups with what to do at the manifold, None where the field is not divided."""
    layout = content.layout
    if layout is None or layout.piping is None or not layout.piping.groups:
        return None
    flow = Flow(width, GROUPS)
    flow.heading("CIRCUIT GROUPS AND RUN-OUTS")
    flow.table(group_table(layout, content.site.unit))
    flow.gap(0.4)
    flow.paragraph(NOTE)
    return flow.block()


@kept
def group_table(layout: Layout, unit: UnitSystem) -> Table:
    """One row for every group, with all that is known of it."""
    columns = (
        Column("id", "ID"), Column("circuits", "CIRCUITS"),
        Column("elements", plural(layout.loop.noun).upper(), wrap=True), Column("pipe", "RUN-OUTS"),
        Column("length", "LENGTH", "right"), Column("flow", "FLOW", "right"),
        Column("head", "HEAD", "right"), Column("purge", "PURGE", "right"),
        Column("fill", "FILL", "right"),
    )  # fmt: skip
    rows = tuple(
        (
            group.id, circuits_words(group), _elements(layout, group), _pipe(group),
            _run_out(group, unit),
            _flow(group.flow_m3s, unit), _head(group, unit),
            _purge(group, unit), _fill(layout, group, unit),
        )
        for group in _groups(layout)
    )  # fmt: skip
    return Table(GROUPS, columns, rows)


def short_group_table(layout: Layout, unit: UnitSystem) -> Table:
    """The same for the plan sheet: circuits, run-outs, flow and purge."""
    columns = (
        Column("id", "ID"), Column("circuits", "CIRCUITS"), Column("pipe", "RUN-OUTS"),
        Column("flow", "FLOW", "right"), Column("purge", "PURGE", "right"),
    )  # fmt: skip
    rows = tuple(
        (
            group.id, circuits_words(group), _pipe(group), _flow(group.flow_m3s, unit),
            _purge(group, unit),
        )
        for group in _groups(layout)
    )  # fmt: skip
    return Table(GROUPS, columns, rows)


def _groups(layout: Layout) -> Sequence[Group]:
    return layout.piping.groups if layout.piping is not None else ()


def circuits_words(group: Group) -> str:
    """First and last circuit of a group, which are numbered in a row, and how many they are.

    Examples
    --------
    >>> circuits_words(Group("G1", ("CIR-1", "CIR-2", "CIR-3"), "2 in", 90.0, 20.0))
    '3: CIR-1 to 3'
    """
    last = group.circuits[-1].rpartition("-")[2]
    return f"{len(group.circuits)}: {group.circuits[0]} to {last}"


def _elements(layout: Layout, group: Group) -> str:
    """Elements of a group in the order of its circuits."""
    mine = (circuit for circuit in layout.circuits if circuit.group == group.id)
    return ", ".join(dict.fromkeys(name for circuit in mine for name in circuit.elements))


def _pipe(group: Group) -> str:
    return f"2 × {group.pipe}" if group.pipe else "2, by flow"


def _run_out(group: Group, unit: UnitSystem) -> str:
    """Length of a run-out; none where the first circuit branches off at the manifold itself."""
    if group.run_out_m <= 0.0:
        return AT_MANIFOLD
    return format_length(group.run_out_m / 2, unit, rough(unit), rounding="up")


def _flow(flow_m3s: float | None, unit: UnitSystem) -> str:
    return UNKNOWN if flow_m3s is None else format_flow(flow_m3s, unit)


def _purge(group: Group, unit: UnitSystem) -> str:
    if group.purge_m3s is None:
        return UNKNOWN
    return format_flow(group.purge_m3s, unit, rounding="up")


def _head(group: Group, unit: UnitSystem) -> str:
    if group.head_m is None:
        return UNKNOWN
    return format_length(group.head_m, unit, 1, rounding="up")


def _fill(layout: Layout, group: Group, unit: UnitSystem) -> str:
    """Fluid in its circuits and header pipes."""
    volume = fluid_volume(layout, group.id)
    if volume is None:
        return UNKNOWN
    return f"{round_to(unit.fluid.of(volume), 0, 'up'):,.0f} {unit.fluid.label}"
