"""What the joints of trenches cross."""

from __future__ import annotations

from collections.abc import Iterator

from siteplan.findings.model import Finding
from siteplan.layout.model import Layout
from siteplan.layout.piping_model import Crossing, Joint


def joint_remarks(layout: Layout) -> Iterator[Finding]:
    """A warning for everything that a joint crosses, a note where it passes under the header."""
    for joint in layout.joints:
        for crossing in joint.crossings:
            yield _crossing(joint, crossing)


def _crossing(joint: Joint, crossing: Crossing) -> Finding:
    if crossing.kind == "header":
        return Finding("joint-under-header", subject=joint.id)
    values = {"joint": joint.id, "kind": crossing.kind}
    return Finding("joint-crossing", subject=crossing.feature, values=values)
