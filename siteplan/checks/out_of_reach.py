"""Why no header comes to what somebody has placed: seen from where it lies, without any way."""

from __future__ import annotations

from typing import Final

from siteplan.findings.model import Reason, reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Element
from siteplan.layout.model import Layout
from siteplan.site.model import Site
from siteplan.vocabulary.kinds import kinds

OFF_LOT, IN, BY_RULE = "reach-off-lot", "reach-in", "reach-by-rule"
ALONE: Final = {OFF_LOT: "gap-off-lot", IN: "gap-in", BY_RULE: "gap-by-rule"}
"""Codes of the same where one element is out of reach, and others are joined."""


def out_of_reach(site: Site, layout: Layout) -> tuple[Reason, ...] | None:
    """What keeps every header from a layout, each reason with whom it holds for; None: not known.

    Off the lot there is no pipe, nor under what a header never crosses. Of what was placed by hand
    and lies elsewhere a rule must keep the header off there, or on every way to it; a drawing that
    somebody has changed may lack its header for no reason at all.
    """
    why: dict[tuple[str, str], list[str]] = {}
    for element in layout.elements:
        if not element.existing:
            why.setdefault(_lies(site, element), []).append(element.id)
    told = [
        reason(how, elements=tuple(names), thing=thing or None)
        for (how, thing), names in why.items()
        if how != BY_RULE or layout.by_hand
    ]
    return tuple(told) or None


def gap_told(site: Site, layout: Layout, element: Element) -> Reason | None:
    """What keeps a header from one element, as of `out_of_reach`."""
    how, thing = _lies(site, element)
    if how == BY_RULE and not layout.by_hand:
        return None
    return reason(ALONE[how], thing=thing or None)


def _lies(site: Site, element: Element) -> tuple[str, str]:
    """How an element lies that no header comes to, and in what."""
    if element.axis.distance(site.parcel) > TOLERANCE:
        return OFF_LOT, ""
    for feature in site.features:
        never = kinds()[feature.kind].crossing == "never"
        if never and feature.id != element.water and feature.ground.covers(element.axis):
            return IN, feature.id
    return BY_RULE, ""
