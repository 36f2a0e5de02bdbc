"""What the checks measure: the least distance of each kind."""

from __future__ import annotations

from dataclasses import dataclass

from siteplan.geometry.tolerance import TOLERANCE
from siteplan.rule_books.model import AT_MOST, Part, Rule


@dataclass(frozen=True, slots=True)
class Separation:
    """The least distance found between one part of the exchanger and one kind of thing.

    Where the rule says "at most", the distance between the return and the supply well.

    Parameters
    ----------
    part
        Part of the exchanger.
    element
        Id of the controlling element (``"header"`` for the header).
    feature
        Id of the controlling feature (``"parcel"`` for the property line).
    rule
        Of the rules that hold, measured one by one, the one with the least to spare; its
        ``subject`` is the kind of thing.
    provided_m
        Distance measured, nearest part to nearest part [m].
    element_point
        Nearest point of the element, x and y [m].
    feature_point
        Nearest point of the feature, x and y [m].
    others
        Other rules that hold for the same pair: each leaves as much to spare or more.
    strip_m
        How far beyond the trench's side it was measured because the sides are sloped [m].
    """

    part: Part
    element: str
    feature: str
    rule: Rule
    provided_m: float
    element_point: tuple[float, float]
    feature_point: tuple[float, float]
    others: tuple[Rule, ...] = ()
    strip_m: float = 0.0

    @property
    def spare_m(self) -> float:
        """What is left beyond the distance asked; below zero where it is not kept [m]."""
        spare = self.provided_m - self.rule.distance_m
        return -spare if self.rule.says in AT_MOST else spare

    @property
    def meets(self) -> bool:
        """Whether the distance is kept."""
        return self.spare_m >= -TOLERANCE
