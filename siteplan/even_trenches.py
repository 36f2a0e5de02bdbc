"""A greatest length of trench with which uneven circuits come out even, as a trial has shown."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

from siteplan.attempt import attempt
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.model import Layout, Trench
from siteplan.layout.piping import with_pipes
from siteplan.pipe_remarks import pipe_remarks
from siteplan.rules.ruleset import RuleSet
from siteplan.site.model import Site
from siteplan.units import FOOT

TRIED: Final = 3
"""Numbers of trenches for which a greatest length is tried."""
MANY: Final = 12
"""From so many trenches on no other plan is tried: it takes long, and valves are usual there."""
STEP_M: Final = {"ft": FOOT, "m": 0.5}
"""Step in which a greatest length is proposed, by display unit [m]."""


def even_longest(site: Site, rules: RuleSet, layout: Layout, required_m: float) -> float | None:
    """Greatest length of trench that makes circuits even; None: none was found [m].

    The lot is planned again with it: the length required is still held, and no warning is given
    of the pipes that is not given now.
    """
    trenches = [one.length_m for one in layout.elements if isinstance(one, Trench)]
    if not trenches or layout.obstacle or len(trenches) > MANY:
        return None
    fewest = math.floor(required_m / max(trenches)) + 1
    known = _warnings(site, layout) - {"circuits-unbalanced"}
    step = STEP_M[site.unit]
    for number in range(fewest, fewest + TRIED):
        longest = math.ceil(required_m / number / step - 1e-9) * step
        if longest < site.exchanger.horizontal.shortest_m:
            break
        if longest < max(trenches) and _is_even(
            site, rules, longest_m=longest, required_m=required_m, known=known
        ):
            return longest
    return None


def _is_even(
    site: Site, rules: RuleSet, *, longest_m: float, required_m: float, known: set[str]
) -> bool:
    horizontal = replace(site.exchanger.horizontal, longest_m=longest_m)
    changed = replace(site, exchanger=replace(site.exchanger, horizontal=horizontal))
    made = attempt(changed, rules, "horizontal", required_m)
    layout = with_pipes(made.layout, changed.exchanger, ground=made.ground)
    holds = not layout.obstacle and layout.length_m >= required_m - TOLERANCE
    return holds and layout.header is not None and _warnings(changed, layout) <= known


def _warnings(site: Site, layout: Layout) -> set[str]:
    return {one.code for one in pipe_remarks(site, layout) if one.severity == "warning"}
