"""What a rule's way of measuring means on one site, for the keep-outs and for the checks alike."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from shapely.geometry.base import BaseGeometry

from siteplan.earthwork.excavation import strip_width
from siteplan.geometry.offset import grow
from siteplan.rule_books.model import FROM_MACHINE, Part, Rule
from siteplan.site.model import Feature, Site
from siteplan.vocabulary.kinds import kinds

LEAST_CROSSING_DEG: Final = 45.0
"""Angle at which a header leaves the strip beside a line that it crosses at the latest; common
practice, no source [deg]."""


@dataclass(frozen=True, slots=True)
class Measuring:
    """Sizes that enter a measurement beside the drawn shapes.

    Parameters
    ----------
    machine_m
        How far the machine at an element reaches beyond it [m].
    strip_m
        How much farther than the trench's own side its excavation opens [m].
    header_m
        Half the width of the header trench [m].
    """

    machine_m: float = 0.0
    strip_m: float = 0.0
    header_m: float = 0.0

    def extra(self, rule: Rule, part: Part, own_reach_m: float) -> float:
        """What a part reaches beyond its own body where this rule measures it [m].

        Parameters
        ----------
        rule
            The rule, for its way of measuring.
        part
            Part of the exchanger.
        own_reach_m
            Radius of the part's body; taken off where the rule measures from the centre [m].
        """
        if part == "trench":  # it has no centre: even then it is measured from its side
            return max(self.strip_if(rule), self.machine_if(rule))
        if rule.measure == "centre":
            return -own_reach_m
        if rule.alongside:
            return max(self.header_m, self.machine_if(rule))
        return self.machine_if(rule)

    def strip_if(self, rule: Rule) -> float:
        """How far beyond a trench's side this rule measures because the sides are sloped [m].

        All of the strip, where a side must not undercut the thing; where the strip only must not
        open it, what the strip reaches beyond the rule's distance.

        Examples
        --------
        >>> tree, pond = (Rule("r", kind, ("trench",), 1.0, "1 m", "b", "s") for kind in
        ...               ("tree", "pond"))
        >>> Measuring(strip_m=3.0).strip_if(tree), Measuring(strip_m=3.0).strip_if(pond)
        (3.0, 2.0)
        """
        kind = kinds().get(rule.subject)
        keeps = "distance" if kind is None else kind.strip
        if keeps == "opening":
            return max(0.0, self.strip_m - rule.distance_m)
        return self.strip_m if keeps == "distance" else 0.0

    def machine_if(self, rule: Rule) -> float:
        """Reach of the machine, where the rule keeps the machine off [m]."""
        return self.machine_m if rule.measure in FROM_MACHINE else 0.0

    def beside(self, rule: Rule, feature: Feature) -> float:
        """What a header's centre line keeps from that of a line as it runs beside it [m].

        Examples
        --------
        3 m from the side of a header trench 0.6 m wide:

        >>> from shapely import LineString
        >>> rule = Rule("r", "gas line", ("header",), 3.0, "3 m", "b", "s", measure="alongside")
        >>> gas = Feature("gas", "gas line", LineString([(0, 0), (9, 0)]))
        >>> Measuring(header_m=0.3).beside(rule, gas)
        3.3
        """
        return rule.distance_m + self.extra(rule, "header", 0.0) + feature.width_m / 2

    def leaving(self, rule: Rule, feature: Feature) -> float:
        """Length on which a header may lie nearer at a crossing, or at its end, on each side [m].

        So much it takes to leave the strip at the least angle of a crossing.
        """
        return self.beside(rule, feature) / math.sin(math.radians(LEAST_CROSSING_DEG))


def along_whole_bore(rule: Rule, feature: Feature | None) -> bool:
    """Whether an inclined bore keeps a distance along its whole length, not near the surface only.

    So it does where the rule says so, and from wells: they reach as deep, common practice.
    """
    return rule.measure == "whole bore" or (feature is not None and kinds()[feature.kind].deep)


def measuring_of(site: Site) -> Measuring:
    """Sizes that enter measurements on a site."""
    horizontal = site.exchanger.horizontal
    strip = (strip_width(horizontal) - horizontal.width_m) / 2
    header = site.exchanger.piping.header.width_m / 2
    return Measuring(site.exchanger.machine_reach_m, strip, header)


def margin_of(feature: Feature, rule: Rule) -> float:
    """How far around its drawn shape a thing reaches where a rule measures to it [m].

    A line has a width, a roof an overhang.
    """
    overhang = feature.overhang_m if rule.measure == "overhang" else 0.0
    return feature.width_m / 2 + overhang


def measured_shape(feature: Feature, rule: Rule) -> BaseGeometry:
    """Shape that a rule measures to."""
    margin = margin_of(feature, rule)
    return grow(feature.shape, margin) if margin > 0 else feature.shape
