"""What is to be said of a field whose circuits are divided into groups."""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from siteplan.checks.alongside import beside, joints
from siteplan.findings.model import Finding, reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.header.section import piece_lines
from siteplan.layout.model import Layout
from siteplan.layout.piping_model import HeaderPiece, Piping
from siteplan.rules.ruleset import RuleSet
from siteplan.site.model import Site
from siteplan.site.piping import BEDDING_M


def group_remarks(site: Site, rules: RuleSet, layout: Layout) -> Iterator[Finding]:
    """That the field is divided, and where its header trench is dug wider for many pipes."""
    piping = layout.piping
    if piping is None:
        return
    if piping.groups:
        yield _divided(site, piping)
    wide = _wider(piping)
    if wide:
        widest = max(piece.width_m for piece in wide)
        yield Finding(
            "header-trench-wider",
            subject="header",
            measured_m=piping.width_m,
            required_m=widest,
            values={
                "pipes": max(piece.count for piece in wide),
                "length_m": sum(piece.length_m for piece in wide),
                "separation_m": widest - 2 * BEDDING_M,
            },
        )
        yield from lines_too_near(site, rules, layout)


def _divided(site: Site, piping: Piping) -> Finding:
    sizes = [len(group.circuits) for group in piping.groups]
    return Finding(
        "circuits-in-groups",
        values={
            "circuits": sum(sizes), "groups": len(sizes), "low": min(sizes),
            "high": reason("up-to-so-many", most=max(sizes)) if len(set(sizes)) > 1 else None,
            "limit": site.exchanger.piping.header.group,
        },
    )  # fmt: skip


def _wider(piping: Piping) -> list[HeaderPiece]:
    """Pieces that are dug wider than stated."""
    return [piece for piece in piping.pieces if piece.width_m]


def lines_too_near(site: Site, rules: RuleSet, layout: Layout) -> Iterator[Finding]:
    """Lines from which the wider trench does not keep what its centre line keeps."""
    if layout.header is None or layout.piping is None:
        return
    wide = _wider(layout.piping)
    if not wide:
        return
    lines = shapely.MultiLineString(piece_lines(wide, layout.header))
    wider = (max(piece.width_m for piece in wide) - layout.piping.width_m) / 2
    for feature in site.features:
        for rule in rules.alongside(feature)[:1]:
            nearest = beside(lines, joints(layout, lines), feature, rule, rules)
            if nearest is None or nearest.distance - wider >= rule.distance_m - TOLERANCE:
                continue
            yield Finding(
                "wide-header-near-line",
                subject=feature.id,
                measured_m=nearest.distance - wider,
                required_m=rule.distance_m,
                rule=f"{rule.book}/{rule.id}",
                values={
                    "kind": feature.kind,
                    "separation_m": layout.piping.width_m + 2 * wider - 2 * BEDDING_M,
                },
            )
