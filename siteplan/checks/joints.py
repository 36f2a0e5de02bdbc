"""Joints of trenches, looked at again: where they begin and end, and what they may not cross."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from shapely import Point

from siteplan.findings.model import Finding
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Trench
from siteplan.layout.model import Layout
from siteplan.layout.piping_model import Joint
from siteplan.site.model import Site
from siteplan.vocabulary.kinds import kinds

TOUCH_M: Final = 0.02
"""How far a joint may run in the dug ground of another trench, as corners are rounded [m]."""


def joint_findings(site: Site, layout: Layout) -> Iterator[Finding]:
    """Faults of joints: loose ends, another trench or joint in the way, a forbidden crossing."""
    trenches = {one.id: one for one in layout.of(Trench)}
    taken = [name for joint in layout.joints for name in joint.trenches]
    for joint in layout.joints:
        ends = (joint.line.coords[0], joint.line.coords[-1])
        for name, end in zip(joint.trenches, ends, strict=True):
            far = trenches[name].line.coords[-1] if name in trenches else None
            if far is None or Point(end).distance(Point(far)) > TOLERANCE:
                yield _fault(joint, "joint-gap", trench=name)
            if taken.count(name) > 1:
                yield _fault(joint, "joint-shares-pipe", trench=name)
        for name, trench in trenches.items():
            inside = float(joint.line.intersection(trench.footprint).length)
            if name not in joint.trenches and inside > TOUCH_M:
                yield _fault(joint, "joint-crosses-trench", trench=name)
        for other in layout.joints:
            if other.id != joint.id and joint.line.crosses(other.line):
                yield _fault(joint, "joint-crosses-joint", other=other.id)
        yield from _forbidden(site, joint)


def _forbidden(site: Site, joint: Joint) -> Iterator[Finding]:
    """Features that neither header nor joint may cross."""
    for feature in site.features:
        if kinds()[feature.kind].crossing != "never":
            continue
        solid = feature.shape.area > 0
        inside = joint.line.intersection(feature.shape).length > TOLERANCE
        if inside if solid else joint.line.crosses(feature.shape):
            code = "joint-crossing-forbidden"
            yield _fault(joint, code, feature=feature.id, kind=feature.kind)


def _fault(joint: Joint, code: str, **values: str) -> Finding:
    return Finding(code, subject=joint.id, values=values)
