"""Groups of circuits, looked at again: each circuit in one, none too large or small, flow adds up.

Counted from the circuits and from the pipes at the entry, not from how the field was divided.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator

from siteplan.findings.model import Finding
from siteplan.layout.model import Layout
from siteplan.layout.piping_model import Piping
from siteplan.site.model import Site

NEARLY = 1e-6
"""Share by which sums of flow may differ, as they are added in another order [-]."""


def group_findings(site: Site, layout: Layout) -> Iterator[Finding]:
    """What is wrong with the groups of a field; of one that should be divided that it is not."""
    piping, most = layout.piping, site.exchanger.piping.header.group
    # where each circuit has a pair of its own it is isolated by that
    paired = piping is not None and piping.layout in ("home run", "header pit")
    if piping is None or not layout.circuits or paired:
        return
    # of a field that is too short nothing is built: its circuits are only counted
    if layout.obstacle:
        return
    listed = Counter(name for group in piping.groups for name in group.circuits)
    if not piping.groups and len(layout.circuits) <= most:
        return
    for circuit in layout.circuits:
        if listed[circuit.id] != 1:
            values = {"count": listed[circuit.id]}
            yield Finding("circuit-not-in-one-group", subject=circuit.id, values=values)
    for group in piping.groups:
        count = len(group.circuits)
        if not most // 2 <= count <= most:
            values = {"count": count, "least": most // 2, "most": most}
            yield Finding("group-size", subject=group.id, values=values)
    yield from _flow(piping, len(layout.circuits))


def _flow(piping: Piping, circuits: int) -> Iterator[Finding]:
    """Flow of the groups, by what their supply pipes at the entry carry.

    A circuit with loops on two sides of the entry begins there: it has pipe of its own along both.
    """
    if piping.hydraulics is None or not piping.pieces:
        return
    entry = piping.pieces[0].start
    first = [piece for piece in piping.pieces if math.dist(piece.start, entry) <= NEARLY]
    in_groups = sum(
        pipe.flow_m3s for piece in first for pipe in piece.pipes if pipe.role == "supply"
    )
    whole = piping.hydraulics.flow_m3s
    alone = {own.circuit for piece in first for own in piece.own}
    carried = in_groups + len(alone) * whole / circuits
    if abs(carried - whole) > NEARLY * whole:
        yield Finding("group-flow", values={"carried_m3s": carried, "whole_m3s": whole})
