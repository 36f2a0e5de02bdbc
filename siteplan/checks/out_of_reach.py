"""Why no header comes to what somebody has placed: seen from where it lies, without any way."""

from __future__ import annotations

from collections.abc import Sequence

from siteplan.findings.model import Reason, reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Element
from siteplan.layout.model import Layout
from siteplan.site.model import Site
from siteplan.vocabulary.kinds import kinds


def out_of_reach(
    site: Site, layout: Layout, elements: Sequence[Element]
) -> tuple[Reason, ...] | None:
    """What keeps a header from elements, each reason with those that it holds for; None: not known.

    Off the lot there is no pipe, nor under what a header never crosses. Of what was placed by hand
    and lies elsewhere a rule must keep the header off there, or on every way to it; a drawing that
    somebody has changed may lack its header for no reason at all.
    """
    why: dict[tuple[str, str], list[str]] = {}
    for element in elements:
        if not element.existing:
            why.setdefault(_lies(site, element), []).append(element.id)
    known = [(code, thing) for code, thing in why if code != "reach-by-rule" or layout.by_hand]
    told = [
        reason(code, elements=tuple(why[code, thing]), thing=thing or None) for code, thing in known
    ]
    return tuple(told) or None


def _lies(site: Site, element: Element) -> tuple[str, str]:
    """How an element lies that no header comes to, and in what."""
    if element.axis.distance(site.parcel) > TOLERANCE:
        return "reach-off-lot", ""
    for feature in site.features:
        never = kinds()[feature.kind].crossing == "never"
        if never and feature.id != element.water and feature.shape.covers(element.axis):
            return "reach-in", feature.id
    return "reach-by-rule", ""
