"""What the checks measure: the least distance of each kind."""

from __future__ import annotations

from dataclasses import dataclass

from siteplan.geometry.tolerance import TOLERANCE
from siteplan.rule_books.model import Part, Rule


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
        The rule that decides; its ``subject`` is the kind of thing.
    provided_m
        Distance measured, nearest part to nearest part [m].
    element_point
        Nearest point of the element, x and y [m].
    feature_point
        Nearest point of the feature, x and y [m].
    others
        Other rules that hold for the same pair and ask no more.
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
    def meets(self) -> bool:
        """Whether the distance is kept."""
        if self.rule.says == "at most":
            return self.provided_m <= self.rule.distance_m + TOLERANCE
        return self.provided_m >= self.rule.distance_m - TOLERANCE
