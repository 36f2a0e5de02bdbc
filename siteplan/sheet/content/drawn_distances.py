"""Which of the distances measured are drawn on the plan."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from shapely import LineString

from siteplan.checks.model import Separation
from siteplan.checks.wishes import IN_SPACE
from siteplan.rule_books.model import ANYWHERE, EACH_OTHER, SUPPLY_WELL
from siteplan.site.model import Feature, Site
from siteplan.vocabulary.loop_types import element_kinds

UNDRAWN: Final = frozenset(("water depth", ANYWHERE, *IN_SPACE))
"""What is measured below ground, or is a depth of water, has no length on a plan."""
FAR: Final = 4.0
"""A distance more than so many times what is required is not drawn."""
THROUGH_M: Final = 0.05
"""A line so deep inside a wall runs through the building [m]."""


def drawn_of(site: Site, separations: Sequence[Separation]) -> tuple[Separation, ...]:
    """Those of the distances on a site that are drawn."""
    buildings = site.of_kind("building")
    return tuple(
        separation
        for separation in separations
        if not is_far(separation)
        and not _is_element_to_element(separation)
        and not _is_hidden(separation, buildings)
    )


def is_far(separation: Separation) -> bool:
    """Whether a distance is so much more than required that nobody need see it.

    Examples
    --------
    >>> from siteplan.rule_books.model import Rule
    >>> ten = Rule("r", "tree", ("bore",), 3.048, "10 ft", "b", "s")
    >>> is_far(Separation("bore", "B1", "oak", ten, 9.0, (0.0, 0.0), (9.0, 0.0)))
    False
    """
    return separation.provided_m > FAR * separation.rule.distance_m


def is_spacing(separation: Separation) -> bool:
    """Whether a row is about two elements: the typical spacing is drawn for them all."""
    return separation.rule.subject in element_kinds() or separation.rule.subject in (
        SUPPLY_WELL,
        EACH_OTHER,
    )


def _is_element_to_element(separation: Separation) -> bool:
    return is_spacing(separation) or separation.rule.subject in UNDRAWN


def _is_hidden(separation: Separation, buildings: Iterable[Feature]) -> bool:
    """Whether the line would run through a building that is not what it measures to."""
    line = LineString([separation.element_point, separation.feature_point])
    return any(
        building.id != separation.feature and line.intersects(building.shape.buffer(-THROUGH_M))
        for building in buildings
    )
