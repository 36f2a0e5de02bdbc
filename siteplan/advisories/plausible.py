"""What is drawn or wished on a site and hardly can be: worth a second look, not a refusal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from shapely import STRtree

from siteplan.findings.model import Finding
from siteplan.layout.elements import Bore, Trench
from siteplan.site.loop_options import apart_of
from siteplan.site.model import Feature, Site
from siteplan.units.lengths import FOOT
from siteplan.vocabulary.loop_types import made_of

FAR_ENTRY_M = 3.0
"""How far from a wall an entry may lie without a remark [m]."""
LEAST_SPACING_M = {Bore.kind: 10 * FOOT, Trench.kind: 4 * FOOT}
"""Spacing of bores and trenches below which somebody should look again: common practice, no
source [m]."""
WIDEST_SPACING_M = {Bore.kind: 50 * FOOT, Trench.kind: 30 * FOOT}
"""Spacing above which another unit was meant: common practice, no source [m]."""
DEEPEST_DUG_M = 20 * FOOT
"""Deeper trenches need a protective system by a registered engineer (29 CFR 1926
Subpart P, Appendix F): hardly meant here [m]."""
SLIVER_M2: Final = 1.0
"""What two buildings drawn wall to wall may share: a wall of some 10 m taped to a hand's breadth;
common practice, no source [m2]."""
HEADER = "header"
"""Its table in a site file."""
SOLID = (
    "building",
    "septic tank",
    "fuel tank",
    "drainfield",
    "reserve area",
    "potable well",
    "pond",
)
"""Kinds of which no two can share the same ground."""


def implausible(site: Site) -> tuple[Finding, ...]:
    """Warnings on entries off walls, features on top of each other, tight spacings, depths."""
    return (*_entries(site), *on_each_other(site.features), *_spacings(site), *_depths(site))


def _entries(site: Site) -> Iterator[Finding]:
    walls = [building.shape for building in site.of_kind("building")]
    for entry in site.entries if walls else ():
        distance = min(float(wall.distance(entry.point)) for wall in walls)
        if distance > FAR_ENTRY_M:
            yield Finding("entry-off-the-wall", subject=entry.id, measured_m=distance)


def on_each_other(features: Sequence[Feature], *, alike: bool = False) -> Iterator[Finding]:
    """What cannot lie on the same ground and is drawn so, in the order of the lot.

    Parameters
    ----------
    features
        Things on the lot.
    alike
        Whether two of one kind are told as well, such as garage and house: not where they share
        no more than two walls taped one after the other may.
    """
    solid = [each for each in features if each.kind in SOLID]
    shapes = [each.shape for each in solid]
    if not solid:
        return
    meeting = STRtree(shapes).query(shapes, predicate="intersects")
    for one, other in sorted((one, other) for one, other in meeting.T.tolist() if one < other):
        first, second = solid[one], solid[other]
        if first.shape.touches(second.shape) or not (alike or first.kind != second.kind):
            continue
        shared_m2 = float(first.shape.intersection(second.shape).area)
        if first.kind == second.kind and 0.0 < shared_m2 < SLIVER_M2:
            continue
        yield Finding(
            "overlap",
            subject=first.id,
            values={"kind": first.kind, "other": second.id, "other_kind": second.kind},
        )


def _spacings(site: Site) -> Iterator[Finding]:
    wanted = site.exchanger
    for kind, least in LEAST_SPACING_M.items():
        system = made_of(kind).name
        spacing = apart_of(wanted, system)
        if spacing < least - 1e-9 and wanted.system in (None, system):
            yield Finding(
                "tight-spacing",
                subject=system,
                measured_m=spacing,
                required_m=least,
            )
    for kind, most in WIDEST_SPACING_M.items():
        system = made_of(kind).name
        spacing = apart_of(wanted, system)
        if spacing > most + 1e-9 and wanted.system in (None, system):
            yield Finding(
                "wide-spacing",
                subject=system,
                measured_m=spacing,
                required_m=most,
            )


def _depths(site: Site) -> Iterator[Finding]:
    wanted = site.exchanger
    given = {HEADER: wanted.piping.header.depth_m}
    trenches = made_of(Trench.kind).name
    if wanted.system in (None, trenches):
        given[trenches] = wanted.horizontal.depth_m
    for table, depth_m in given.items():
        if depth_m > DEEPEST_DUG_M + 1e-9:
            yield Finding(
                "deep-trench",
                subject=table,
                measured_m=depth_m,
                required_m=DEEPEST_DUG_M,
            )
