"""What the crossovers of trenches cross."""

from __future__ import annotations

from collections.abc import Iterator

from siteplan.findings.model import Finding
from siteplan.layout.model import Layout
from siteplan.layout.piping_model import Crossing, Crossover


def crossover_remarks(layout: Layout) -> Iterator[Finding]:
    """A warning for all that a crossover crosses, a note where it passes under the header."""
    for crossover in layout.crossovers:
        for crossing in crossover.crossings:
            yield _crossing(crossover, crossing)


def _crossing(crossover: Crossover, crossing: Crossing) -> Finding:
    if crossing.kind == "header":
        return Finding("crossover-under-header", subject=crossover.id)
    values = {"crossover": crossover.id, "kind": crossing.kind}
    return Finding("crossover-crossing", subject=crossing.feature, values=values)
