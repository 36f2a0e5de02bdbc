"""What the joints of trenches cross."""

from __future__ import annotations

from collections.abc import Iterator

from siteplan.checks.model import Finding
from siteplan.layout.model import Layout
from siteplan.layout.piping_model import Crossing, Joint


def joint_remarks(layout: Layout) -> Iterator[Finding]:
    """A warning for everything that a joint crosses, a note where it passes under the header."""
    for joint in layout.joints:
        for crossing in joint.crossings:
            yield _crossing(joint, crossing)


def _crossing(joint: Joint, crossing: Crossing) -> Finding:
    if crossing.kind == "header":
        words = f"Joint {joint.id} passes under the header: lay it before the header."
        return Finding("joint-under-header", "note", words, subject=joint.id)
    return Finding(
        "crossing",
        "warning",
        f"Joint {joint.id} crosses {crossing.feature} ({crossing.kind}): expose it by hand "
        "or bore under it, as its owner requires.",
        subject=crossing.feature,
    )
