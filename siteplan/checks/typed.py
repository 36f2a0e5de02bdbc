"""Every distance that a layout typed by hand breaks, not only the least of each kind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from siteplan.checks.model import Separation
from siteplan.checks.separations import separations
from siteplan.geometry.memory import Memory
from siteplan.layout.model import Layout
from siteplan.rules.ruleset import RuleSet
from siteplan.site.model import Site


def with_all_broken(
    measured: Sequence[Separation], site: Site, layout: Layout, rules: RuleSet
) -> tuple[Separation, ...]:
    """The rows measured, and one more for each element and rule that it breaks besides.

    Whoever typed the places has to hear of each element; the table of a layout has the nearest
    pair of each kind alone.
    """
    known = {(row.element, row.rule.book, row.rule.id) for row in measured}
    memory = Memory()
    more = [
        row
        for element in layout.elements
        for row in separations(
            site, replace(layout, elements=(element,), header=None), rules, memory
        )
        if row.rule.parts and not row.meets
    ]
    return (
        *measured,
        *(row for row in more if (row.element, row.rule.book, row.rule.id) not in known),
    )
