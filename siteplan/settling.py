"""Length and layout brought to agree: where bores stand decides how much of them is needed."""

from __future__ import annotations

from siteplan.attempt import Attempt, attempt
from siteplan.demand.model import Required
from siteplan.demand.required import required_of
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.model import Bore, Layout
from siteplan.rules.ruleset import RuleSet
from siteplan.site.model import Site, System

MOST_ROUNDS = 30
PUSHED_FROM = 5
"""From this round on more than the length required is laid out, so that the rounds come to rest."""
PUSH = 1.01


def settled(
    site: Site, rules: RuleSet, required: Required, system: System
) -> tuple[Required, Attempt]:
    """Layout that holds what is required of the bores where they stand, or all that fits.

    A calculated length begins with bores far from one another. The length that the bores laid out
    need in their places is laid out again, never less than before, until what is laid out holds it.
    """
    asked = required.length_m
    made = attempt(site, rules, system, asked)
    if required.basis != "calculated":
        return required, made
    for number in range(MOST_ROUNDS):
        required = _required_there(site, system, made.layout) or required
        enough = made.layout.length_m >= required.length_m - TOLERANCE
        stopped = made.layout.obstacle and required.length_m <= asked + TOLERANCE
        if enough or stopped or not made.layout.elements:
            break
        asked = max(asked, required.length_m) * (PUSH if number >= PUSHED_FROM else 1.0)
        made = attempt(site, rules, system, asked)
    return required, made


def _required_there(site: Site, system: System, layout: Layout) -> Required | None:
    bores = [element for element in layout.elements if isinstance(element, Bore)]
    return required_of(site.exchanger, system, site.unit, bores=bores)
