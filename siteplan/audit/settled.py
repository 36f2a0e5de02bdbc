"""What a site file leaves open, as the plan that is audited has settled it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from siteplan.audit.model import Drawing
from siteplan.layout.elements import Trench
from siteplan.layout.model import Layout
from siteplan.site.model import Site


def settled_by_drawing(site: Site, drawing: Drawing) -> Site:
    """The site with the kind of trench that most trenches of a drawing are said to be of."""
    return _with_kind(site, (symbol.value("TRENCH") for symbol in drawing.symbols))


def settled_by_summary(site: Site, summary: Mapping[str, Any]) -> Site:
    """The site with the kind of trench of a plan's summary."""
    return _with_kind(site, (str(row.get("trench", "")) for row in summary["elements"]))


def settled_by_layout(site: Site, layout: Layout) -> Site:
    """The site with the kind of trench, and the wall, of a layout."""
    site = _with_kind(site, (trench.kind_name for trench in layout.of(Trench)))
    if not site.any_wall or layout.header is None:
        return site
    return replace(site, entries=(layout.header.entry,))


def _with_kind(site: Site, kinds: Iterable[str]) -> Site:
    options = site.exchanger.horizontal
    said = Counter(kind for kind in kinds if kind)
    choices = {choice.kind: choice for choice in options.choices}
    known = [kind for kind, _ in said.most_common() if kind in choices]
    if not known:
        return site
    return replace(site, exchanger=replace(site.exchanger, horizontal=choices[known[0]]))
