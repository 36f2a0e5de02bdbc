"""A smaller drill rig as a remedy, laid out and checked before it is proposed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from siteplan.geometry.tolerance import TOLERANCE
from siteplan.rules.ruleset import RuleSet
from siteplan.site.model import Site
from siteplan.trial import Trial, try_system
from siteplan.units import FOOT, format_length


@dataclass(frozen=True, slots=True)
class RigSize:
    """Width, length and turning radius of a rig [m]."""

    width_m: float
    length_m: float
    turning_m: float


SMALLER: Final = (
    RigSize(7 * FOOT, 20 * FOOT, 20 * FOOT),
    RigSize(6 * FOOT, 16 * FOOT, 10 * FOOT),
    RigSize(5 * FOOT, 12 * FOOT, 0.0),
)
"""Rigs that are proposed, the largest first: a short truck, a compact and a small track rig that
turns on the spot; common practice, no source."""


def smaller_rig(site: Site, rules: RuleSet, drawn: Trial) -> str:
    """A smaller rig with which a trial fits, in a sentence; empty where none was found."""
    rig = site.exchanger.rig
    if rig is None or drawn.layout is None or drawn.layout.access is None:
        return ""
    if not drawn.layout.access.because:
        return ""
    for size in SMALLER:
        if size.width_m > rig.width_m - TOLERANCE:
            continue
        smaller = replace(
            rig,
            width_m=size.width_m,
            length_m=min(size.length_m, rig.length_m),
            turning_m=min(size.turning_m, rig.turning_m),
        )
        tried = replace(site, exchanger=replace(site.exchanger, rig=smaller))
        if try_system(tried, rules, drawn.system).fits:
            width = format_length(smaller.width_m, site.unit, 1)
            length = format_length(smaller.length_m, site.unit, 1)
            turning = format_length(smaller.turning_m, site.unit, 1)
            turns = f"turning on {turning}" if smaller.turning_m > 0 else "turning on the spot"
            return f"a rig {width} wide and {length} long, {turns}, gets to enough ground"
    return ""
