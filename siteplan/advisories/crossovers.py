"""What the crossovers of trenches cross."""

from __future__ import annotations

from collections.abc import Iterator

from siteplan.advisories.power_lines import passing_under
from siteplan.available.access import OVERHEAD
from siteplan.findings.model import Finding, Reason, reason
from siteplan.layout.model import Layout
from siteplan.layout.piping_model import Crossing, Crossover
from siteplan.site.model import Site


def crossover_remarks(site: Site, layout: Layout) -> Iterator[Finding]:
    """A warning for all that a crossover crosses, a note where it passes under the header."""
    for crossover in layout.crossovers:
        for crossing in crossover.crossings:
            yield _crossing(site, crossover, crossing)


def _crossing(site: Site, crossover: Crossover, crossing: Crossing) -> Finding:
    if crossing.kind == "header":
        return Finding("crossover-under-header", subject=crossover.id)
    if crossing.kind == OVERHEAD:
        return passing_under(site, crossover.id, crossing.feature)
    values = {"crossover": crossover.id, "kind": crossing.kind, "angle": angle_of(crossing)}
    return Finding("crossover-crossing", subject=crossing.feature, values=values)


def angle_of(crossing: Crossing) -> Reason | None:
    """Angle of a crossing as a sentence has it; None where what is crossed has no direction."""
    angle = crossing.angle_deg
    return None if angle is None else reason("at-angle", angle_deg=angle)
